package fakeslack

import (
	"slices"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// conversations is the Web API's view of channels and of what is said there.
type conversations struct {
	*core
	dir      *directory
	canvases *canvases
	messages *messages
}

func (w *conversations) conversationsInfo(a args) (reply, error) {
	c, err := w.dir.visible(a.str("channel"))
	if err != nil {
		return nil, err
	}
	return reply{"channel": w.channelJSON(c)}, nil
}

func (w *conversations) conversationsList(a args) (reply, error) {
	var all []reply
	for _, id := range w.dir.channelIDs {
		c, err := w.dir.visible(id)
		if err != nil || !wantedKind(c, a.str("types")) || (c.Archived && a.flag("exclude_archived")) {
			continue
		}
		all = append(all, w.channelJSON(c))
	}
	from, to, next, err := page(a, len(all), 100, 1000)
	if err != nil {
		return nil, err
	}
	return reply{"channels": append([]reply{}, all[from:to]...), "response_metadata": nextCursor(next)}, nil
}

func wantedKind(c *channel, types string) bool {
	if types == "" {
		types = "public_channel"
	}
	kind := "public_channel"
	switch {
	case c.IM:
		kind = "im"
	case c.MPIM:
		kind = "mpim"
	case c.Private:
		kind = "private_channel"
	}
	return slices.Contains(strings.Split(types, ","), kind)
}

// conversationsMembers lists members in the order of joining, bots included,
// a hundred at a time unless told otherwise.
func (w *conversations) conversationsMembers(a args) (reply, error) {
	c, err := w.dir.visible(a.str("channel"))
	if err != nil {
		return nil, err
	}
	from, to, next, err := page(a, len(c.Members), 100, 1000)
	if err != nil {
		return nil, err
	}
	return reply{"members": append([]string{}, c.Members[from:to]...), "response_metadata": nextCursor(next)}, nil
}

func (w *conversations) conversationsOpen(a args) (reply, error) {
	if id := a.str("channel"); id != "" {
		c, err := w.dir.joined(id)
		if err != nil {
			return nil, err
		}
		return w.opened(c, a, true), nil
	}
	users := strings.FieldsFunc(a.str("users"), func(r rune) bool { return r == ',' || r == ' ' })
	if err := w.canOpenWith(users); err != nil {
		return nil, err
	}
	if len(users) == 1 {
		before := len(w.dir.channelIDs)
		c := w.dir.dm(users[0])
		return w.opened(c, a, len(w.dir.channelIDs) == before), nil
	}
	return w.openGroup(users, a), nil
}

func (w *conversations) canOpenWith(users []string) error {
	switch {
	case len(users) == 0:
		return wire.Refuse("users_list_not_supplied")
	case len(users) > 8:
		return wire.Refuse("too_many_users")
	}
	for _, id := range users {
		u, ok := w.dir.users[id]
		switch {
		case !ok:
			return wire.Refuse("user_not_found")
		case u.Deleted:
			return wire.Refuse("user_disabled")
		case u.Bot:
			return wire.Refuse("cannot_dm_bot")
		}
	}
	return nil
}

// openGroup finds or opens the private conversation of exactly these people
// and the bot.
func (w *conversations) openGroup(users []string, a args) reply {
	members := slices.Concat([]string{w.bot}, users)
	same := func(c *channel) bool {
		return c.MPIM && slices.Equal(slices.Sorted(slices.Values(c.Members)), slices.Sorted(slices.Values(members)))
	}
	for _, id := range w.dir.channelIDs {
		if c := w.dir.channels[id]; same(c) {
			return w.opened(c, a, true)
		}
	}
	return w.opened(w.dir.addChannel(Channel{MPIM: true, Private: true, Creator: w.bot, Members: members}), a, false)
}

func (w *conversations) opened(c *channel, a args, already bool) reply {
	out := reply{"no_op": already, "already_open": already, "channel": reply{"id": c.ID}}
	if a.flag("return_im") {
		out["channel"] = w.channelJSON(c)
	}
	return out
}

func (w *conversations) conversationsJoin(a args) (reply, error) {
	c, err := w.dir.visible(a.str("channel"))
	switch {
	case err != nil:
		return nil, err
	case c.Private:
		return nil, wire.Refuse("method_not_supported_for_channel_type")
	case c.Archived:
		return nil, wire.Refuse("is_archived")
	}
	out := reply{"channel": w.channelJSON(c)}
	if c.Has(w.bot) {
		out["warning"] = "already_in_channel"
		out["response_metadata"] = reply{"warnings": []string{"already_in_channel"}}
		return out, nil
	}
	c.Members = append(c.Members, w.bot)
	return reply{"channel": w.channelJSON(c)}, nil
}

// usersConversations lists the conversations that somebody is in, without a
// user those of the bot. Private ones are shown only where the bot is in them
// as well (from memory of the method's page).
func (w *conversations) usersConversations(a args) (reply, error) {
	user := a.str("user")
	if user == "" {
		user = w.bot
	}
	if _, ok := w.dir.users[user]; !ok {
		return nil, wire.Refuse("user_not_found")
	}
	var all []reply
	for _, id := range w.dir.channelIDs {
		c, err := w.dir.visible(id)
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
