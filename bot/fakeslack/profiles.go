package fakeslack

import "soundings/bot/fakeslack/wire"

// usersInfo shows a profile. Somebody of another workspace is seen only by
// whom they share a channel with.
func (w *directory) usersInfo(a args) (reply, error) {
	u, ok := w.users[a.str("user")]
	if !ok {
		return nil, wire.Refuse("user_not_found")
	}
	if u.Stranger && !w.sharesChannel(u.ID) {
		return nil, wire.Refuse("user_not_visible")
	}
	return reply{"user": userJSON(u, w.Now())}, nil
}

func (w *directory) sharesChannel(user string) bool {
	for _, id := range w.channelIDs {
		if c := w.channels[id]; c.Has(user) && c.Has(w.bot) {
			return true
		}
	}
	return false
}

func (w *directory) usersList(a args) (reply, error) {
	var members []*User
	for _, id := range w.userIDs {
		if u := w.users[id]; !u.Stranger {
			members = append(members, u)
		}
	}
	from, to, next, err := page(a, len(members), 1000, 1000)
	if err != nil {
		return nil, err
	}
	out := make([]reply, 0, to-from)
	for _, u := range members[from:to] {
		out = append(out, userJSON(u, w.Now()))
	}
	return reply{"members": out, "cache_ts": w.Now().Unix(), "response_metadata": nextCursor(next)}, nil
}
