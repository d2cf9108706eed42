package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// kept holds folded kickoffs, so that a request reads only what is new. It is
// a cache and nothing else: losing it costs time.
type kept struct {
	mu       sync.Mutex
	kickoffs map[journal.Key]flows.Kickoff
}

// keptMost bounds the cache; past it, an arbitrary kickoff makes room.
const keptMost = 256

func newKept() *kept { return &kept{kickoffs: map[journal.Key]flows.Kickoff{}} }

func (c *kept) get(key journal.Key) flows.Kickoff {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.kickoffs[key]
}

// put keeps k unless a later version is kept already.
func (c *kept) put(key journal.Key, k flows.Kickoff) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kickoffs[key].Version > k.Version {
		return
	}
	if _, known := c.kickoffs[key]; !known && len(c.kickoffs) >= keptMost {
		for other := range c.kickoffs {
			delete(c.kickoffs, other)
			break
		}
	}
	c.kickoffs[key] = k
}

// forget drops what is kept of a team.
func (c *kept) forget(team string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for key := range c.kickoffs {
		if key.Team == team {
			delete(c.kickoffs, key)
		}
	}
}

// load folds the journal of a kickoff, from what is kept or from the last
// snapshot on.
func (b *Bot) load(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	k := b.kept.get(key)
	if k.Version == 0 {
		snapshot, err := b.snapshot(ctx, key)
		if err != nil {
			return flows.Kickoff{}, err
		}
		k = snapshot
	}
	entries, err := b.Journal.Read(ctx, key, k.Version)
	if errors.Is(err, journal.ErrPurged) { // what is kept here is all that is left of it
		b.kept.forget(key.Team)
		return flows.Kickoff{}, nil
	}
	if err != nil {
		return flows.Kickoff{}, fmt.Errorf("load kickoff %s: %w", key.Kickoff, err)
	}
	if len(entries) == 0 {
		return k, nil
	}
	records, err := decode(entries)
	if err != nil {
		return flows.Kickoff{}, fmt.Errorf("load kickoff %s: %w", key.Kickoff, err)
	}
	before := k.Version
	k = flows.Fold(k, before, records)
	b.kept.put(key, k)
	b.keepSnapshot(ctx, key, k, before)
	return k, nil
}

func decode(entries []journal.Entry) ([]flows.Record, error) {
	records := make([]flows.Record, len(entries))
	for i, e := range entries {
		if err := json.Unmarshal(e.Data, &records[i]); err != nil {
			return nil, fmt.Errorf("entry %d: %w", e.Version, err)
		}
	}
	return records, nil
}

func (b *Bot) snapshot(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	var k flows.Kickoff
	version, data, err := b.Journal.Snapshot(ctx, key)
	if err != nil {
		return k, fmt.Errorf("load snapshot of %s: %w", key.Kickoff, err)
	}
	if version == 0 {
		return k, nil
	}
	if err := json.Unmarshal(data, &k); err != nil {
		// The journal is the truth; a snapshot of another release is not.
		b.Logger.Warn("snapshot cannot be read; folding from the start", "kickoff", key.Kickoff, "error", err)
		return flows.Kickoff{}, nil
	}
	return k, nil
}

// snapshotEvery is how many entries a process reads before it leaves a
// snapshot for the next one that starts.
const snapshotEvery = 200

func (b *Bot) keepSnapshot(ctx context.Context, key journal.Key, k flows.Kickoff, before int64) {
	if k.Version/snapshotEvery == before/snapshotEvery {
		return
	}
	data, err := json.Marshal(k)
	if err == nil {
		err = b.Journal.SaveSnapshot(ctx, key, k.Version, data)
	}
	if err != nil { // the journal still holds everything
		b.Logger.Warn("snapshot was not saved", "kickoff", key.Kickoff, "error", err)
	}
}

// tries bounds how often one intent is decided anew because others wrote in
// between. Each time somebody else got through, so the group moves on.
const tries = 64

// do decides an intent and appends what follows from it. When do returns
// without an error the outcome is durable, and may be acknowledged. delivery
// names the request that asked for it: the same one twice is done once.
func (b *Bot) do(ctx context.Context, key journal.Key, in flows.Intent, delivery string) error {
	return b.doFrom(ctx, key, in, delivery, nil)
}

// doFrom is do for an intent that came from a message, which is kept current
// at the address that came with it.
func (b *Bot) doFrom(ctx context.Context, key journal.Key, in flows.Intent, delivery string, from *screens.Source) error {
	for range tries {
		k, err := b.load(ctx, key)
		if err != nil {
			return err
		}
		switch err := b.attempt(ctx, key, k, in, delivery, from); {
		case errors.Is(err, flows.ErrDue):
			if err := b.do(ctx, key, flows.Tick{}, ""); err != nil {
				return err
			}
		case errors.Is(err, journal.ErrConflict):
			// Somebody was first: read again, decide again.
		case errors.Is(err, journal.ErrDuplicate):
			return nil
		case isRefusal(err) && b.wrote(ctx, key, k.Version, delivery):
			return nil // sent again: what was taken the first time stands in its own way
		default:
			return err
		}
	}
	return fmt.Errorf("write to kickoff %s: others were first %d times", key.Kickoff, tries)
}

// lately is how far back a delivery is looked for that comes again. It comes
// within minutes.
const lately = 100

// wrote reports whether a delivery, or a part of it, has been written lately.
func (b *Bot) wrote(ctx context.Context, key journal.Key, version int64, delivery string) bool {
	if delivery == "" {
		return false
	}
	entries, err := b.Journal.Read(ctx, key, max(0, version-lately))
	return err == nil && slices.ContainsFunc(entries, func(e journal.Entry) bool {
		return e.Delivery == delivery || strings.HasPrefix(e.Delivery, delivery+"/")
	})
}

// attempt decides on one reading of the journal.
func (b *Bot) attempt(ctx context.Context, key journal.Key, k flows.Kickoff, in flows.Intent, delivery string, from *screens.Source) error {
	// As the journal gives it back: else what is kept here would differ from
	// what another process reads.
	now := b.Clock().UTC().Round(0)
	events, err := flows.Decide(k, in, now)
	if err != nil || len(events) == 0 {
		return err
	}
	record := flows.Record{At: now, By: flows.Author(in), Events: events}
	data, err := json.Marshal(record)
	if err != nil {
		return fmt.Errorf("write to kickoff %s: %w", key.Kickoff, err)
	}
	write := journal.Write{Data: data, Delivery: delivery, After: k.Version}
	if flows.Commutes(events) {
		write.After = journal.Commutes
	}
	version, err := b.Journal.Append(ctx, key, write)
	if err != nil {
		return fmt.Errorf("write to kickoff %s: %w", key.Kickoff, err)
	}
	// A commuting write may have landed behind others: then the next load
	// catches up, and its effects are those of ratings, none.
	if version == k.Version+1 {
		k = flows.Apply(k, version, record)
		b.kept.put(key, k)
	}
	if err := b.follow(ctx, work{Key: key, Version: version, Source: from}, flows.React(k, record)); err != nil {
		// The entry is durable, which is what counts.
		b.Logger.Warn("effects were not queued; the sweeper will find them", "kickoff", key.Kickoff, "version", version, "error", err)
	}
	return nil
}

// Kickoff folds the journal of a kickoff, for exports.
func (b *Bot) Kickoff(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	return b.load(ctx, key)
}
