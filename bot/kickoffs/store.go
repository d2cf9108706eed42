// Package kickoffs reads and writes kickoffs. It is the one writer: it loads a
// kickoff, lets flows decide on an intent, appends the outcome to the journal,
// and hands what should follow to a [Follower]. When [Store.Do] returns
// without an error the outcome is durable, and may be acknowledged.
//
// How an effect is done is the Follower's business, and so is trying again.
// What an effect finds out comes back as an intent of its own. An effect that
// was never handed on, as when a process died before it could be, is found by
// [Store.Sweep]. Start with [Store.Do].
package kickoffs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"time"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
	"soundings/flows/workdays"
)

// An Entry of a kickoff's journal, whose effects are to follow.
type Entry struct {
	Key     journal.Key
	Version int64
	Source  *screens.Source // the message from which it came, if it came from one
}

// A Follower sees that the effects of an entry are done, in their order. It is
// told again of an entry of which it may not have heard, so telling it twice
// must do no harm.
type Follower interface {
	Follow(ctx context.Context, e Entry, effects []flows.Effect) error
}

// A Store reads and writes kickoffs. It may be used by many goroutines. Every
// exported field is needed.
type Store struct {
	Journal  *journal.Journal
	Follower Follower
	Zones    workdays.Zones // in which people live
	Clock    func() time.Time
	Logger   *slog.Logger

	cache cache
}

// Empty is a kickoff that has not begun.
func (s *Store) Empty() flows.Kickoff { return flows.Kickoff{}.WithZones(s.Zones) }

// Forget drops what is cached of a team.
func (s *Store) Forget(team string) { s.cache.forget(team) }

// An Origin says where an intent comes from. The zero Origin is the bot itself.
type Origin struct {
	Delivery string          // names the request that asked for it: the same one twice is done once
	Source   *screens.Source // the message from which it came, which is kept current at its address
}

// maxAttempts bounds how often one intent is decided anew because others wrote
// in between. Each time somebody else got through, so the group moves on.
const maxAttempts = 64

// Do decides an intent and appends what follows from it. When it returns
// without an error the outcome is durable, and may be acknowledged.
func (s *Store) Do(ctx context.Context, key journal.Key, in flows.Intent, from Origin) error {
	for range maxAttempts {
		k, err := s.Load(ctx, key)
		if err != nil {
			return err
		}
		switch err := s.decide(ctx, key, k, in, from); {
		case errors.Is(err, flows.ErrDue):
			if err := s.Do(ctx, key, flows.Tick{}, Origin{}); err != nil {
				return err
			}
		case errors.Is(err, journal.ErrConflict):
			// Somebody was first: read again, decide again.
		case errors.Is(err, journal.ErrDuplicate):
			return nil
		case errors.As(err, new(*flows.Refusal)) && s.Wrote(ctx, key, k.Version, from.Delivery):
			return nil // sent again: what was taken the first time stands in its own way
		default:
			return err
		}
	}
	return fmt.Errorf("write to kickoff %s: others were first %d times", key.Kickoff, maxAttempts)
}

// deliveriesBack is how many entries back a delivery is looked for that comes
// again. It comes within minutes.
const deliveriesBack = 100

// Wrote reports whether a delivery, or a part of it, was written within the
// entries before a version or since.
func (s *Store) Wrote(ctx context.Context, key journal.Key, version int64, delivery string) bool {
	if delivery == "" {
		return false
	}
	entries, err := s.Journal.Read(ctx, key, max(0, version-deliveriesBack))
	return err == nil && slices.ContainsFunc(entries, func(e journal.Entry) bool {
		return e.Delivery == delivery || strings.HasPrefix(e.Delivery, delivery+"/")
	})
}

// decide decides on one reading of the journal.
func (s *Store) decide(ctx context.Context, key journal.Key, k flows.Kickoff, in flows.Intent, from Origin) error {
	// As the journal gives it back: else what is cached here would differ from
	// what another process reads.
	now := s.Clock().UTC().Round(0)
	events, err := flows.Decide(k, in, now)
	if err != nil || len(events) == 0 {
		return err
	}
	record := flows.Record{At: now, By: flows.Author(in), Events: events}
	version, err := s.append(ctx, key, k, record, from.Delivery)
	if err != nil {
		return fmt.Errorf("write to kickoff %s: %w", key.Kickoff, err)
	}
	// A commuting write may have landed behind others: then the next load
	// catches up, and its effects are those of ratings, none.
	if version == k.Version+1 {
		k = flows.Apply(k, version, record)
		s.cache.put(key, k)
	}
	if err := s.Follower.Follow(ctx, Entry{key, version, from.Source}, flows.React(k, record)); err != nil {
		// The entry is durable, which is what counts.
		s.Logger.Warn("effects were not queued; the sweeper will find them", "kickoff", key.Kickoff, "version", version, "error", err)
	}
	return nil
}

func (s *Store) append(ctx context.Context, key journal.Key, k flows.Kickoff, r flows.Record, delivery string) (int64, error) {
	data, err := json.Marshal(r)
	if err != nil {
		return 0, err
	}
	write := journal.Write{Data: data, Delivery: delivery, After: k.Version}
	if flows.Commutes(r.Events) {
		write.After = journal.Commutes
	}
	return s.Journal.Append(ctx, key, write)
}

// InChannel loads the kickoff that is open in a channel. Where there is none, its
// Key names none.
func (s *Store) InChannel(ctx context.Context, team, channel string) (key journal.Key, k flows.Kickoff, err error) {
	key.Team = team
	if key.Kickoff, err = s.Journal.Index.InChannel(ctx, team, channel); err == nil && key.Kickoff != "" {
		k, err = s.Load(ctx, key)
	}
	return key, k, err
}
