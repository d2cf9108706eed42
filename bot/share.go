package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

func readerOf(data []byte) io.Reader { return bytes.NewReader(data) }

// sharePicture puts the map of a round into the thread of its result.
func (b *Bot) sharePicture(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot) error {
	_, round := flows.ParseStageArg(slot.Arg)
	f, err := screens.MapFile(k, round)
	if err != nil {
		return err
	}
	return b.shareOnce(ctx, w, k, slot, f)
}

// shareFiles puts the files of the summary into its thread.
func (b *Bot) shareFiles(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot) error {
	files, err := screens.Files(k)
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := b.shareOnce(ctx, w, k, slot, f); err != nil {
			return err
		}
	}
	return nil
}

// shareOnce shares a file unless it stands there already.
func (b *Bot) shareOnce(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot, f screens.File) error {
	at, posted := k.Posted[slot.Name()]
	if !posted {
		return notYet(slot.Name())
	}
	mark := fmt.Sprintf("%d/file/%s/%s", w.Version, slot.Name(), f.Name)
	done, err := b.Journal.Done(ctx, w.Key, mark)
	if err != nil || done {
		return err
	}
	shared, err := b.attempted(ctx, w.Key, "sharing/"+mark, func() (bool, error) { return b.Chat.Shared(ctx, at, f.Name) })
	if err == nil && !shared {
		err = b.Chat.Share(ctx, at, f)
	}
	if errors.Is(err, ErrNotAllowed) {
		b.Logger.Info("a file was not shared: the app may not share files", "kickoff", k.ID)
		return nil // the message says the same in words, and anybody can export
	}
	if err != nil {
		return err
	}
	return b.Journal.MarkDone(ctx, w.Key, mark)
}

// Sweep queues the effects of entries whose effects were never queued, as
// when a process died between the append and the queue. What was queued
// already is refused by its id, what was done already is found done.
func (b *Bot) Sweep(ctx context.Context) error {
	keys, err := b.Journal.Open(ctx)
	if err != nil {
		return fmt.Errorf("list open kickoffs: %w", err)
	}
	away, err := b.Journal.AllAway(ctx)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if _, gone := away[key.Team]; gone {
			continue // it is swept when the team is back
		}
		if err := b.sweep(ctx, key); err != nil {
			return fmt.Errorf("sweep kickoff %s: %w", key.Kickoff, err)
		}
	}
	return nil
}

func (b *Bot) sweep(ctx context.Context, key journal.Key) error {
	queued, err := b.Journal.Queued(ctx, key)
	if err != nil {
		return err
	}
	now, err := b.load(ctx, key)
	if err != nil || now.Version <= queued {
		return err
	}
	entries, err := b.Journal.Read(ctx, key, 0)
	if err != nil {
		return err
	}
	records, err := decode(entries)
	if err != nil {
		return err
	}
	k := flows.Kickoff{}
	for i, r := range records {
		version := entries[i].Version
		k = flows.Apply(k, version, r)
		if version > queued {
			if err := b.follow(ctx, key, version, flows.React(k, r)); err != nil {
				return err
			}
		}
	}
	return b.Journal.MarkQueued(ctx, key, now.Version)
}
