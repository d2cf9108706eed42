package outgoing

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/jobs"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/prompts"
)

// draftLife is how long an order is worth working on: after that nobody looks
// at the form any more.
const draftLife = 5 * time.Minute

// draftsAtOnce is how many models a process asks at a time. Each may take a
// minute, and whatever hangs there must not hold up everything else.
const draftsAtOnce = 2

// errNoPlace says that an order has to wait for others.
var errNoPlace = errors.New("as many drafts as may be are in hand")

// placePause is after how long an order asks again for a place.
const placePause = time.Second

// errNobodyWaits says that the form was closed in which drafts were to appear.
var errNobodyWaits = errors.New("the form is closed")

// draft works on one order: asks the model, and shows the outcome.
func (r *run) draft(ctx context.Context) error {
	if r.Draft == nil || r.Clock().Sub(r.At) > draftLife {
		r.Logger.Info("drafts were not shown: nobody waits for them any more", "kickoff", r.Key.Kickoff)
		return nil
	}
	k, err := r.load(ctx)
	if err != nil {
		return err
	}
	first := !r.Draft.Asked()
	if first && flows.DraftUseful(&k, r.Draft.Kind(), r.Draft.About, r.Draft.Who) { // the model is not asked for nothing
		select {
		case r.drafting <- struct{}{}:
		default:
			return jobs.Retry(errNoPlace, placePause)
		}
		err := r.askModel(ctx, k)
		<-r.drafting
		if errors.Is(err, errNobodyWaits) {
			return nil
		}
		if err != nil {
			return err
		}
	}
	err = r.showDrafts(ctx, k)
	if err == nil || !first || !r.Draft.Asked() {
		return advice(err)
	}
	pause := ackTime
	if limited, is := errors.AsType[*chat.RateLimited](err); is {
		pause = limited.Wait
	}
	// The model is not asked again because the platform failed.
	return r.Queue.enqueue(ctx, jobDraft, fmt.Sprintf("%s/%d", r.Draft.View, r.At.UnixNano()), r.Clock().Add(pause), r.payload)
}

// askModel puts the outcome into the order. An error means that nobody waits for
// it any more, or that the process is stopping: somebody else has to ask.
func (r *run) askModel(ctx context.Context, k state.Kickoff) error {
	texts, usage, err := []string(nil), prompts.Usage{}, prompts.ErrOff
	what := r.Draft.Kind()
	if r.Drafter != nil {
		in := drafts.InputOf(k, what, r.Draft.About)
		in.Avoid = screen.Args{Drafts: r.Draft.Offered}.Offered()
		asking, stop := context.WithCancelCause(ctx)
		var watch sync.WaitGroup
		watch.Go(func() { r.watchForm(asking, stop) })
		texts, usage, err = r.Drafter.Draft(asking, in)
		stop(nil)
		watch.Wait()
		if err != nil && errors.Is(context.Cause(asking), errNobodyWaits) {
			r.Metrics.Drafted(what, usage, err)
			return errNobodyWaits
		}
	}
	if gone := ctx.Err(); gone != nil {
		return fmt.Errorf("ask for drafts: %w", gone)
	}
	r.Metrics.Drafted(what, usage, err)
	if err != nil {
		r.Logger.Info("no drafts came", "kickoff", k.ID, "what", what, "error", err)
		r.Draft.Why = prompts.Explain(what, err)
		return nil
	}
	r.Draft.Drafts = texts
	return nil
}

// lookPause is how often it is looked whether the form is still open. The platform
// says so only of forms that ask for it, and to any process; this asks where the
// model is waited for, and most drafts come sooner.
const lookPause = 5 * time.Second

// watchForm ends the waiting for a model when the form is closed in which its
// drafts would appear.
func (r *run) watchForm(ctx context.Context, stop context.CancelCauseFunc) {
	tick := time.NewTicker(lookPause)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if err := r.chat.UpdateView(ctx, r.Draft.View, screens.Drafting()); chat.Refused(err, "not_found") {
			r.Logger.Info("a model is not waited for any more: the form is closed", "kickoff", r.Key.Kickoff)
			stop(errNobodyWaits)
			return
		}
	}
}

// showDrafts shows the outcome in the form that waits for it. One that was
// closed meanwhile waits no longer.
func (r *run) showDrafts(ctx context.Context, k state.Kickoff) error {
	view, err := r.draftView(k)
	if err == nil {
		err = r.chat.UpdateView(ctx, r.Draft.View, view)
	}
	if chat.Refused(err, "not_found") {
		return nil
	}
	return err
}

func (r *run) draftView(k state.Kickoff) (slack.ModalViewRequest, error) {
	o := r.Draft
	p := screen.Page{Kickoff: k, Viewer: o.Who, Now: r.Clock(), Drafting: drafts.Terms(r.Drafter),
		Args: screen.Args{Kickoff: k.ID, Assumption: o.About, Drafts: o.Offered}.WithDrafts(o.Drafts)}
	p.Drafting.Said = o.Why
	view, err := screens.ShowDrafts(o.Kind(), p)
	if refused, is := errors.AsType[*flows.Refusal](err); is { // it closed or was withdrawn meanwhile, or whoever asked has handed over
		return screens.Notice("No drafts any more", refused.Reason), nil
	}
	if err != nil {
		return view, jobs.Drop(err)
	}
	return view, nil
}
