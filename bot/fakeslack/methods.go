package fakeslack

import (
	"slices"

	"soundings/bot/fakeslack/wire"
)

// table is the Web API as this team speaks it: the tier and the
// scopes are the platform's, from java-slack-sdk's rate_limit_tiers.json and
// each method's page.
func (w *webAPI) table(dir *directory, messages *messages, views *views, canvases *canvases) map[string]method {
	conversations := &conversations{core: w.core, dir: dir, canvases: canvases, messages: messages}
	pins := &pins{core: w.core, dir: dir, messages: messages}
	bookmarks := &bookmarks{core: w.core, dir: dir}
	look := []string{"channels:read", "groups:read", "im:read", "mpim:read"}
	history := []string{"channels:history", "groups:history", "im:history", "mpim:history"}
	write := []string{"chat:write"}
	filing, canvas := []string{"files:write"}, []string{"canvases:write"}
	return map[string]method{
		"api.test":        {tier: tier4, run: w.apiTest},
		"oauth.v2.access": {tier: tier4, token: noToken, run: w.install.oauthAccess},

		"auth.test": {tier: tierSpecial, run: w.authTest},

		"apps.connections.open": {tier: tierConnecting, token: "xapp-", run: w.connectionsOpen},

		"chat.postMessage":   {tier: tierPosting, scopes: write, run: messages.postMessage},
		"chat.postEphemeral": {tier: tier4, scopes: write, run: messages.postEphemeral},
		"chat.update":        {tier: tier3, scopes: write, run: messages.updateMessage},
		"chat.delete":        {tier: tier3, scopes: write, run: messages.deleteMessage},
		"chat.getPermalink":  {tier: tierSpecial, run: messages.getPermalink},

		"conversations.info":            {tier: tier3, scopes: look, run: conversations.conversationsInfo},
		"conversations.list":            {tier: tier2, scopes: look, run: conversations.conversationsList},
		"conversations.members":         {tier: tier4, scopes: look, run: conversations.conversationsMembers},
		"conversations.open":            {tier: tier3, scopes: []string{"im:write", "mpim:write"}, run: conversations.conversationsOpen},
		"conversations.join":            {tier: tier3, scopes: []string{"channels:join"}, run: conversations.conversationsJoin},
		"conversations.history":         {tier: tier3, scopes: history, run: conversations.conversationsHistory},
		"conversations.replies":         {tier: tier3, scopes: history, run: conversations.conversationsReplies},
		"conversations.canvases.create": {tier: tier2, scopes: canvas, run: canvases.channelCanvasCreate},

		"users.conversations": {tier: tier3, scopes: look, run: conversations.usersConversations},

		"users.info": {tier: tier4, scopes: []string{"users:read"}, run: dir.usersInfo},
		"users.list": {tier: tier2, scopes: []string{"users:read"}, run: dir.usersList},

		"views.open":    {tier: tier4, run: views.viewsOpen},
		"views.push":    {tier: tier4, run: views.viewsPush},
		"views.update":  {tier: tier4, run: views.viewsUpdate},
		"views.publish": {tier: tier4, run: views.viewsPublish},

		"files.getUploadURLExternal":   {tier: tier4, scopes: filing, run: w.uploads.getUploadURL},
		"files.completeUploadExternal": {tier: tier4, scopes: filing, run: w.uploads.completeUpload},
		"files.info":                   {tier: tier4, scopes: []string{"files:read"}, run: w.uploads.filesInfo},

		"pins.add":    {tier: tier2, scopes: []string{"pins:write"}, run: pins.pinsAdd},
		"pins.remove": {tier: tier2, scopes: []string{"pins:write"}, run: pins.pinsRemove},
		"pins.list":   {tier: tier2, scopes: []string{"pins:read"}, run: pins.pinsList},

		"bookmarks.add":    {tier: tier2, scopes: []string{"bookmarks:write"}, run: bookmarks.bookmarksAdd},
		"bookmarks.edit":   {tier: tier2, scopes: []string{"bookmarks:write"}, run: bookmarks.bookmarksEdit},
		"bookmarks.remove": {tier: tier2, scopes: []string{"bookmarks:write"}, run: bookmarks.bookmarksRemove},
		"bookmarks.list":   {tier: tier3, scopes: []string{"bookmarks:read"}, run: bookmarks.bookmarksList},

		"canvases.create": {tier: tier2, scopes: canvas, run: canvases.canvasesCreate},
		"canvases.edit":   {tier: tier3, scopes: canvas, run: canvases.canvasesEdit},
		"canvases.delete": {tier: tier3, scopes: canvas, run: canvases.canvasesDelete},
	}
}

func (w *webAPI) apiTest(a args) (reply, error) {
	if code := a.str("error"); code != "" {
		return nil, wire.Refuse(code)
	}
	return reply{"args": a.values}, nil
}

func (w *webAPI) authTest(args) (reply, error) {
	return reply{
		"url": w.siteURL() + "/", "team": w.cfg.Team, "team_id": w.team,
		"user": w.cfg.BotName, "user_id": w.bot, "bot_id": w.botID, "is_enterprise_install": false,
	}, nil
}

// siteURL is the web address of the workspace, for permalinks. It is under a
// name that no one can own, and the same in every run.
func (w *core) siteURL() string { return "https://" + w.domain() + ".example" }

// domain is the workspace's name as part of an address.
func (w *core) domain() string {
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
