package incoming

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/sync/errgroup"

	"soundings/bot/chat"
	"soundings/flows"
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
		people, err := r.people(ctx, []flows.Person{i.Person})
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
	start.Seen = flows.Seen{Outside: seen.Outside, Canvas: seen.Canvas}
	if !seen.Member {
		return start, &flows.Refusal{Field: field, Reason: "I am not in that channel yet. Add me there with /invite, then press Start again."}
	}
	if _, err := flows.Decide(r.Kickoffs.Empty(), start, r.Clock()); err != nil {
		return start, err // before a dozen people are looked up
	}
	if start.People, err = r.people(ctx, start.People); err != nil {
		return start, err
	}
	if _, err := flows.Decide(r.Kickoffs.Empty(), start, r.Clock()); err != nil {
		return start, err
	}
	holder, err := r.Journal.Index.Claim(ctx, team, start.Channel, start.ID)
	if err != nil {
		return start, err
	}
	if holder != start.ID {
		return start, channelTaken(field)
	}
	return start, nil
}

func channelTaken(field string) error {
	return &flows.Refusal{Field: field, Reason: "A kickoff is open in this channel already. End that one first, or start in another channel."}
}

// channelFree refuses a channel in which a kickoff is open, before anybody
// fills in a brief for nothing. The empty channel is one yet to be chosen.
func (t *team) channelFree(ctx context.Context, channel string) error {
	if channel == "" {
		return nil
	}
	id, err := t.Journal.Index.InChannel(ctx, t.id, channel)
	if err == nil && id != "" {
		err = channelTaken("")
	}
	return err
}

// people asks the platform who everybody is, several at once, since a form
// waits for it. Apps and people who have left are passed over: they would
// never answer.
func (t *team) people(ctx context.Context, wanted []flows.Person) ([]flows.Person, error) {
	ctx, cancel := context.WithTimeout(ctx, lookupTime)
	defer cancel()
	found := make([]chat.User, len(wanted))
	lookups, ctx := errgroup.WithContext(ctx)
	lookups.SetLimit(t.Lookups)
	for i, p := range wanted {
		lookups.Go(func() error {
			user, err := t.lookUp(ctx, p.ID)
			if errors.Is(err, chat.ErrForbidden) {
				return nil
			}
			found[i] = user
			return err
		})
	}
	if err := lookups.Wait(); err != nil {
		return nil, fmt.Errorf("look up who takes part: %w", err)
	}
	var out []flows.Person
	for _, u := range found {
		if u.ID != "" && !u.Absent {
			out = append(out, u.Person)
		}
	}
	return out, nil
}

// lookUp asks once more when a call was lost: a form that somebody filled in
// should not come to nothing over one of a dozen calls.
func (t *team) lookUp(ctx context.Context, id flows.UserID) (u chat.User, err error) {
	for range 3 {
		u, err = t.chat.User(ctx, id)
		if err == nil || !chat.Lost(err) || ctx.Err() != nil {
			break
		}
	}
	return u, err
}

// lookupTime is what the platform's three seconds leave for looking people up.
const lookupTime = 2500 * time.Millisecond
