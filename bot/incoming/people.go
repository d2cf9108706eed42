package incoming

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/profiles"
	"soundings/flows"
	"soundings/flows/state"
)

// complete fills in what only the platform knows: names and time zones. It
// also keeps the channel for a kickoff that begins.
func (r *request) complete(ctx context.Context, in flows.Intent) (flows.Intent, error) {
	switch i := in.(type) {
	case flows.Start:
		return r.completeStart(ctx, i)
	case flows.Invite:
		people, err := r.people(ctx, i.People)
		i.People = people
		return i, err
	case flows.AskToJoin:
		people, err := r.people(ctx, []state.Person{i.Person})
		if err == nil && len(people) == 0 {
			err = &flows.Refusal{Reason: "I cannot see your profile here, so I cannot ask for you. Please ask the lead yourself."}
		}
		if err == nil {
			i.Person = people[0]
		}
		return i, err
	}
	return in, nil
}

// completeStart looks the people up and claims the channel. The claim comes
// last: it is the one thing that must not be left behind.
func (r *request) completeStart(ctx context.Context, start flows.Start) (flows.Start, error) {
	team, field := r.key.Team, "title" // what was typed stays where a field says what is wrong
	if r.page.Args.Choice == "" {
		field = "channel"
	}
	start.Team = team
	if start.ID == "" {
		start.ID = fmt.Sprintf("%s-%d", start.Channel, r.Clock().Unix())
	}
	seen, err := r.chat.Inspect(ctx, start.Channel)
	if err != nil {
		return start, err
	}
	start.Seen = state.Seen{Outside: seen.Outside, Canvas: seen.Canvas}
	if !seen.Member {
		return start, &flows.Refusal{Field: field, Reason: "I am not in that channel yet. Add me there with /invite, then press Start again."}
	}
	if start.Everybody {
		if start.People, err = r.withMembers(ctx, start); err != nil {
			return start, err
		}
	}
	if _, err := flows.Decide(r.Kickoffs.Empty(), start, r.Clock()); err != nil {
		return start, err // before anybody is looked up
	}
	if start.People, err = r.peopleToStart(ctx, start.People); err != nil {
		return start, err
	}
	if _, err := flows.Decide(r.Kickoffs.Empty(), start, r.Clock()); err != nil {
		return start, err
	}
	holder, err := r.Journal.Index.Claim(ctx, team, start.Channel, start.ID)
	if err != nil {
		return start, err
	}
	if holder != start.ID && !r.began(ctx, holder) {
		return start, channelTaken(field)
	}
	start.ID = holder
	return start, nil
}

// began reports whether this very delivery began a kickoff: its acknowledgement
// was lost, and it came again a moment later, when the kickoff would have had
// another id. The first of the two may still be at work.
func (r *request) began(ctx context.Context, kickoff string) bool {
	key := journal.Key{Team: r.key.Team, Kickoff: kickoff}
	for wait := 10 * time.Millisecond; wait < time.Second; wait *= 2 {
		k, err := r.Kickoffs.Load(ctx, key)
		if err != nil {
			return false // the platform asks again, and is told then
		}
		if k.Version > 0 {
			return r.Kickoffs.Wrote(ctx, key, k.Version, r.delivery)
		}
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return false
		}
	}
	return false
}

func channelTaken(field string) error {
	return &flows.Refusal{Field: field, Reason: "A kickoff is open in this channel already. End that one first, or start in another channel."}
}

// withMembers are the people of a start and all who are in its channel.
func (t *team) withMembers(ctx context.Context, start flows.Start) ([]state.Person, error) {
	refuse := func(format string, args ...any) error {
		return &flows.Refusal{Field: "people", Reason: fmt.Sprintf(format, args...)}
	}
	members, err := t.chat.Members(ctx, start.Channel, flows.MaxPeople+1)
	switch {
	case errors.As(err, new(*chat.RateLimited)):
		return nil, refuse("I could not find out who is in the channel. Please try again in a minute, or choose people here.")
	case err != nil:
		return nil, err
	case len(members) > flows.MaxPeople:
		return nil, refuse("More than %d people are in the channel. Choose those who decide, work on it, or have a stake in it. Others can join later.", flows.MaxPeople)
	}
	people := start.People
	for _, u := range members {
		if !slices.ContainsFunc(people, func(p state.Person) bool { return p.ID == u }) {
			people = append(people, state.Person{ID: u})
		}
	}
	return people, nil
}

// channelFree refuses a channel in which a kickoff is open, before anybody
// fills in a brief for nothing. The empty channel is one yet to be chosen.
func (t *team) channelFree(ctx context.Context, channel string) error {
	if channel == "" {
		return nil
	}
	key, _, err := t.Kickoffs.InChannel(ctx, t.id, channel)
	if err == nil && key.Kickoff != "" {
		err = channelTaken("")
	}
	return err
}

// people asks the platform who everybody is, while a form waits for it. Apps
// and people who have left are passed over: they would never answer.
func (t *team) people(ctx context.Context, wanted []state.Person) ([]state.Person, error) {
	ctx, cancel := context.WithTimeout(ctx, lookupTime)
	defer cancel()
	ids := idsOf(wanted)
	found, err := t.Profiles.Ask(ctx, t.id, t.chat, ids)
	if err != nil {
		return nil, err
	}
	return present(ids, found), nil
}

// atOnce is how many people are looked up while the form waits that starts a
// kickoff: as many as the brief names, and few enough for its three seconds and
// for several kickoffs in the same minute.
const atOnce = 20

// peopleToStart is who takes part in a kickoff that begins. The first of them
// are looked up now; the others are still sought when it has begun, and so is
// whom the platform would not tell us about in time.
func (t *team) peopleToStart(ctx context.Context, wanted []state.Person) ([]state.Person, error) {
	ctx, cancel := context.WithTimeout(ctx, lookupTime)
	defer cancel()
	ids := idsOf(wanted)
	found := t.Profiles.Kept(ctx, t.id, ids)
	unknown := found.Missing(ids)
	asked, err := t.Profiles.Ask(ctx, t.id, t.chat, unknown[:min(atOnce, len(unknown))])
	if err != nil && !chat.Lost(err) && !errors.As(err, new(*chat.RateLimited)) {
		return nil, err
	}
	if err != nil {
		t.Logger.Warn("a kickoff starts before its people are known", "team", t.id, "error", err)
	}
	maps.Copy(found, asked)
	for _, id := range found.Missing(ids) {
		found[id] = chat.User{Person: state.Person{ID: id, Sought: true}}
	}
	return present(ids, found), nil
}

func idsOf(people []state.Person) []state.UserID {
	ids := make([]state.UserID, len(people))
	for i, p := range people {
		ids[i] = p.ID
	}
	return ids
}

// present lists those who would answer, in their order.
func present(ids []state.UserID, found profiles.Found) []state.Person {
	var out []state.Person
	for _, id := range ids {
		if user := found[id]; !user.Absent {
			out = append(out, user.Person)
		}
	}
	return out
}

// lookupTime is what the platform's three seconds leave for looking people up.
const lookupTime = 2500 * time.Millisecond
