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
	turns turns
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
//
// It decides first on what this process last saw, without reading anything:
// mostly that is how things stand, and where it is not, the journal refuses the
// entry. Only what would not be written is decided again on what the journal
// says.
func (s *Store) Do(ctx context.Context, key journal.Key, in flows.Intent, from Origin) error {
	release, err := s.turns.take(ctx, key)
	if err != nil {
		return fmt.Errorf("write to kickoff %s: wait for others: %w", key.Kickoff, err)
	}
	written, err := s.do(ctx, key, in, from)
	release()
	for _, w := range written {
		s.follow(ctx, w)
	}
	return err
}

// written is what follows from an entry of this process.
type written struct {
	Entry
	effects []flows.Effect
}

func (s *Store) do(ctx context.Context, key journal.Key, in flows.Intent, from Origin) (done []written, err error) {
	k, seen := s.cache.get(key)
	for attempt := range maxAttempts {
		current := attempt > 0 || !seen
		if current {
			if k, err = s.Load(ctx, key); err != nil {
				return done, err
			}
		}
		w, err := s.decide(ctx, key, k, in, from)
		done = append(done, w...)
		switch {
		case errors.Is(err, journal.ErrDuplicate):
			return done, nil
		case errors.Is(err, journal.ErrConflict):
			// Somebody was first: read again, decide again.
		case len(w) == 0 && !current && isOutcome(err):
			// Things may stand otherwise by now.
		case errors.Is(err, flows.ErrDue):
			w, err := s.do(ctx, key, flows.Tick{}, Origin{})
			if done = append(done, w...); err != nil {
				return done, err
			}
		case isRefusal(err) && s.Wrote(ctx, key, k.Version, from.Delivery):
			return done, nil // sent again: what was taken the first time stands in its own way
		default:
			return done, err
		}
	}
	return done, fmt.Errorf("write to kickoff %s: others were first %d times", key.Kickoff, maxAttempts)
}

// isOutcome reports that flows decided, if only that nothing is to be written.
func isOutcome(err error) bool { return err == nil || errors.Is(err, flows.ErrDue) || isRefusal(err) }

func isRefusal(err error) bool { return errors.As(err, new(*flows.Refusal)) }

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

// decide decides on one state, and gives what was written, if anything was.
func (s *Store) decide(ctx context.Context, key journal.Key, k flows.Kickoff, in flows.Intent, from Origin) ([]written, error) {
	// As the journal gives it back: else what is cached here would differ from
	// what another process reads.
	now := s.Clock().UTC().Round(0)
	events, err := flows.Decide(k, in, now)
	if err != nil || len(events) == 0 {
		return nil, err
	}
	record := flows.Record{At: now, By: flows.Author(in), Events: events}
	version, err := s.append(ctx, key, k, record, from.Delivery)
	if err != nil {
		return nil, fmt.Errorf("write to kickoff %s: %w", key.Kickoff, err)
	}
	w := []written{{Entry: Entry{key, version, from.Source}}}
	if version != k.Version+1 {
		return w, s.landed(ctx, key, k, in, now, version)
	}
	next := flows.Apply(k, version, record)
	s.cache.put(key, next)
	w[0].effects = flows.React(next, record)
	if next.NextWake().Equal(k.NextWake()) { // a timer moves only when it moves
		w[0].effects = slices.DeleteFunc(w[0].effects, func(e flows.Effect) bool { return e.Do == flows.Wake })
	}
	return w, nil
}

// landed looks at a commuting entry that landed behind those of other
// processes. What it asks of the world is what ratings ask: nothing. Where it
// came too late to count, the person is told.
func (s *Store) landed(ctx context.Context, key journal.Key, k flows.Kickoff, in flows.Intent, now time.Time, version int64) error {
	entries, err := s.Journal.Read(ctx, key, k.Version)
	if err != nil {
		return err
	}
	records, err := decode(entries)
	if err != nil {
		return err
	}
	before := int(version - k.Version - 1)
	then := flows.Fold(k, k.Version, records[:before])
	s.cache.put(key, flows.Fold(then, then.Version, records[before:]))
	if _, err = flows.Decide(then, in, now); isRefusal(err) {
		return err
	}
	return nil
}

// follow hands on what follows from an entry.
func (s *Store) follow(ctx context.Context, w written) {
	if len(w.effects) == 0 {
		return
	}
	if err := s.Follower.Follow(ctx, w.Entry, w.effects); err != nil {
		// The entry is durable, which is what counts.
		s.Logger.Warn("effects were not queued; the sweeper will find them", "kickoff", w.Key.Kickoff, "version", w.Version, "error", err)
	}
}

func (s *Store) append(ctx context.Context, key journal.Key, k flows.Kickoff, r flows.Record, delivery string) (int64, error) {
	data, err := json.Marshal(r)
	if err != nil {
		return 0, err
	}
	return s.Journal.Append(ctx, key, journal.Write{Data: data, Delivery: delivery, After: k.Version, Commutes: flows.Commutes(r.Events)})
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
