package outgoing

import (
	"context"
	"errors"
	"fmt"
	"time"
	"unicode/utf8"

	"soundings/bot/chat"
	"soundings/bot/report"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// The canvas and the bookmark stand beside the summary's messages. Whatever
// the platform has against one is told to the lead by an event, and ends the
// effect: the thread holds the same in full.

// canvasLater brings a canvas up to date that stands, unless nothing has
// happened since it was drawn.
func (r *run) canvasLater(ctx context.Context) error {
	k, err := r.load(ctx)
	if err != nil || k.Extras.Canvas == "" {
		return err
	}
	drawn, err := r.Journal.Marks.Shown(ctx, r.Key, canvasSlot)
	if err != nil || drawn >= k.Version {
		return err
	}
	return r.canvas(ctx, k)
}

// canvasSlot is the name under which the journal keeps what the canvas shows.
const canvasSlot = "canvas"

// canvas brings the summary's canvas up to date, or makes it where there is
// none. One that somebody deleted is made anew by the effect of that event.
func (r *run) canvas(ctx context.Context, k state.Kickoff) error {
	if k.Extras.LetBe() || flows.Held(&k) {
		return nil
	}
	page, id := report.Canvas(k), k.Extras.Canvas
	if utf8.RuneCountInString(page.Markdown) > report.LongestCanvas {
		return r.report(ctx, flows.Report{News: event.ExtraMissed{What: state.ExtraCanvas, Why: state.FaultLong}})
	}
	var err error
	if id == "" {
		id, err = r.makeCanvas(ctx, k, page)
	} else if err = r.chat.ReplaceCanvas(ctx, id, page); errors.Is(err, chat.ErrGone) {
		return r.report(ctx, flows.Report{News: event.CanvasLost{ID: id}})
	}
	if err != nil {
		return r.missed(ctx, state.ExtraCanvas, err)
	}
	if err := r.report(ctx, flows.Report{News: event.CanvasMade{ID: id}}); err != nil {
		return err
	}
	return r.Journal.Marks.SetShown(ctx, r.Key, canvasSlot, k.Version)
}

// makeCanvas makes the canvas unless an attempt that was cut off has made it.
// A canvas of the channel that was there before the attempt is never taken for
// ours: that there is one is noted before a tab is made instead.
func (r *run) makeCanvas(ctx context.Context, k state.Kickoff, page report.CanvasPage) (id string, err error) {
	mark := fmt.Sprintf("canvas/taken/%d", r.Version)
	taken, err := r.Journal.Marks.Done(ctx, r.Key, mark)
	if err != nil {
		return "", err
	}
	taken = taken || k.Seen.Canvas != ""
	err = r.attempt(ctx, fmt.Sprintf("canvas/making/%d", r.Version), func(time.Time) (bool, error) {
		seen, err := r.chat.Inspect(ctx, k.Channel)
		if !taken {
			id = seen.Canvas
		}
		for _, tab := range seen.Tabs {
			if tab.Data != nil && tab.Data.FileID != "" && tab.Label == page.Title {
				id = tab.Data.FileID
			}
		}
		return id != "", err
	}, func() error {
		if !taken {
			if id, taken, err = r.chat.MakeCanvas(ctx, k.Channel, page); err != nil || !taken {
				return err
			}
			if err := r.Journal.Marks.SetDone(ctx, r.Key, mark); err != nil {
				return err
			}
		}
		id, err = r.chat.MakeTab(ctx, k.Channel, page)
		return err
	})
	return id, err
}

// bookmark puts a link to a message into the channel's header.
func (r *run) bookmark(ctx context.Context, k state.Kickoff, slot flows.Slot) error {
	at, posted := k.Posted[slot.Name()]
	switch {
	case k.Extras.Bookmark != "" || k.Stage == state.StageEnded:
		return nil
	case !posted:
		return notYet(slot.Name())
	}
	id, err := r.addBookmark(ctx, k, at)
	if err != nil {
		return r.missed(ctx, state.ExtraBookmark, err)
	}
	return r.report(ctx, flows.Report{News: event.BookmarkAdded{ID: id}})
}

func (r *run) addBookmark(ctx context.Context, k state.Kickoff, at state.Posting) (id string, err error) {
	link, err := r.chat.Permalink(ctx, at)
	if err != nil {
		return "", err
	}
	err = r.attempt(ctx, fmt.Sprintf("bookmark/adding/%d", r.Version), func(time.Time) (bool, error) {
		id, err = r.chat.FindBookmark(ctx, at.Channel, link)
		return id != "", err
	}, func() error {
		id, err = r.chat.AddBookmark(ctx, at.Channel, report.BookmarkTitle(k), link)
		return err
	})
	return id, err
}

// unbookmark takes the link out again. One that cannot be removed does no harm.
func (r *run) unbookmark(ctx context.Context, k state.Kickoff) error {
	if k.Extras.Bookmark == "" {
		return nil
	}
	err := r.chat.RemoveBookmark(ctx, k.Channel, k.Extras.Bookmark)
	if faultOf(err) != "" {
		r.Logger.Info("a bookmark was not removed", "kickoff", k.ID, "error", err)
		return nil
	}
	if err != nil {
		return err
	}
	return r.report(ctx, flows.Report{News: event.BookmarkRemoved{}})
}

// missed notes that an extra cannot be had. Every other error is handed back.
func (r *run) missed(ctx context.Context, what state.Extra, err error) error {
	fault := faultOf(err)
	if fault == "" {
		return err
	}
	r.Logger.Info("an extra cannot be had", "kickoff", r.Key.Kickoff, "extra", what, "error", err)
	return r.report(ctx, flows.Report{News: event.ExtraMissed{What: what, Why: fault}})
}

// inspect notes who reads the channel, and whether it has a canvas.
func (r *run) inspect(ctx context.Context, channel string) error {
	seen, err := r.chat.Inspect(ctx, channel)
	if err != nil || !seen.Member { // from outside nothing of it is seen
		return err
	}
	return r.report(ctx, flows.Report{News: event.ChannelSeen{Outside: seen.Outside, Canvas: seen.Canvas}})
}

// faults are the answers for which the platform does not let us have an extra;
// those without one may pass. Source: the platform's pages on the methods.
var faults = map[string]state.Fault{
	"internal_error": "", "fatal_error": "", "request_timeout": "", "service_unavailable": "", "ratelimited": "",
	"team_added_to_org": "", "org_login_required": "",
	"missing_scope": state.FaultScope, "not_allowed_token_type": state.FaultScope,
	"canvas_disabled_user_team": state.FaultOff, "canvas_disabled_file_team": state.FaultOff, "canvas_globally_disabled": state.FaultOff,
	"feature_not_enabled": state.FaultOff, "not_implemented": state.FaultOff,
	"team_tier_cannot_create_channel_canvases": state.FaultPlan, "free_teams_cannot_create_non_tabbed_canvases": state.FaultPlan,
	"free_teams_cannot_create_standalone_canvases": state.FaultPlan, "free_teams_cannot_edit_standalone_canvases": state.FaultPlan,
	"free_team_canvas_tab_already_exists": state.FaultTaken, "channel_canvas_already_exists": state.FaultTaken,
	"too_many_bookmarks": state.FaultFull, "too_many_tabs": state.FaultFull,
	"restricted_action": state.FaultBarred, "access_denied": state.FaultBarred, "permission_denied": state.FaultBarred,
	"no_permission": state.FaultBarred, "ekm_access_denied": state.FaultBarred, "enterprise_is_restricted": state.FaultBarred,
	"team_access_not_granted": state.FaultBarred,
}

// faultOf is why the platform does not let us have an extra. It is empty where
// that may pass, or where it lets us do nothing at all: neither is worth a word
// to the lead.
func faultOf(err error) state.Fault {
	answer := chat.Answer(err)
	fault, known := faults[answer]
	if answer == "" || known || errors.Is(err, chat.ErrForbidden) {
		return fault
	}
	return state.FaultRefused
}
