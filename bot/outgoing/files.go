package outgoing

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"soundings/bot/chat"
	"soundings/bot/jobs"
	"soundings/bot/report"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// mapName is the name of the picture that a result shows.
const mapName = "map.png"

// sharePicture puts the map of a round, or what a check-in moved on it, into the thread of
// its result, and then into the result itself. Only what was shared is seen by all who read
// the channel.
func (r *run) sharePicture(ctx context.Context, k state.Kickoff, slot flows.Slot) error {
	shared, err := r.Journal.Marks.Done(ctx, r.Key, shareMark(r, slot, mapName))
	if err != nil {
		return err
	}
	if !shared {
		f, err := pictureOf(k, slot)
		if err != nil {
			return err
		}
		if err := r.shareOnce(ctx, k, slot, f); err != nil {
			return err
		}
	}
	return showPicture(ctx, r, slot)
}

func pictureOf(k state.Kickoff, slot flows.Slot) (report.File, error) {
	if slot.Screen == flows.ScreenMoved {
		n, _ := strconv.Atoi(slot.Arg)
		return report.MovedFile(k, n)
	}
	_, round := flows.ParseStageArg(slot.Arg)
	return report.MapFile(k, round)
}

// The platform takes some seconds until a file that was shared may stand in a message,
// and does not say when. A picture that is refused for longer stays in the thread alone.
const (
	pictureWait = 5 * time.Second
	picturePast = time.Minute
)

var errNotReady = errors.New("the platform is given time to look at the picture")

// showPicture brings a message up to date that stands and can show its picture now.
func showPicture(ctx context.Context, r *run, slot flows.Slot) error {
	k, err := r.load(ctx)
	if err != nil {
		return err
	}
	at := k.Posted[slot.Name()]
	if at.Picture == "" {
		return nil
	}
	first, since, err := r.Journal.Marks.Begin(ctx, r.Key, shareMark(r, slot, "shown"), r.Clock())
	if err != nil {
		return err
	}
	if waited := r.Clock().Sub(since); first || waited < pictureWait {
		return jobs.Retry(errNotReady, pictureWait)
	}
	message, err := draw(r, k, slot)
	if err == nil {
		err = r.chat.Update(ctx, at, tagOf(r.Key, k, slot), message)
	}
	switch {
	case err == nil:
		return r.markShown(ctx, k, slot)
	case errors.Is(err, chat.ErrGone):
		return nil
	case !badBlocks(err):
		return err
	case r.Clock().Sub(since) < picturePast:
		return jobs.Retry(err, 2*pictureWait)
	}
	r.Logger.Info("a message stands without its picture", "kickoff", k.ID, "error", err)
	return nil
}

// badBlocks reports that the platform takes a message for wrong, as it does with a
// picture that is not ready, or that the app may not show.
func badBlocks(err error) bool { return chat.Refused(err, "invalid_blocks") }

// shareMark is under which name the journal notes that files of a slot were shared.
func shareMark(r *run, slot flows.Slot, first string) string {
	return fmt.Sprintf("%d/file/%s/%s", r.Version, slot.Name(), first)
}

// shareFiles puts the files of the summary into its thread, or what became of
// them into that of the outcome. Of a kickoff that was called off before its summary
// was posted, all are shared: they stand nowhere else.
func (r *run) shareFiles(ctx context.Context, k state.Kickoff, slot flows.Slot) error {
	draw := report.Files
	switch {
	case slot.Screen == flows.ScreenOutcome && k.Stage == state.StageEnded, slot.Screen == flows.ScreenCalledOff && !k.Timebox.Starts.IsZero():
		draw = report.LastFiles
	case slot.Screen == flows.ScreenOutcome:
		draw = report.NewDates
	}
	files, err := draw(k)
	if err != nil {
		return err
	}
	return r.shareOnce(ctx, k, slot, files...)
}

// shareOnce shares files, in one message, unless they stand there already.
// They appear all at once or not at all, so the first speaks for all.
func (r *run) shareOnce(ctx context.Context, k state.Kickoff, slot flows.Slot, files ...report.File) error {
	at, posted := k.Posted[slot.Name()]
	if !posted {
		return notYet(slot.Name())
	}
	mark := shareMark(r, slot, files[0].Name)
	_, err := r.once(ctx, mark, func() error {
		uploaded, err := r.upload(ctx, mark, files)
		if err == nil {
			err = r.shareUploaded(ctx, mark, at, files, uploaded)
		}
		if err == nil && files[0].Name == mapName {
			at.Picture = uploaded[0].ID
			err = r.report(ctx, flows.Report{News: event.MessagePosted{Slot: slot.Name(), Posting: at}})
		}
		if errors.Is(err, chat.ErrNotAllowed) {
			r.Logger.Info("files were not shared: the app may not share any", "kickoff", k.ID)
			return nil // the message says the same in words, and anybody can export
		}
		return err
	})
	return err
}

// upload hands files to the platform, each once even if another one fails.
func (r *run) upload(ctx context.Context, mark string, files []report.File) ([]chat.Uploaded, error) {
	uploaded := make([]chat.Uploaded, len(files))
	for i, f := range files {
		name := uploadName(mark, f)
		id, err := r.Journal.Marks.Uploaded(ctx, r.Key, name)
		if err == nil && id == "" {
			if id, err = r.chat.Upload(ctx, f.Shared()); err == nil {
				err = r.Journal.Marks.SetUploaded(ctx, r.Key, name, id)
			}
		}
		if err != nil {
			return nil, err
		}
		uploaded[i] = chat.Uploaded{ID: id, Title: f.Title}
	}
	return uploaded, nil
}

func uploadName(mark string, f report.File) string { return mark + "/" + f.Name }

// shareUploaded shares files unless that was done and only its answer lost.
func (r *run) shareUploaded(ctx context.Context, mark string, at state.Posting, files []report.File, uploaded []chat.Uploaded) error {
	err := r.attempt(ctx, "sharing/"+mark,
		func(since time.Time) (bool, error) { return r.chat.Shared(ctx, at, since, files[0].Name) },
		func() error { return r.chat.Share(ctx, at, uploaded) })
	if err != nil && chat.Answer(err) == "" {
		return err // they stay where they are for the next try
	}
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = uploadName(mark, f)
	}
	return errors.Join(err, r.Journal.Marks.ForgetUploads(ctx, r.Key, names...))
}
