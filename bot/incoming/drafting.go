package incoming

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/drafts"
	"soundings/bot/kickoffs"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// pressedDrafting handles the buttons of drafting.
func (r *request) pressedDrafting(ctx context.Context, name string) error {
	what, _, _ := strings.Cut(name, "/") // of several gists, which
	switch what {
	case state.DraftLadder, state.DraftPlainer, state.DraftSplit, state.DraftGist: // shows what would be sent
		r.page.Drafting = drafts.TermsFor(r.Drafter, r.page.Kickoff, what, r.page.Args.Assumption)
		return r.open(ctx, "draft."+what)
	case "others":
		return r.otherDrafts(ctx)
	case "halves", "typed":
		return r.draftTyped(ctx, what)
	}
	return fmt.Errorf("%w: drafting %q", errUnreadable, name)
}

// draftTyped goes on from an assumption that stands in a form and is not on
// the list yet: by hand, or from the list, onto which it comes first.
func (r *request) draftTyped(ctx context.Context, what string) (err error) {
	var view slack.ModalViewRequest
	if what == "halves" {
		view, err = screens.Halves(r.page, r.View.values)
	} else if err = r.addTyped(ctx); err == nil {
		view, err = screens.Open("draft.split", r.page)
	}
	if err != nil {
		return err
	}
	return r.chat.UpdateView(ctx, r.View.ID, view)
}

// addTyped puts what stands in the form onto the list, and turns to the page
// about it.
func (r *request) addTyped(ctx context.Context) error {
	add := screens.Typed(r.page, r.View.values)
	if err := r.Kickoffs.Do(ctx, r.key, add, kickoffs.Origin{Delivery: r.delivery}); err != nil {
		return err
	}
	k, err := r.Kickoffs.Load(ctx, r.key)
	if err != nil {
		return err
	}
	r.page.Kickoff = k
	for _, a := range slices.Backward(k.Listed()) {
		if a.By == add.Who && a.Text == add.Text && a.Because == add.Because {
			r.page.Args.Assumption = a.ID
			break
		}
	}
	r.page.Drafting = drafts.TermsFor(r.Drafter, k, state.DraftSplit, r.page.Args.Assumption)
	return nil
}

// otherDrafts asks once more, from the form that shows drafts or says that
// there are none. The button says for what, the form what was offered.
func (r *request) otherDrafts(ctx context.Context) error {
	pressed := r.page.Args
	form, err := screen.ParseArgs(r.View.PrivateMetadata)
	if err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	r.page.Args = form
	ask := flows.AskDraft{By: flows.By{Who: r.page.Viewer}, What: cmp.Or(pressed.Choice, state.DraftLadder), Assumption: pressed.Assumption}
	if err := r.Kickoffs.Do(ctx, r.key, ask, kickoffs.Origin{Delivery: r.delivery}); err != nil {
		return err
	}
	if err := r.chat.UpdateView(ctx, r.View.ID, screens.Drafting()); err != nil {
		r.Logger.Info("a form does not say that drafts were asked for", "kickoff", r.key.Kickoff, "error", err)
	}
	return r.orderDrafts(ctx, ask)
}

// orderDrafts sees that a model is asked, where that is what was wanted.
func (r *request) orderDrafts(ctx context.Context, in flows.Intent) error {
	ask, drafting := in.(flows.AskDraft)
	if !drafting {
		return nil
	}
	order := drafts.Order{Who: r.page.Viewer, View: r.View.ID, What: ask.What, About: ask.Assumption}
	if ask.What == state.DraftLadder {
		order.Offered = r.page.Args.Drafts
	}
	return r.Orders.Draft(ctx, r.key, r.delivery, order)
}
