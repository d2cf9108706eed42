package bot

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/jobs"
	"soundings/bot/screens"
	"soundings/flows"
	"soundings/prompts"
)

// A Drafter drafts wordings. *prompts.Client is one. Each draft has to end by
// itself within a minute, and its error is one for prompts.Explain.
type Drafter interface {
	Host() string
	Model() string

	// Request shows to the letter what a draft from this input would send.
	Request(in prompts.Input) string

	// Draft gives the texts of a draft, or none and an error.
	Draft(ctx context.Context, in prompts.Input) ([]string, prompts.Usage, error)
}

// jobDraft asks the model and shows what it answers to whoever asked. No
// request of the platform waits for it, and no stage does.
const jobDraft = "draft"

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

// terms say where drafts would come from; the zero Terms that there are none.
func (b *Bot) terms() screens.Terms {
	if b.Drafter == nil {
		return screens.Terms{}
	}
	return screens.Terms{Host: b.Drafter.Host(), Model: b.Drafter.Model()}
}

// draftTerms says as well what a request for drafts would send.
func (b *Bot) draftTerms(k flows.Kickoff, what, about string) screens.Terms {
	terms := b.terms()
	if b.Drafter != nil {
		terms.Request = b.Drafter.Request(inputOf(k, what, about))
	}
	return terms
}

// pressedDrafting handles the buttons of drafting.
func (b *Bot) pressedDrafting(ctx context.Context, in Interaction, name, args string) error {
	what, _, _ := strings.Cut(name, "/") // of several gists, which
	switch what {
	case flows.DraftLadder, flows.DraftPlainer, flows.DraftSplit, flows.DraftGist:
		return b.previewDrafts(ctx, in, what, args)
	case "others":
		return b.otherDrafts(ctx, in, args)
	case "halves", "typed":
		return b.draftTyped(ctx, in, what, args)
	}
	return fmt.Errorf("%w: drafting %q", errUnreadable, name)
}

// previewDrafts shows somebody what would be sent.
func (b *Bot) previewDrafts(ctx context.Context, in Interaction, what, args string) error {
	v, err := b.visit(ctx, in, args)
	if err != nil {
		return b.told(ctx, v, err)
	}
	v.page.Drafting = b.draftTerms(v.page.Kickoff, what, v.page.Args.Assumption)
	view, err := screens.Open("draft."+what, v.page)
	if err != nil {
		return b.told(ctx, v, err)
	}
	return b.present(ctx, v, view)
}

// draftTyped goes on from an assumption that stands in a form and is not on
// the list yet: by hand, or from the list, onto which it comes first.
func (b *Bot) draftTyped(ctx context.Context, in Interaction, what, args string) error {
	v, err := b.visit(ctx, in, args)
	if err != nil {
		return b.told(ctx, v, err)
	}
	var view slack.ModalViewRequest
	if what == "halves" {
		view, err = screens.Halves(v.page, values(in))
	} else if v.page, err = b.addTyped(ctx, v, values(in)); err == nil {
		view, err = screens.Open("draft.split", v.page)
	}
	if err != nil {
		return b.told(ctx, v, err)
	}
	return b.Chat.UpdateView(ctx, in.View.ID, "", view)
}

// addTyped puts what stands in the form onto the list, and returns the page
// about it.
func (b *Bot) addTyped(ctx context.Context, v visit, typed screens.Values) (screens.Page, error) {
	add := screens.Typed(v.page, typed)
	if err := b.do(ctx, v.key, add, v.delivery); err != nil {
		return v.page, err
	}
	k, err := b.load(ctx, v.key)
	if err != nil {
		return v.page, err
	}
	v.page.Kickoff = k
	for _, a := range slices.Backward(k.Listed()) {
		if a.By == add.Who && a.Text == add.Text && a.Because == add.Because {
			v.page.Args.Assumption = a.ID
			break
		}
	}
	v.page.Drafting = b.draftTerms(k, flows.DraftSplit, v.page.Args.Assumption)
	return v.page, nil
}

// otherDrafts asks once more, from the form that shows drafts or says that
// there are none. The button says for what, the form what was offered.
func (b *Bot) otherDrafts(ctx context.Context, in Interaction, args string) error {
	v, err := b.visit(ctx, in, in.View.PrivateMetadata)
	if err != nil {
		return b.told(ctx, v, err)
	}
	pressed, err := screens.ParseArgs(args)
	if err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	ask := flows.AskFor(cmp.Or(pressed.Choice, flows.DraftLadder), pressed.Assumption, v.page.Viewer)
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
	var what, about string
	switch in := in.(type) {
	case flows.AskDraft:
		what, about = in.What, in.Assumption
	case flows.AskBeliefDraft:
		what, about = in.What, in.Assumption
	default:
		return nil
	}
	now := b.Clock()
	order := draftOrder{Who: v.page.Viewer, View: view, What: what, About: about}
	if what == flows.DraftLadder {
		order.Offered = v.page.Args.Drafts
	}
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
	if first && k.DraftUseful(w.Draft.what(), w.Draft.About, w.Draft.Who) { // the model is not asked for nothing
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
	drafts, usage, err := []string(nil), prompts.Usage{}, prompts.ErrOff
	what := w.Draft.what()
	if b.Drafter != nil {
		in := inputOf(k, what, w.Draft.About)
		in.Avoid = screens.Args{Drafts: w.Draft.Offered}.Offered()
		drafts, usage, err = b.Drafter.Draft(ctx, in)
	}
	if gone := ctx.Err(); gone != nil {
		return fmt.Errorf("ask for drafts: %w", gone)
	}
	b.Metrics.drafted(what, usage, err)
	if err != nil {
		b.Logger.Info("no drafts came", "kickoff", k.ID, "what", what, "error", err)
		w.Draft.Why = prompts.Explain(what, err)
		return nil
	}
	w.Draft.Drafts = drafts
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
	o := w.Draft
	p := screens.Page{Kickoff: k, Viewer: o.Who, Now: b.Clock(), Drafting: b.terms(),
		Args: screens.Args{Kickoff: k.ID, Assumption: o.About, Drafts: o.Offered}.WithDrafts(o.Drafts)}
	p.Drafting.Said = o.Why
	view, err := screens.ShowDrafts(o.what(), p)
	var refused *flows.Refusal
	if errors.As(err, &refused) { // it closed or was withdrawn meanwhile, or whoever asked has handed over
		return screens.Notice("No drafts any more", refused.Reason), nil
	}
	if err != nil {
		return view, jobs.Drop(err)
	}
	return view, nil
}
