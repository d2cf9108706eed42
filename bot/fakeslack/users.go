package fakeslack

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"soundings/bot/fakeslack/wire"
)

// ErrNotShown is wrapped when somebody reaches for what they cannot see: a
// button that is gone, a form that was closed, a channel they are not in.
var ErrNotShown = errors.New("not there for this person")

// ErrUnknown is wrapped by errors about a person, channel, message or form
// that the team does not have.
var ErrUnknown = errors.New("no such thing in this team")

// A User is somebody with an account, the bot included.
type User struct {
	ID                 string // given by AddUser
	Name               string // handle, without @; default made from the id
	RealName           string
	DisplayName        string // as they wish to be called; may be empty
	Zone               string // IANA time zone; empty leaves it out of the profile
	Bot                bool
	Deleted            bool   // deactivated: can neither act nor be reached
	Guest              bool   // is_restricted
	SingleChannelGuest bool   // is_ultra_restricted; also a guest
	Invited            bool   // has not signed in yet
	Stranger           bool   // of another team
	Team               string // of a stranger; else this team
}

// A directory is who and what there is: people, channels and private
// conversations, with what stands in them.
type directory struct {
	*core
	users      map[string]*User
	userIDs    []string // in the order of joining
	channels   map[string]*channel
	channelIDs []string
}

func newDirectory(c *core) *directory {
	return &directory{core: c, users: map[string]*User{}, channels: map[string]*channel{}}
}

// AddUser lets somebody join the team and returns their id. Who comes with an
// id has an account already, whose profile is replaced: a move to another
// zone, a deactivation.
func (t *Team) AddUser(u User) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	if u.ID == "" {
		u.ID = t.nextID("U")
		t.dir.userIDs = append(t.dir.userIDs, u.ID)
	}
	if u.Name == "" {
		u.Name = strings.ToLower(u.ID)
	}
	if u.Team == "" {
		u.Team = t.team
	}
	t.dir.users[u.ID] = &u
	return u.ID
}

// User looks somebody up by id.
func (t *Team) User(id string) (User, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	u, ok := t.dir.users[id]
	if !ok {
		return User{}, false
	}
	return *u, true
}

// Users lists everybody in the order of joining, the bot first.
func (t *Team) Users() []User {
	t.mu.Lock()
	defer t.mu.Unlock()
	out := make([]User, 0, len(t.dir.userIDs))
	for _, id := range t.dir.userIDs {
		out = append(out, *t.dir.users[id])
	}
	return out
}

// actor is whoever wants to do something here: a live account of a person.
func (dir *directory) actor(id string) (*User, error) {
	u, ok := dir.users[id]
	switch {
	case !ok:
		return nil, fmt.Errorf("user %q: %w", id, ErrUnknown)
	case u.Deleted:
		return nil, fmt.Errorf("user %s is deactivated: %w", id, ErrNotShown)
	case u.Bot:
		return nil, fmt.Errorf("user %s is a bot: %w", id, ErrNotShown)
	}
	return u, nil
}

// userJSON is the profile as users.info shows it. The zone's offset shifts
// with daylight saving, so it is that of now.
func userJSON(u *User, now time.Time) reply {
	out := reply{
		"id": u.ID, "team_id": u.Team, "name": u.Name, "real_name": u.RealName,
		"deleted": u.Deleted, "is_bot": u.Bot, "is_app_user": false,
		"is_restricted":       u.Guest || u.SingleChannelGuest,
		"is_ultra_restricted": u.SingleChannelGuest,
		"is_invited_user":     u.Invited, "is_stranger": u.Stranger,
		"is_admin": false, "is_owner": false, "is_primary_owner": false,
		"profile": reply{
			"real_name": u.RealName, "real_name_normalized": u.RealName,
			"display_name": u.DisplayName, "display_name_normalized": u.DisplayName, "team": u.Team,
		},
	}
	if u.Zone != "" {
		label, offset := zoneAt(u.Zone, now)
		out["tz"], out["tz_label"], out["tz_offset"] = u.Zone, label, offset
	}
	return out
}

// zoneAt names a zone and gives its offset in seconds. A zone that nobody
// knows stays on the profile as it is, with no offset: the bot has to cope.
func zoneAt(zone string, now time.Time) (label string, offset int) {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return zone, 0
	}
	return now.In(loc).Zone()
}

// offers says what is wrong with somebody, or a channel, that a menu of this
// kind would not offer.
func (dir *directory) offers(kind, id string) string {
	u, person := dir.users[id]
	_, place := dir.channels[id]
	switch people := strings.HasSuffix(kind, "users_select"); {
	case people && (!person || u.Deleted):
		return "nobody"
	case !people && !person && !place:
		return "no conversation"
	}
	return ""
}

// usersInfo shows a profile. Somebody of another team is seen only by
// whom they share a channel with.
func (dir *directory) usersInfo(a args) (reply, error) {
	u, ok := dir.users[a.str("user")]
	if !ok {
		return nil, wire.Refuse("user_not_found")
	}
	if u.Stranger && !dir.sharesChannel(u.ID) {
		return nil, wire.Refuse("user_not_visible")
	}
	return reply{"user": userJSON(u, dir.Now())}, nil
}

func (dir *directory) sharesChannel(user string) bool {
	for _, id := range dir.channelIDs {
		if c := dir.channels[id]; c.Has(user) && c.Has(dir.bot) {
			return true
		}
	}
	return false
}

func (dir *directory) usersList(a args) (reply, error) {
	var members []*User
	for _, id := range dir.userIDs {
		if u := dir.users[id]; !u.Stranger {
			members = append(members, u)
		}
	}
	shown, next, err := page(a, members, 1000, 1000)
	if err != nil {
		return nil, err
	}
	out := make([]reply, 0, len(shown))
	for _, u := range shown {
		out = append(out, userJSON(u, dir.Now()))
	}
	return reply{"members": out, "cache_ts": dir.Now().Unix(), "response_metadata": next}, nil
}
