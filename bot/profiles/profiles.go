// Package profiles finds out who people are: their names, their time zones, and
// whether they would ever answer. What the platform told of somebody is kept
// for the day, by team, so that each kickoff does not ask for everybody anew.
//
// When to ask, and for how many at once, is for its callers. Start with
// [Profiles.Kept] and [Profiles.Ask].
package profiles

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/flows/state"
)

// Profiles of the people of all teams. They may be used by many goroutines.
// Every field is needed.
type Profiles struct {
	Journal *journal.Journal
	Clock   func() time.Time
	Logger  *slog.Logger
	Lookups int // how many people are asked for at once
}

// Found are the accounts of people, as far as they are known.
type Found map[state.UserID]chat.User

// Missing lists, of some people, those who were not found.
func (f Found) Missing(people []state.UserID) []state.UserID {
	var out []state.UserID
	for _, u := range people {
		if _, known := f[u]; !known {
			out = append(out, u)
		}
	}
	return out
}

// Kept is what is known of these people already. A store that cannot be read
// costs a few calls more and nothing else.
func (p *Profiles) Kept(ctx context.Context, team string, people []state.UserID) Found {
	ids := make([]string, len(people))
	for i, u := range people {
		ids[i] = string(u)
	}
	kept, err := p.Journal.Profiles.Get(ctx, team, p.Clock(), ids)
	if err != nil {
		p.Logger.Warn("profiles were not read; the platform is asked", "team", team, "error", err)
	}
	found := Found{}
	for id, data := range kept {
		var user chat.User
		if json.Unmarshal(data, &user) == nil { // else another release has written it
			found[state.UserID(id)] = user
		}
	}
	return found
}

func (p *Profiles) keep(ctx context.Context, team string, found Found) {
	profiles := make(map[string][]byte, len(found))
	for u, user := range found {
		data, err := json.Marshal(user)
		if err != nil {
			panic(fmt.Sprintf("profiles: an account does not encode: %v", err)) // plain data always does
		}
		profiles[string(u)] = data
	}
	if err := p.Journal.Profiles.Save(ctx, team, p.Clock(), profiles); err != nil {
		p.Logger.Warn("profiles were not kept; the platform is asked again", "team", team, "error", err)
	}
}

// Ask asks the platform for each of these people, a few at once. With an error
// come those who were found before it.
func (p *Profiles) Ask(ctx context.Context, team string, client *chat.Client, people []state.UserID) (Found, error) {
	found := Found{}
	var mu sync.Mutex
	asking, until := errgroup.WithContext(ctx)
	asking.SetLimit(p.Lookups)
	for _, u := range people {
		asking.Go(func() error {
			user, err := lookUp(until, client, u)
			if err == nil {
				mu.Lock()
				defer mu.Unlock()
				found[u] = user
			}
			return err
		})
	}
	err := asking.Wait()
	p.keep(context.WithoutCancel(ctx), team, found)
	if err != nil {
		err = fmt.Errorf("look up who takes part: %w", err)
	}
	return found, err
}

// lookUp asks once more when a call was lost: a form that somebody filled in
// should not come to nothing over one of a dozen calls.
func lookUp(ctx context.Context, client *chat.Client, u state.UserID) (user chat.User, err error) {
	for range 3 {
		user, err = client.User(ctx, u)
		if err == nil || !chat.Lost(err) || ctx.Err() != nil {
			break
		}
	}
	if chat.Refused(err, "user_not_found", "user_not_visible") {
		return chat.User{Person: state.Person{ID: u}, Absent: true}, nil
	}
	return user, err
}

// pages bounds how much of a team is read to find people: so many calls the
// platform allows in one go, with some left for others.
const pages = 15

// List looks for these people among all of a team. Many are found so with few
// calls; of a large team, and of people of another company, not all.
func (p *Profiles) List(ctx context.Context, team string, client *chat.Client, people []state.UserID) (Found, error) {
	wanted := make(map[state.UserID]bool, len(people))
	for _, u := range people {
		wanted[u] = true
	}
	found := Found{}
	err := client.Users(ctx, pages, func(page []chat.User) (enough bool) {
		for _, user := range page {
			if wanted[user.ID] {
				found[user.ID] = user
			}
		}
		return len(found) == len(wanted)
	})
	p.keep(ctx, team, found)
	return found, err
}
