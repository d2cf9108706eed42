package outgoing

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/jobs"
	"soundings/bot/screens"
	"soundings/flows"
	"soundings/prompts"
)

// draftLife is how long an order is worth working on: after that nobody looks
// at the form any more.
const draftLife = 5 * time.Minute

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
	if first && k.DraftUseful(r.Draft.Kind(), r.Draft.About, r.Draft.Who) { // the model is not asked for nothing
		if err := r.askModel(ctx, k); err != nil {
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

// askModel puts the outcome into the order. An error means that the process
// is stopping: somebody else has to ask.
func (r *run) askModel(ctx context.Context, k flows.Kickoff) error {
	texts, usage, err := []string(nil), prompts.Usage{}, prompts.ErrOff
	what := r.Draft.Kind()
	if r.Drafter != nil {
		in := drafts.InputOf(k, what, r.Draft.About)
		in.Avoid = screens.Args{Drafts: r.Draft.Offered}.Offered()
		texts, usage, err = r.Drafter.Draft(ctx, in)
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

// showDrafts shows the outcome in the form that waits for it. One that was
// closed meanwhile waits no longer.
func (r *run) showDrafts(ctx context.Context, k flows.Kickoff) error {
	view, err := r.draftView(k)
	if err == nil {
		err = r.chat.UpdateView(ctx, r.Draft.View, view)
	}
	if chat.Refused(err, "not_found") {
		return nil
	}
	return err
}

func (r *run) draftView(k flows.Kickoff) (slack.ModalViewRequest, error) {
	o := r.Draft
	p := screens.Page{Kickoff: k, Viewer: o.Who, Now: r.Clock(), Drafting: drafts.Terms(r.Drafter),
		Args: screens.Args{Kickoff: k.ID, Assumption: o.About, Drafts: o.Offered}.WithDrafts(o.Drafts)}
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
