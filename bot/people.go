package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/sync/errgroup"

	"soundings/flows"
)

// complete fills in what only the platform knows: names and time zones. It
// also keeps the channel for a kickoff that begins.
func (b *Bot) complete(ctx context.Context, v visit, in flows.Intent) (flows.Intent, error) {
	switch i := in.(type) {
	case flows.Start:
		return b.completeStart(ctx, v, i)
	case flows.Invite:
		people, err := b.people(ctx, i.People)
		i.People = people
		return i, err
	case flows.AskToJoin:
		people, err := b.people(ctx, []flows.Person{i.Person})
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
func (b *Bot) completeStart(ctx context.Context, v visit, start flows.Start) (flows.Start, error) {
	team, field := v.key.Team, "title" // what was typed stays where a field says what is wrong
	if v.page.Args.Choice == "" {
		field = "channel"
	}
	start.Team = team
	if start.ID == "" {
		start.ID = fmt.Sprintf("%s-%d", start.Channel, b.Clock().Unix())
	}
	seen, err := b.Chat.Look(ctx, start.Channel)
	if err != nil {
		return start, err
	}
	start.Seen = flows.Seen{Outside: seen.Outside, Canvas: seen.Canvas}
	if !seen.Member {
		return start, &flows.Refusal{Field: field, Reason: "I am not in that channel yet. Add me there with /invite, then press Start again."}
	}
	if _, err := flows.Decide(flows.Kickoff{}, start, b.Clock()); err != nil {
		return start, err // before a dozen people are looked up
	}
	if start.People, err = b.people(ctx, start.People); err != nil {
		return start, err
	}
	if _, err := flows.Decide(flows.Kickoff{}, start, b.Clock()); err != nil {
		return start, err
	}
	holder, err := b.Journal.Index.Claim(ctx, team, start.Channel, start.ID)
	if err != nil {
		return start, err
	}
	if holder != start.ID {
		return start, &flows.Refusal{Field: field, Reason: "A kickoff is open in this channel already. End that one first, or start in another channel."}
	}
	return start, nil
}

// people asks the platform who everybody is, several at once, since a form
// waits for it. Apps and people who have left are passed over: they would
// never answer.
func (b *Bot) people(ctx context.Context, wanted []flows.Person) ([]flows.Person, error) {
	ctx, cancel := context.WithTimeout(ctx, lookupTime)
	defer cancel()
	found := make([]*flows.Person, len(wanted))
	lookups, ctx := errgroup.WithContext(ctx)
	lookups.SetLimit(b.Lookups)
	for i, p := range wanted {
		lookups.Go(func() error {
			person, other, err := b.lookUp(ctx, p.ID)
			if errors.Is(err, ErrClosedDoor) || err == nil && other {
				return nil
			}
			found[i] = &person
			return err
		})
	}
	if err := lookups.Wait(); err != nil {
		return nil, fmt.Errorf("look up who takes part: %w", err)
	}
	var out []flows.Person
	for _, p := range found {
		if p != nil {
			out = append(out, *p)
		}
	}
	return out, nil
}

// lookUp asks once more when a call was lost: a form that somebody filled in
// should not come to nothing over one of a dozen calls.
func (b *Bot) lookUp(ctx context.Context, u flows.UserID) (p flows.Person, other bool, err error) {
	for range 3 {
		p, other, err = b.Chat.Person(ctx, u)
		if err == nil || !lost(err) || ctx.Err() != nil {
			break
		}
	}
	return p, other, err
}

// lookupTime is what the platform's three seconds leave for looking people up.
const lookupTime = 2500 * time.Millisecond
