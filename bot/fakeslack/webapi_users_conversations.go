package fakeslack

import "soundings/bot/fakeslack/wire"

// usersConversations lists the conversations that somebody is in, without a
// user those of the bot. Private ones are shown only where the bot is in them
// as well (from memory of the method's page).
func (w conversationsAPI) usersConversations(a args) (reply, error) {
	user := a.str("user")
	if user == "" {
		user = w.bot
	}
	if _, ok := w.users[user]; !ok {
		return nil, wire.Refuse("user_not_found")
	}
	var all []reply
	for _, id := range w.channelIDs {
		c, err := w.visible(id)
		if err != nil || !c.Has(user) || !wantedKind(c, a.str("types")) || (c.Archived && a.flag("exclude_archived")) {
			continue
		}
		all = append(all, w.channelJSON(c))
	}
	from, to, next, err := page(a, len(all), 100, 999)
	if err != nil {
		return nil, err
	}
	return reply{"channels": append([]reply{}, all[from:to]...), "response_metadata": nextCursor(next)}, nil
}
