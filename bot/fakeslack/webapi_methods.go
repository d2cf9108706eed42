package fakeslack

import (
	"slices"

	"soundings/bot/fakeslack/wire"
)

// webMethods is the Web API as this workspace speaks it: the tier and the
// scopes are the platform's, from java-slack-sdk's rate_limit_tiers.json and
// each method's page.
func webMethods() map[string]method {
	look := []string{"channels:read", "groups:read", "im:read", "mpim:read"}
	history := []string{"channels:history", "groups:history", "im:history", "mpim:history"}
	write := []string{"chat:write"}
	files, canvases := []string{"files:write"}, []string{"canvases:write"}
	return map[string]method{
		"api.test":        {tier: tier4, run: (*Team).apiTest},
		"oauth.v2.access": {tier: tier4, token: noToken, run: (*Team).oauthAccess},

		"auth.test": {tier: tierSpecial, run: (*Team).authTest},

		"apps.connections.open": {tier: tierConnecting, token: "xapp-", run: (*Team).connectionsOpen},

		"chat.postMessage":   {tier: tierPosting, scopes: write, run: (*Team).postMessage},
		"chat.postEphemeral": {tier: tier4, scopes: write, run: (*Team).postEphemeral},
		"chat.update":        {tier: tier3, scopes: write, run: (*Team).updateMessage},
		"chat.delete":        {tier: tier3, scopes: write, run: (*Team).deleteMessage},
		"chat.getPermalink":  {tier: tierSpecial, run: (*Team).getPermalink},

		"conversations.info":            {tier: tier3, scopes: look, run: (*Team).conversationsInfo},
		"conversations.list":            {tier: tier2, scopes: look, run: (*Team).conversationsList},
		"conversations.members":         {tier: tier4, scopes: look, run: (*Team).conversationsMembers},
		"conversations.open":            {tier: tier3, scopes: []string{"im:write", "mpim:write"}, run: (*Team).conversationsOpen},
		"conversations.join":            {tier: tier3, scopes: []string{"channels:join"}, run: (*Team).conversationsJoin},
		"conversations.history":         {tier: tier3, scopes: history, run: (*Team).conversationsHistory},
		"conversations.replies":         {tier: tier3, scopes: history, run: (*Team).conversationsReplies},
		"conversations.canvases.create": {tier: tier2, scopes: canvases, run: (*Team).channelCanvasCreate},

		"users.conversations": {tier: tier3, scopes: look, run: (*Team).usersConversations},

		"users.info": {tier: tier4, scopes: []string{"users:read"}, run: (*Team).usersInfo},
		"users.list": {tier: tier2, scopes: []string{"users:read"}, run: (*Team).usersList},

		"views.open":    {tier: tier4, run: (*Team).viewsOpen},
		"views.push":    {tier: tier4, run: (*Team).viewsPush},
		"views.update":  {tier: tier4, run: (*Team).viewsUpdate},
		"views.publish": {tier: tier4, run: (*Team).viewsPublish},

		"files.getUploadURLExternal":   {tier: tier4, scopes: files, run: (*Team).getUploadURL},
		"files.completeUploadExternal": {tier: tier4, scopes: files, run: (*Team).completeUpload},
		"files.info":                   {tier: tier4, scopes: []string{"files:read"}, run: (*Team).filesInfo},

		"pins.add":    {tier: tier2, scopes: []string{"pins:write"}, run: (*Team).pinsAdd},
		"pins.remove": {tier: tier2, scopes: []string{"pins:write"}, run: (*Team).pinsRemove},
		"pins.list":   {tier: tier2, scopes: []string{"pins:read"}, run: (*Team).pinsList},

		"bookmarks.add":    {tier: tier2, scopes: []string{"bookmarks:write"}, run: (*Team).bookmarksAdd},
		"bookmarks.edit":   {tier: tier2, scopes: []string{"bookmarks:write"}, run: (*Team).bookmarksEdit},
		"bookmarks.remove": {tier: tier2, scopes: []string{"bookmarks:write"}, run: (*Team).bookmarksRemove},
		"bookmarks.list":   {tier: tier3, scopes: []string{"bookmarks:read"}, run: (*Team).bookmarksList},

		"canvases.create": {tier: tier2, scopes: canvases, run: (*Team).canvasesCreate},
		"canvases.edit":   {tier: tier3, scopes: canvases, run: (*Team).canvasesEdit},
		"canvases.delete": {tier: tier3, scopes: canvases, run: (*Team).canvasesDelete},
	}
}

func (w *Team) apiTest(a args) (reply, error) {
	if code := a.str("error"); code != "" {
		return nil, wire.Refuse(code)
	}
	return reply{"args": a.values}, nil
}

func (w *Team) authTest(args) (reply, error) {
	return reply{
		"url": w.siteURL() + "/", "team": w.cfg.Team, "team_id": w.team,
		"user": w.cfg.BotName, "user_id": w.bot, "bot_id": w.botID, "is_enterprise_install": false,
	}, nil
}

// siteURL is the web address of the workspace, for permalinks. It is under a
// name that no one can own, and the same in every run.
func (w *Team) siteURL() string { return "https://" + w.domain() + ".example" }

// domain is the workspace's name as part of an address.
func (w *Team) domain() string {
	var out []rune
	for _, r := range w.cfg.Team {
		switch {
		case r >= 'A' && r <= 'Z':
			out = append(out, r-'A'+'a')
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			out = append(out, r)
		case len(out) > 0 && out[len(out)-1] != '-':
			out = append(out, '-')
		}
	}
	if len(out) == 0 || slices.Equal(out, []rune("-")) {
		return "workspace"
	}
	return string(out)
}
