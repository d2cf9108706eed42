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
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"strings"
	"time"

	"soundings/bot/journal"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// An Entry of a kickoff's journal, whose effects are to follow.
type Entry struct {
	Key     journal.Key
	Version int64
	Digest  string         // of its data; see journal.Digest
	Source  *screen.Source // the message from which it came, if it came from one
}

// Position is where it stands in the journal.
func (e Entry) Position() journal.Position {
	return journal.Position{Version: e.Version, Digest: e.Digest}
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
	lines lines
}

// Empty is a kickoff that has not begun.
func (s *Store) Empty() state.Kickoff { return s.empty().Kickoff }

// Forget drops what is cached of a team.
func (s *Store) Forget(team string) { s.cache.forget(team) }

// An Origin says where an intent comes from. The zero Origin is the bot itself.
type Origin struct {
	Delivery string         // names the request that asked for it: the same one twice is done once
	Source   *screen.Source // the message from which it came, which is kept current at its address
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
	w := &write{in: in, from: from, lead: make(chan struct{}), done: make(chan struct{})}
	s.lines.join(key, w)
	defer s.lines.leave(key, w)
	select {
	case <-w.lead:
		s.writeAll(ctx, key, s.lines.take(key))
	case <-w.done:
	case <-ctx.Done():
		return fmt.Errorf("write to kickoff %s: wait for others: %w", key.Kickoff, context.Cause(ctx))
	}
	for _, written := range w.written {
		s.follow(ctx, written)
	}
	return w.err
}

// writeWithin is how long the first of a line may write for those behind it:
// less than the platform waits for any of them.
const writeWithin = 2 * time.Second

// writeAll decides and writes for all who wait. It does not end with the
// request of the one whose turn it is.
func (s *Store) writeAll(ctx context.Context, key journal.Key, all []*write) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), writeWithin)
	defer cancel()
	for _, w := range s.writeAtOnce(ctx, key, all) {
		w.written, w.err = s.do(ctx, key, w.in, w.from)
		close(w.done)
	}
}

// writeAtOnce decides on what this process last saw, each on what the one
// before leads to, and appends it all in one round trip. It gives back what is
// to be done one by one: what came to nothing, and what others were faster than.
func (s *Store) writeAtOnce(ctx context.Context, key journal.Key, all []*write) (rest []*write) {
	read, seen := s.cache.get(key)
	k := read.Kickoff
	var proposed []*proposal
	var pending []*write
	for _, w := range all {
		var p *proposal
		if seen {
			p, _ = s.propose(k, w.in, w.from)
		}
		if p == nil {
			rest = append(rest, w)
			continue
		}
		proposed, pending, k = append(proposed, p), append(pending, w), p.after()
	}
	if len(proposed) == 0 {
		return rest
	}
	done, err := s.commit(ctx, key, read, proposed)
	for i, w := range pending {
		first := i == len(done) // of those that were not written; err is about this one
		switch {
		case i < len(done):
			w.written, w.err = done[i].written, done[i].err
		case first && errors.Is(err, journal.ErrDuplicate):
		case errors.Is(err, journal.ErrConflict), errors.Is(err, journal.ErrDuplicate), errors.Is(err, journal.ErrTooLarge) && !first:
			rest = append(rest, w)
			continue
		default:
			w.err = err
		}
		close(w.done)
	}
	return rest
}

// do decides one intent on what the journal says, again and again where others
// are faster.
func (s *Store) do(ctx context.Context, key journal.Key, in flows.Intent, from Origin) (all []written, err error) {
	for range maxAttempts {
		read, err := s.load(ctx, key)
		if err != nil {
			return all, err
		}
		p, err := s.propose(read.Kickoff, in, from)
		if p != nil {
			var done []outcome
			if done, err = s.commit(ctx, key, read, []*proposal{p}); len(done) > 0 {
				return append(all, done[0].written...), done[0].err
			}
		}
		switch {
		case errors.Is(err, journal.ErrDuplicate):
			return all, nil
		case errors.Is(err, journal.ErrConflict):
			// Somebody was first: read again, decide again.
		case errors.Is(err, flows.ErrDue):
			more, err := s.do(ctx, key, flows.Tick{}, Origin{})
			if all = append(all, more...); err != nil {
				return all, err
			}
		case isRefusal(err) && s.Wrote(ctx, key, read.Version, from.Delivery):
			return all, s.Journal.Replicated(ctx, key) // sent again: what was taken the first time stands in its own way
		case err == nil: // there is nothing to write, maybe since it was written before
			return all, s.Journal.Replicated(ctx, key)
		default:
			return all, err
		}
	}
	return all, fmt.Errorf("write to kickoff %s: others were first %d times", key.Kickoff, maxAttempts)
}

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
	entries, err := s.Journal.Read(ctx, key, journal.Position{Version: max(0, version-deliveriesBack)})
	return err == nil && slices.ContainsFunc(entries, func(e journal.Entry) bool {
		return e.Delivery == delivery || strings.HasPrefix(e.Delivery, delivery+"/")
	})
}

// A proposal is what an intent leads to if nobody else writes first.
type proposal struct {
	in     flows.Intent
	from   Origin
	before state.Kickoff
	parts  []part // one after the other
}

// A part of a proposal is one entry, and what it leads to.
type part struct {
	record event.Record
	after  state.Kickoff
}

func (p *proposal) after() state.Kickoff { return p.parts[len(p.parts)-1].after }

// written is what follows from an entry of this process.
type written struct {
	Entry
	effects []flows.Effect
}

// An outcome is what came of a proposal that was written.
type outcome struct {
	written []written
	err     error // why it does not count
}

// propose decides on one state; nil where nothing is to be written.
func (s *Store) propose(k state.Kickoff, in flows.Intent, from Origin) (*proposal, error) {
	// As the journal gives it back: else what is cached here would differ from
	// what another process reads.
	now := s.Clock().UTC().Round(0)
	events, err := flows.Decide(k, in, now)
	if err != nil || len(events) == 0 {
		return nil, err
	}
	p := &proposal{in: in, from: from, before: k}
	for _, record := range flows.Records(k, in, events, now) {
		k = flows.Apply(k, k.Version+1, record)
		p.parts = append(p.parts, part{record, k})
	}
	return p, nil
}

// commit appends proposals, the first made on the state that was read, each
// other one on what the one before leads to. It gives the outcome of those that
// were written, and why the next one was not.
func (s *Store) commit(ctx context.Context, key journal.Key, read folded, all []*proposal) ([]outcome, error) {
	keys := map[string][]byte{}
	maps.Copy(keys, read.keys)
	writes, err := s.writes(ctx, key, read, all, keys)
	if err != nil {
		return nil, err
	}
	versions, err := s.Journal.AppendAll(ctx, key, writes)
	var done []outcome
	now := read
	for n := 0; n < len(versions); {
		p, out := all[len(done)], outcome{}
		before := p.before
		for _, part := range p.parts[:min(len(p.parts), len(versions)-n)] {
			version := versions[n]
			w := written{Entry: Entry{Key: key, Version: version, Digest: journal.Digest(writes[n].Data), Source: p.from.Source}}
			if version == part.after.Version {
				now = now.then(part.after, step{version, w.Digest, part.record.By, part.record.At})
				now.keys = current(part.after, keys)
				s.cache.put(key, now)
				w.effects = moved(before, part)
			} else {
				out.err = s.landed(ctx, key, read, p, version)
			}
			before, n, out.written = part.after, n+1, append(out.written, w)
		}
		done = append(done, out)
	}
	if err != nil {
		err = fmt.Errorf("write to kickoff %s: %w", key.Kickoff, err)
	}
	return done, err
}

// writes are proposals as the journal takes them. Keys that were made on the
// way are added to keys.
func (s *Store) writes(ctx context.Context, key journal.Key, read folded, all []*proposal, keys map[string][]byte) ([]journal.Write, error) {
	var writes []journal.Write
	for _, p := range all {
		before, delivery := p.before, p.from.Delivery
		for _, part := range p.parts {
			data, with, err := s.encode(ctx, key, keys, part.record)
			if err != nil {
				return nil, fmt.Errorf("write to kickoff %s: %w", key.Kickoff, err)
			}
			if with != nil {
				keys[part.record.Box] = with
			}
			writes = append(writes, journal.Write{Data: data, Delivery: delivery, After: before.Version, Read: read.at(), Commutes: event.Commutes(part.record.Events)})
			before, delivery = part.after, "" // the rest is written with the first or not at all
		}
	}
	return writes, nil
}

// moved is what should follow, without setting a timer that stands as it stood.
func moved(before state.Kickoff, p part) []flows.Effect {
	effects := flows.React(p.after, p.record)
	if !flows.NextWake(&p.after).Equal(flows.NextWake(&before)) {
		return effects
	}
	return slices.DeleteFunc(effects, func(e flows.Effect) bool { return e.Do == flows.Wake })
}

// landed looks at a commuting entry that landed behind those of other
// processes, which are read from a state on that was. What it asks of the world
// is what ratings ask: nothing. Where it came too late to count, the person is
// told.
func (s *Store) landed(ctx context.Context, key journal.Key, from folded, p *proposal, version int64) error {
	entries, err := s.Journal.Read(ctx, key, from.at())
	if err != nil {
		return err
	}
	before := int(version - from.Version - 1)
	then, _, err := s.fold(ctx, key, from, entries[:before])
	if err != nil {
		return err
	}
	now, _, err := s.fold(ctx, key, then, entries[before:])
	if err != nil {
		return err
	}
	s.cache.put(key, now)
	if _, err := flows.Decide(then.Kickoff, p.in, p.parts[0].record.At); isRefusal(err) {
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

// InChannel loads the kickoff that is open in a channel. Where there is none, its
// Key names none; nor where a process took the channel and died before the
// kickoff began.
func (s *Store) InChannel(ctx context.Context, team, channel string) (key journal.Key, k state.Kickoff, err error) {
	key.Team = team
	if key.Kickoff, err = s.Journal.Index.InChannel(ctx, team, channel); err == nil && key.Kickoff != "" {
		k, err = s.Load(ctx, key)
	}
	if k.Started.IsZero() {
		key.Kickoff = ""
	}
	return key, k, err
}
