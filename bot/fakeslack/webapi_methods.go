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

		"chat.postMessage":   {tier: tierPosting, scopes: write, run: of(chatAPI.postMessage)},
		"chat.postEphemeral": {tier: tier4, scopes: write, run: of(chatAPI.postEphemeral)},
		"chat.update":        {tier: tier3, scopes: write, run: of(chatAPI.updateMessage)},
		"chat.delete":        {tier: tier3, scopes: write, run: of(chatAPI.deleteMessage)},
		"chat.getPermalink":  {tier: tierSpecial, run: of(chatAPI.getPermalink)},

		"conversations.info":            {tier: tier3, scopes: look, run: of(conversationsAPI.conversationsInfo)},
		"conversations.list":            {tier: tier2, scopes: look, run: of(conversationsAPI.conversationsList)},
		"conversations.members":         {tier: tier4, scopes: look, run: of(conversationsAPI.conversationsMembers)},
		"conversations.open":            {tier: tier3, scopes: []string{"im:write", "mpim:write"}, run: of(conversationsAPI.conversationsOpen)},
		"conversations.join":            {tier: tier3, scopes: []string{"channels:join"}, run: of(conversationsAPI.conversationsJoin)},
		"conversations.history":         {tier: tier3, scopes: history, run: of(conversationsAPI.conversationsHistory)},
		"conversations.replies":         {tier: tier3, scopes: history, run: of(conversationsAPI.conversationsReplies)},
		"conversations.canvases.create": {tier: tier2, scopes: canvases, run: of(canvasesAPI.channelCanvasCreate)},

		"users.conversations": {tier: tier3, scopes: look, run: of(conversationsAPI.usersConversations)},

		"users.info": {tier: tier4, scopes: []string{"users:read"}, run: of(usersAPI.usersInfo)},
		"users.list": {tier: tier2, scopes: []string{"users:read"}, run: of(usersAPI.usersList)},

		"views.open":    {tier: tier4, run: of(viewsAPI.viewsOpen)},
		"views.push":    {tier: tier4, run: of(viewsAPI.viewsPush)},
		"views.update":  {tier: tier4, run: of(viewsAPI.viewsUpdate)},
		"views.publish": {tier: tier4, run: of(viewsAPI.viewsPublish)},

		"files.getUploadURLExternal":   {tier: tier4, scopes: files, run: of(filesAPI.getUploadURL)},
		"files.completeUploadExternal": {tier: tier4, scopes: files, run: of(filesAPI.completeUpload)},
		"files.info":                   {tier: tier4, scopes: []string{"files:read"}, run: of(filesAPI.filesInfo)},

		"pins.add":    {tier: tier2, scopes: []string{"pins:write"}, run: of(pinsAPI.pinsAdd)},
		"pins.remove": {tier: tier2, scopes: []string{"pins:write"}, run: of(pinsAPI.pinsRemove)},
		"pins.list":   {tier: tier2, scopes: []string{"pins:read"}, run: of(pinsAPI.pinsList)},

		"bookmarks.add":    {tier: tier2, scopes: []string{"bookmarks:write"}, run: of(bookmarksAPI.bookmarksAdd)},
		"bookmarks.edit":   {tier: tier2, scopes: []string{"bookmarks:write"}, run: of(bookmarksAPI.bookmarksEdit)},
		"bookmarks.remove": {tier: tier2, scopes: []string{"bookmarks:write"}, run: of(bookmarksAPI.bookmarksRemove)},
		"bookmarks.list":   {tier: tier3, scopes: []string{"bookmarks:read"}, run: of(bookmarksAPI.bookmarksList)},

		"canvases.create": {tier: tier2, scopes: canvases, run: of(canvasesAPI.canvasesCreate)},
		"canvases.edit":   {tier: tier3, scopes: canvases, run: of(canvasesAPI.canvasesEdit)},
		"canvases.delete": {tier: tier3, scopes: canvases, run: of(canvasesAPI.canvasesDelete)},
	}
}

// The methods of one family. Each is called with the team locked.
type (
	bookmarksAPI     struct{ *Team }
	canvasesAPI      struct{ *Team }
	chatAPI          struct{ *Team }
	conversationsAPI struct{ *Team }
	filesAPI         struct{ *Team }
	pinsAPI          struct{ *Team }
	usersAPI         struct{ *Team }
	viewsAPI         struct{ *Team }
)

// of makes a family's method one of the table.
func of[Family ~struct{ *Team }](run func(Family, args) (reply, error)) func(*Team, args) (reply, error) {
	return func(t *Team, a args) (reply, error) { return run(Family{t}, a) }
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
