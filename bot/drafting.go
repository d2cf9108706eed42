package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/jobs"
	"soundings/bot/screens"
	"soundings/flows"
	"soundings/prompts"
)

// A Drafter drafts wordings for the ladder. *prompts.Client is one.
type Drafter interface {
	Host() string
	Model() string

	// Request shows to the letter what a draft from this input would send.
	Request(in prompts.Input) string

	// Ladder gives drafts for the levels +2, +1, -1 and -2, or none and an
	// error for prompts.Explain. It has to end by itself within a minute.
	Ladder(ctx context.Context, in prompts.LadderInput) ([]prompts.Draft, prompts.Usage, error)
}

// jobDraft asks the model and shows what it answers to the lead who asked. No
// request of the platform waits for it, and no stage does.
const jobDraft = "draft"

// A draftOrder is who waits for drafts, and where.
type draftOrder struct {
	Who     flows.UserID
	View    string // the form that is open before them
	Offered string `json:",omitempty"` // earlier drafts, as they travel with the form

	// The outcome, once the model was asked: it is asked once for each order.
	Drafts []string `json:",omitempty"`
	Why    string   `json:",omitempty"` // there are none
}

func (o draftOrder) asked() bool { return len(o.Drafts) > 0 || o.Why != "" }

// draftLife is how long an order is worth working on: after that nobody looks
// at the form any more.
const draftLife = 5 * time.Minute

// ackTime is what the platform is given to draw the answer to a form before
// that answer may be replaced.
const ackTime = time.Second

// offerDrafting adds the button for drafts to a lead's desk.
func (b *Bot) offerDrafting(m screens.Posting, k flows.Kickoff, slot flows.Slot) screens.Posting {
	if b.Drafter == nil || slot.Screen != flows.ScreenDesk {
		return m
	}
	return screens.OfferDrafting(m, k, slot.To)
}

// draftTerms says what a request for drafts would send, and where to.
func (b *Bot) draftTerms(k flows.Kickoff) screens.Terms {
	if b.Drafter == nil {
		return screens.Terms{}
	}
	return screens.Terms{Host: b.Drafter.Host(), Model: b.Drafter.Model(), Request: b.Drafter.Request(ladderOf(k, nil))}
}

// ladderOf is all that is ever sent of a kickoff.
func ladderOf(k flows.Kickoff, avoid []string) prompts.LadderInput {
	return prompts.LadderInput{Problem: k.Brief.Problem, WhyNow: k.Brief.Why, Avoid: avoid}
}

// pressedDrafting handles the buttons of drafting.
func (b *Bot) pressedDrafting(ctx context.Context, in Interaction, name, args string) error {
	switch name {
	case "ladder":
		return b.previewDrafts(ctx, in, args)
	case "others":
		return b.otherDrafts(ctx, in)
	}
	return fmt.Errorf("%w: drafting %q", errUnreadable, name)
}

// previewDrafts shows a lead what would be sent.
func (b *Bot) previewDrafts(ctx context.Context, in Interaction, args string) error {
	v, err := b.visit(ctx, in, args)
	if err != nil {
		return b.told(ctx, v, err)
	}
	v.page.Drafting = b.draftTerms(v.page.Kickoff)
	view, err := screens.Open("draft.ladder", v.page)
	if err != nil {
		return b.told(ctx, v, err)
	}
	return b.present(ctx, v, view)
}

// otherDrafts asks once more, from the form that shows drafts or says that
// there are none.
func (b *Bot) otherDrafts(ctx context.Context, in Interaction) error {
	v, err := b.visit(ctx, in, in.View.PrivateMetadata)
	if err != nil {
		return b.told(ctx, v, err)
	}
	ask := flows.AskDrafts{ByLead: flows.ByLead{Who: v.page.Viewer}, What: flows.DraftLadder}
	if err := b.do(ctx, v.key, ask, v.delivery); err != nil {
		return b.told(ctx, v, err)
	}
	if err := b.Chat.UpdateView(ctx, in.View.ID, "", screens.Drafting()); err != nil {
		b.Logger.Info("a form does not say that drafts were asked for", "kickoff", v.key.Kickoff, "error", err)
	}
	return b.orderDrafts(ctx, v, in.View.ID, ask)
}

// orderDrafts sees that a model is asked, where that is what was wanted.
func (b *Bot) orderDrafts(ctx context.Context, v visit, view string, in flows.Intent) error {
	if _, ok := in.(flows.AskDrafts); !ok {
		return nil
	}
	now := b.Clock()
	order := draftOrder{Who: v.page.Viewer, View: view, Offered: v.page.Args.Drafts}
	return b.Queue.Enqueue(ctx, jobOf(jobDraft, v.delivery, now.Add(ackTime), work{Key: v.key, At: now, Draft: &order}))
}

// draft works on one order: asks the model, and shows the outcome.
func (b *Bot) draft(ctx context.Context, w work) error {
	if w.Draft == nil || b.Clock().Sub(w.At) > draftLife {
		b.Logger.Info("drafts were not shown: nobody waits for them any more", "kickoff", w.Key.Kickoff)
		return nil
	}
	k, err := b.load(ctx, w.Key)
	if err != nil {
		return err
	}
	first := !w.Draft.asked()
	if first && takesWordings(k) {
		if err := b.askModel(ctx, k, w); err != nil {
			return err
		}
	}
	err = b.showDrafts(ctx, k, w)
	if err == nil || !first || !w.Draft.asked() {
		return b.retrying(err)
	}
	// The model is not asked again because the platform failed.
	return b.Queue.Enqueue(ctx, jobOf(jobDraft, w.Draft.View+"/"+fmt.Sprint(w.At.UnixNano()), b.Clock().Add(pauseOf(err)), w))
}

func takesWordings(k flows.Kickoff) bool {
	return k.Stage == flows.StageFraming && k.Window.Phase == flows.PhaseOpen
}

// pauseOf is how long to wait after an error of the platform.
func pauseOf(err error) time.Duration {
	var limited *RateLimited
	if errors.As(err, &limited) {
		return limited.Wait
	}
	return ackTime
}

// askModel puts the outcome into the order. An error means that the process
// is stopping: somebody else has to ask.
func (b *Bot) askModel(ctx context.Context, k flows.Kickoff, w work) error {
	drafts, usage, err := []prompts.Draft(nil), prompts.Usage{}, prompts.ErrOff
	if b.Drafter != nil {
		offered := screens.Args{Drafts: w.Draft.Offered}.Offered()
		drafts, usage, err = b.Drafter.Ladder(ctx, ladderOf(k, offered))
	}
	if gone := ctx.Err(); gone != nil {
		return fmt.Errorf("ask for drafts: %w", gone)
	}
	b.Metrics.drafted(usage, err)
	if err != nil {
		b.Logger.Info("no drafts came", "kickoff", k.ID, "error", err)
		w.Draft.Why = prompts.Explain(err)
		return nil
	}
	for _, d := range drafts {
		w.Draft.Drafts = append(w.Draft.Drafts, d.Text)
	}
	return nil
}

// showDrafts shows the outcome in the form that waits for it. One that was
// closed meanwhile waits no longer.
func (b *Bot) showDrafts(ctx context.Context, k flows.Kickoff, w work) error {
	view, err := b.draftView(k, w)
	if err == nil {
		err = b.Chat.UpdateView(ctx, w.Draft.View, "", view)
	}
	var answer slack.SlackErrorResponse
	if errors.As(err, &answer) && answer.Err == "not_found" {
		return nil
	}
	return err
}

func (b *Bot) draftView(k flows.Kickoff, w work) (slack.ModalViewRequest, error) {
	p := screens.Page{Kickoff: k, Viewer: w.Draft.Who, Now: b.Clock(), Drafting: b.draftTerms(k),
		Args: screens.Args{Kickoff: k.ID, Stage: string(flows.StageFraming), N: k.Framing.Drafts, Drafts: w.Draft.Offered}}
	switch {
	case !takesWordings(k):
		return screens.DraftsTooLate(p), nil
	case w.Draft.Why != "" && w.Draft.Offered == "":
		return screens.NoDrafts(p, w.Draft.Why), nil
	}
	p.Drafting.Said = w.Draft.Why
	p.Args = p.Args.WithDrafts(w.Draft.Drafts)
	view, err := screens.Open("draft.use", p)
	var refused *flows.Refusal
	if errors.As(err, &refused) { // whoever asked has handed over meanwhile
		return screens.Notice("No drafts any more", refused.Reason), nil
	}
	if err != nil {
		return view, jobs.Drop(err)
	}
	return view, nil
}
