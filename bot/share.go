package bot

import (
	"context"
	"errors"
	"fmt"

	"soundings/bot/journal"
	"soundings/bot/report"
	"soundings/flows"
)

// sharePicture puts the map of a round into the thread of its result.
func (b *Bot) sharePicture(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot) error {
	_, round := flows.ParseStageArg(slot.Arg)
	f, err := report.MapFile(k, round)
	if err != nil {
		return err
	}
	return b.shareOnce(ctx, w, k, slot, f)
}

// shareFiles puts the files of the summary into its thread, or what became of
// them into that of the outcome.
func (b *Bot) shareFiles(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot) error {
	draw := report.Files
	if slot.Screen == flows.ScreenOutcome {
		draw = report.LastFiles
	}
	files, err := draw(k)
	if err != nil {
		return err
	}
	return b.shareOnce(ctx, w, k, slot, files...)
}

// shareOnce shares files, in one message, unless they stand there already.
// They appear all at once or not at all, so the first speaks for all.
func (b *Bot) shareOnce(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot, files ...report.File) error {
	at, posted := k.Posted[slot.Name()]
	if !posted {
		return notYet(slot.Name())
	}
	mark := fmt.Sprintf("%d/file/%s/%s", w.Version, slot.Name(), files[0].Name)
	done, err := b.Journal.Marks.Done(ctx, w.Key, mark)
	if err != nil || done {
		return err
	}
	uploaded, err := b.upload(ctx, w.Key, mark, files)
	if err == nil {
		err = b.shareUploaded(ctx, w.Key, mark, at, files, uploaded)
	}
	if errors.Is(err, ErrNotAllowed) {
		b.Logger.Info("files were not shared: the app may not share any", "kickoff", k.ID)
		return nil // the message says the same in words, and anybody can export
	}
	if err != nil {
		return err
	}
	return b.Journal.Marks.SetDone(ctx, w.Key, mark)
}

// upload hands files to the platform, each once even if another one fails.
func (b *Bot) upload(ctx context.Context, key journal.Key, mark string, files []report.File) ([]Uploaded, error) {
	uploaded := make([]Uploaded, len(files))
	for i, f := range files {
		name := uploadName(mark, f)
		id, err := b.Journal.Marks.Uploaded(ctx, key, name)
		if err == nil && id == "" {
			if id, err = b.Chat.Upload(ctx, f); err == nil {
				err = b.Journal.Marks.SetUploaded(ctx, key, name, id)
			}
		}
		if err != nil {
			return nil, err
		}
		uploaded[i] = Uploaded{ID: id, Title: f.Title}
	}
	return uploaded, nil
}

func uploadName(mark string, f report.File) string { return mark + "/" + f.Name }

// shareUploaded shares files unless that was done and only its answer lost.
func (b *Bot) shareUploaded(ctx context.Context, key journal.Key, mark string, at flows.Posting, files []report.File, uploaded []Uploaded) error {
	shared, err := b.attempted(ctx, key, "sharing/"+mark, func() (bool, error) { return b.Chat.Shared(ctx, at, files[0].Name) })
	if err == nil && !shared {
		err = b.Chat.Share(ctx, at, uploaded)
	}
	if err != nil && !refusedBy(err) {
		return err // they stay where they are for the next try
	}
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = uploadName(mark, f)
	}
	return errors.Join(err, b.Journal.Marks.ForgetUploads(ctx, key, names...))
}

// Sweep queues the effects of entries whose effects were never queued, as
// when a process died between the append and the queue. What was queued
// already is refused by its id, what was done already is found done.
func (b *Bot) Sweep(ctx context.Context) error {
	keys, err := b.Journal.Index.Open(ctx)
	if err != nil {
		return fmt.Errorf("list open kickoffs: %w", err)
	}
	away, err := b.Journal.Uninstalls.All(ctx)
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
	queued, err := b.Journal.Marks.Queued(ctx, key)
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
			if err := b.follow(ctx, work{Key: key, Version: version}, flows.React(k, r)); err != nil {
				return err
			}
		}
	}
	return b.Journal.Marks.SetQueued(ctx, key, now.Version)
}
