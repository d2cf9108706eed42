package bot

import (
	"context"
	"errors"
	"fmt"
	"time"
	"unicode/utf8"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/report"
	"soundings/flows"
)

// The canvas and the bookmark stand beside the summary's messages. Whatever
// the platform has against one is told to the lead by an event, and ends the
// effect: the thread holds the same in full.

// canvasPause is how long late changes wait for each other before they are on
// the canvas: nobody's day has more than a handful of its edits.
const canvasPause = 4 * time.Hour

// canvasJob is a look at the canvas at the next full pause. All that ask for
// one before it become one.
func (b *Bot) canvasJob(key journal.Key, version int64) jobs.Job {
	at := b.Clock().Truncate(canvasPause).Add(canvasPause)
	return jobOf(jobCanvas, fmt.Sprint(at.Unix()), at, work{Key: key, Version: version})
}

// canvasLater brings a canvas up to date that stands, unless nothing has
// happened since it was drawn.
func (b *Bot) canvasLater(ctx context.Context, w work) error {
	k, err := b.load(ctx, w.Key)
	if err != nil || k.Extras.Canvas == "" {
		return err
	}
	drawn, err := b.Journal.Marks.Shown(ctx, w.Key, canvasSlot)
	if err != nil || drawn >= k.Version {
		return err
	}
	return b.canvas(ctx, w, k)
}

// canvasSlot is the name under which the journal keeps what the canvas shows.
const canvasSlot = "canvas"

// canvas brings the summary's canvas up to date, or makes it where there is
// none. One that somebody deleted is made anew by the effect of that event.
func (b *Bot) canvas(ctx context.Context, w work, k flows.Kickoff) error {
	if k.Extras.LetBe() || k.Held() {
		return nil
	}
	page, id := report.Canvas(k), k.Extras.Canvas
	if utf8.RuneCountInString(page.Markdown) > report.LongestCanvas {
		return b.do(ctx, w.Key, flows.MissExtra{What: flows.ExtraCanvas, Why: flows.FaultLong}, "")
	}
	var err error
	if id == "" {
		id, err = b.makeCanvas(ctx, w, k, page)
	} else if err = b.Chat.DrawCanvas(ctx, id, page); errors.Is(err, ErrGone) {
		return b.do(ctx, w.Key, flows.LostCanvas{ID: id}, "")
	}
	if err != nil {
		return b.missed(ctx, w.Key, flows.ExtraCanvas, err)
	}
	if err := b.do(ctx, w.Key, flows.MadeCanvas{ID: id}, ""); err != nil {
		return err
	}
	return b.Journal.Marks.SetShown(ctx, w.Key, canvasSlot, k.Version)
}

// makeCanvas makes the canvas unless an attempt that was cut off has made it.
// A canvas of the channel that was there before the attempt is never taken for
// ours: that there is one is noted before a tab is made instead.
func (b *Bot) makeCanvas(ctx context.Context, w work, k flows.Kickoff, page report.CanvasPage) (id string, err error) {
	mark := fmt.Sprintf("canvas/taken/%d", w.Version)
	taken, err := b.Journal.Marks.Done(ctx, w.Key, mark)
	if err != nil {
		return "", err
	}
	taken = taken || k.Seen.Canvas != ""
	made, err := b.attempted(ctx, w.Key, fmt.Sprintf("canvas/making/%d", w.Version), func() (bool, error) {
		g, err := b.Chat.Look(ctx, k.Channel)
		if !taken {
			id = g.Canvas
		}
		for _, tab := range g.Tabs {
			if tab.Data != nil && tab.Data.FileID != "" && tab.Label == page.Title {
				id = tab.Data.FileID
			}
		}
		return id != "", err
	})
	if err != nil || made {
		return id, err
	}
	if !taken {
		if id, taken, err = b.Chat.MakeCanvas(ctx, k.Channel, page); err != nil || !taken {
			return id, err
		}
		if err := b.Journal.Marks.SetDone(ctx, w.Key, mark); err != nil {
			return "", err
		}
	}
	return b.Chat.MakeTab(ctx, k.Channel, page)
}

// bookmark puts a link to a message into the channel's header.
func (b *Bot) bookmark(ctx context.Context, w work, k flows.Kickoff, slot flows.Slot) error {
	at, posted := k.Posted[slot.Name()]
	switch {
	case k.Extras.Bookmark != "" || k.Stage == flows.StageEnded:
		return nil
	case !posted:
		return notYet(slot.Name())
	}
	id, err := b.addBookmark(ctx, w, k, at)
	if err != nil {
		return b.missed(ctx, w.Key, flows.ExtraBookmark, err)
	}
	return b.do(ctx, w.Key, flows.AddedBookmark{ID: id}, "")
}

func (b *Bot) addBookmark(ctx context.Context, w work, k flows.Kickoff, at flows.Posting) (id string, err error) {
	link, err := b.Chat.Permalink(ctx, at)
	if err != nil {
		return "", err
	}
	added, err := b.attempted(ctx, w.Key, fmt.Sprintf("bookmark/adding/%d", w.Version), func() (bool, error) {
		id, err = b.Chat.FindBookmark(ctx, at.Channel, link)
		return id != "", err
	})
	if err != nil || added {
		return id, err
	}
	return b.Chat.AddBookmark(ctx, at.Channel, report.BookmarkTitle(k), link)
}

// unbookmark takes the link out again. One that stays is nobody's harm.
func (b *Bot) unbookmark(ctx context.Context, w work, k flows.Kickoff) error {
	if k.Extras.Bookmark == "" {
		return nil
	}
	err := b.Chat.RemoveBookmark(ctx, k.Channel, k.Extras.Bookmark)
	if _, stays := faultOf(err); stays {
		b.Logger.Info("a bookmark was not removed", "kickoff", k.ID, "error", err)
		return nil
	}
	if err != nil {
		return err
	}
	return b.do(ctx, w.Key, flows.RemovedBookmark{}, "")
}

// missed notes that an extra cannot be had. Every other error is handed back.
func (b *Bot) missed(ctx context.Context, key journal.Key, what flows.Extra, err error) error {
	fault, ok := faultOf(err)
	if !ok {
		return err
	}
	b.Logger.Info("an extra cannot be had", "kickoff", key.Kickoff, "extra", what, "error", err)
	return b.do(ctx, key, flows.MissExtra{What: what, Why: fault}, "")
}

// look notes who reads the channel, and whether it has a canvas.
func (b *Bot) look(ctx context.Context, key journal.Key, channel string) error {
	g, err := b.Chat.Look(ctx, channel)
	if err != nil || !g.Member { // from outside nothing of it is seen
		return err
	}
	return b.do(ctx, key, flows.SeeChannel{Outside: g.Outside, Canvas: g.Canvas}, "")
}
