package rehearsal

import "slices"

// webMethods is the Web API as this workspace speaks it: the tier and the
// scopes are the platform's, from java-slack-sdk's rate_limit_tiers.json and
// each method's page.
func webMethods() map[string]method {
	look := []string{"channels:read", "groups:read", "im:read", "mpim:read"}
	history := []string{"channels:history", "groups:history", "im:history", "mpim:history"}
	write := []string{"chat:write"}
	files, canvases := []string{"files:write"}, []string{"canvases:write"}
	return map[string]method{
		"api.test":        {tier: tier4, run: (*Workspace).apiTest},
		"oauth.v2.access": {tier: tier4, token: noToken, run: (*Workspace).oauthAccess},

		"auth.test": {tier: tierSpecial, run: (*Workspace).authTest},

		"apps.connections.open": {tier: tierConnecting, token: "xapp-", run: (*Workspace).connectionsOpen},

		"chat.postMessage":   {tier: tierPosting, scopes: write, run: (*Workspace).postMessage},
		"chat.postEphemeral": {tier: tier4, scopes: write, run: (*Workspace).postEphemeral},
		"chat.update":        {tier: tier3, scopes: write, run: (*Workspace).updateMessage},
		"chat.delete":        {tier: tier3, scopes: write, run: (*Workspace).deleteMessage},
		"chat.getPermalink":  {tier: tierSpecial, run: (*Workspace).getPermalink},

		"conversations.info":            {tier: tier3, scopes: look, run: (*Workspace).conversationsInfo},
		"conversations.list":            {tier: tier2, scopes: look, run: (*Workspace).conversationsList},
		"conversations.members":         {tier: tier4, scopes: look, run: (*Workspace).conversationsMembers},
		"conversations.open":            {tier: tier3, scopes: []string{"im:write", "mpim:write"}, run: (*Workspace).conversationsOpen},
		"conversations.join":            {tier: tier3, scopes: []string{"channels:join"}, run: (*Workspace).conversationsJoin},
		"conversations.history":         {tier: tier3, scopes: history, run: (*Workspace).conversationsHistory},
		"conversations.replies":         {tier: tier3, scopes: history, run: (*Workspace).conversationsReplies},
		"conversations.canvases.create": {tier: tier2, scopes: canvases, run: (*Workspace).channelCanvasCreate},

		"users.conversations": {tier: tier3, scopes: look, run: (*Workspace).usersConversations},

		"users.info": {tier: tier4, scopes: []string{"users:read"}, run: (*Workspace).usersInfo},
		"users.list": {tier: tier2, scopes: []string{"users:read"}, run: (*Workspace).usersList},

		"views.open":    {tier: tier4, run: (*Workspace).viewsOpen},
		"views.push":    {tier: tier4, run: (*Workspace).viewsPush},
		"views.update":  {tier: tier4, run: (*Workspace).viewsUpdate},
		"views.publish": {tier: tier4, run: (*Workspace).viewsPublish},

		"files.getUploadURLExternal":   {tier: tier4, scopes: files, run: (*Workspace).getUploadURL},
		"files.completeUploadExternal": {tier: tier4, scopes: files, run: (*Workspace).completeUpload},
		"files.info":                   {tier: tier4, scopes: []string{"files:read"}, run: (*Workspace).filesInfo},

		"pins.add":    {tier: tier2, scopes: []string{"pins:write"}, run: (*Workspace).pinsAdd},
		"pins.remove": {tier: tier2, scopes: []string{"pins:write"}, run: (*Workspace).pinsRemove},
		"pins.list":   {tier: tier2, scopes: []string{"pins:read"}, run: (*Workspace).pinsList},

		"bookmarks.add":    {tier: tier2, scopes: []string{"bookmarks:write"}, run: (*Workspace).bookmarksAdd},
		"bookmarks.edit":   {tier: tier2, scopes: []string{"bookmarks:write"}, run: (*Workspace).bookmarksEdit},
		"bookmarks.remove": {tier: tier2, scopes: []string{"bookmarks:write"}, run: (*Workspace).bookmarksRemove},
		"bookmarks.list":   {tier: tier3, scopes: []string{"bookmarks:read"}, run: (*Workspace).bookmarksList},

		"canvases.create": {tier: tier2, scopes: canvases, run: (*Workspace).canvasesCreate},
		"canvases.edit":   {tier: tier3, scopes: canvases, run: (*Workspace).canvasesEdit},
	}
}

func (w *Workspace) apiTest(a args) (reply, error) {
	if code := a.str("error"); code != "" {
		return nil, refuse(code)
	}
	return reply{"args": a.values}, nil
}

func (w *Workspace) authTest(args) (reply, error) {
	return reply{
		"url": w.siteURL() + "/", "team": w.cfg.Team, "team_id": w.team,
		"user": w.cfg.BotName, "user_id": w.bot, "bot_id": w.botID, "is_enterprise_install": false,
	}, nil
}

// siteURL is the web address of the workspace, for permalinks. It is under a
// name that no one can own, and the same in every run.
func (w *Workspace) siteURL() string { return "https://" + w.domain() + ".example" }

// domain is the workspace's name as part of an address.
func (w *Workspace) domain() string {
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
