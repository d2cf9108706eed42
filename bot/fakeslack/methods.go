package fakeslack

import (
	"cmp"
	"regexp"
	"strings"
)

// table is the Web API as this team speaks it: the tier and the
// scopes are the platform's, from java-slack-sdk's rate_limit_tiers.json and
// each method's page.
func (api *webAPI) table(dir *directory, messages *messages, views *views, canvases *canvases) map[string]method {
	conversations := &conversations{core: api.core, dir: dir, canvases: canvases, messages: messages}
	bookmarks := &bookmarks{api.core}
	look := []string{"channels:read", "groups:read", "im:read", "mpim:read"}
	history := []string{"channels:history", "groups:history", "im:history", "mpim:history"}
	write := []string{"chat:write"}
	filing, canvas := []string{"files:write"}, []string{"canvases:write"}
	return map[string]method{
		"oauth.v2.access": {tier: tier4, token: noToken, run: api.install.oauthAccess},

		"auth.test": {tier: tierSpecial, run: api.authTest},

		"apps.connections.open": {tier: tierConnecting, token: "xapp-", run: api.connectionsOpen},

		"chat.postMessage":   {tier: tierPosting, scopes: write, run: at("channel", dir.target, messages.post)},
		"chat.postEphemeral": {tier: tier4, scopes: write, run: at("channel", dir.joined, messages.postEphemeral)},
		"chat.update":        {tier: tier3, scopes: write, run: at("channel", dir.visible, messages.update)},
		"chat.delete":        {tier: tier3, scopes: write, run: at("channel", dir.visible, messages.delete)},
		"chat.getPermalink":  {tier: tierSpecial, run: at("channel", dir.visible, messages.permalink)},

		"conversations.info":            {tier: tier3, scopes: look, run: at("channel", dir.visible, conversations.info)},
		"conversations.members":         {tier: tier4, scopes: look, run: at("channel", dir.visible, conversations.members)},
		"conversations.history":         {tier: tier3, scopes: history, run: at("channel", dir.joined, conversations.history)},
		"conversations.replies":         {tier: tier3, scopes: history, run: at("channel", dir.joined, conversations.replies)},
		"conversations.canvases.create": {tier: tier2, scopes: canvas, run: at("channel_id", dir.joined, canvases.createIn)},

		"users.conversations": {tier: tier3, scopes: look, run: conversations.ofUser},

		"users.info": {tier: tier4, scopes: []string{"users:read"}, run: dir.usersInfo},
		"users.list": {tier: tier2, scopes: []string{"users:read"}, run: dir.usersList},

		"views.open":    {tier: tier4, run: views.viewsOpen},
		"views.push":    {tier: tier4, run: views.viewsPush},
		"views.update":  {tier: tier4, run: views.viewsUpdate},
		"views.publish": {tier: tier4, run: views.viewsPublish},

		"files.getUploadURLExternal":   {tier: tier4, scopes: filing, run: api.uploads.getUploadURL},
		"files.completeUploadExternal": {tier: tier4, scopes: filing, run: api.uploads.completeUpload},

		"pins.add":    {tier: tier2, scopes: []string{"pins:write"}, run: at("channel", dir.joined, pin(true))},
		"pins.remove": {tier: tier2, scopes: []string{"pins:write"}, run: at("channel", dir.joined, pin(false))},

		"bookmarks.add":    {tier: tier2, scopes: []string{"bookmarks:write"}, run: at("channel_id", dir.joined, bookmarks.add)},
		"bookmarks.remove": {tier: tier2, scopes: []string{"bookmarks:write"}, run: at("channel_id", dir.joined, bookmarks.remove)},
		"bookmarks.list":   {tier: tier3, scopes: []string{"bookmarks:read"}, run: at("channel_id", dir.joined, bookmarks.list)},

		"canvases.create": {tier: tier2, scopes: canvas, run: canvases.create},
		"canvases.edit":   {tier: tier3, scopes: canvas, run: canvases.edit},
		"canvases.delete": {tier: tier3, scopes: canvas, run: canvases.delete},
	}
}

// at finds the channel that an argument names before a method runs.
func at(key string, find func(id string) (*channel, error), run func(*channel, args) (reply, error)) func(args) (reply, error) {
	return func(a args) (reply, error) {
		c, err := find(a.str(key))
		if err != nil {
			return nil, err
		}
		return run(c, a)
	}
}

func (api *webAPI) authTest(args) (reply, error) {
	return reply{
		"url": api.siteURL() + "/", "team": api.cfg.Team, "team_id": api.team,
		"user": api.cfg.BotName, "user_id": api.bot, "bot_id": api.botID, "is_enterprise_install": false,
	}, nil
}

// siteURL is the web address of the team, for permalinks. It is under a
// reserved domain, and the same in every run.
func (c *core) siteURL() string { return "https://" + c.domain() + ".example" }

// notInDomains is what an address takes for one hyphen.
var notInDomains = regexp.MustCompile(`[^a-z0-9]+`)

// domain is the team's name as part of an address.
func (c *core) domain() string {
	return cmp.Or(strings.TrimLeft(notInDomains.ReplaceAllString(strings.ToLower(c.cfg.Team), "-"), "-"), "team")
}
