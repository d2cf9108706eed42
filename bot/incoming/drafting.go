package incoming

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/drafts"
	"soundings/bot/kickoffs"
	"soundings/bot/screens"
	"soundings/flows"
)

// pressedDrafting handles the buttons of drafting.
func (in interaction) pressedDrafting(ctx context.Context, name, args string) error {
	what, _, _ := strings.Cut(name, "/") // of several gists, which
	switch what {
	case flows.DraftLadder, flows.DraftPlainer, flows.DraftSplit, flows.DraftGist:
		return in.previewDrafts(ctx, what, args)
	case "others":
		return in.otherDrafts(ctx, args)
	case "halves", "typed":
		return in.draftTyped(ctx, what, args)
	}
	return fmt.Errorf("%w: drafting %q", errUnreadable, name)
}

// previewDrafts shows somebody what would be sent.
func (in interaction) previewDrafts(ctx context.Context, what, args string) error {
	r, err := in.request(ctx, args)
	if err != nil {
		return r.tell(ctx, err)
	}
	r.page.Drafting = drafts.TermsFor(in.Drafter, r.page.Kickoff, what, r.page.Args.Assumption)
	view, err := screens.Open("draft."+what, r.page)
	if err != nil {
		return r.tell(ctx, err)
	}
	return r.present(ctx, view)
}

// draftTyped goes on from an assumption that stands in a form and is not on
// the list yet: by hand, or from the list, onto which it comes first.
func (in interaction) draftTyped(ctx context.Context, what, args string) error {
	r, err := in.request(ctx, args)
	if err != nil {
		return r.tell(ctx, err)
	}
	var view slack.ModalViewRequest
	if what == "halves" {
		view, err = screens.Halves(r.page, in.values())
	} else if err = r.addTyped(ctx, in.values()); err == nil {
		view, err = screens.Open("draft.split", r.page)
	}
	if err != nil {
		return r.tell(ctx, err)
	}
	return in.chat.UpdateView(ctx, in.View.ID, "", view)
}

// addTyped puts what stands in the form onto the list, and turns to the page
// about it.
func (r *request) addTyped(ctx context.Context, typed block.Values) error {
	add := screens.Typed(r.page, typed)
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
	r.page.Drafting = drafts.TermsFor(r.Drafter, k, flows.DraftSplit, r.page.Args.Assumption)
	return nil
}

// otherDrafts asks once more, from the form that shows drafts or says that
// there are none. The button says for what, the form what was offered.
func (in interaction) otherDrafts(ctx context.Context, args string) error {
	r, err := in.request(ctx, in.View.PrivateMetadata)
	if err != nil {
		return r.tell(ctx, err)
	}
	pressed, err := screens.ParseArgs(args)
	if err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	ask := flows.AskDraft{By: flows.By{Who: r.page.Viewer}, What: cmp.Or(pressed.Choice, flows.DraftLadder), Assumption: pressed.Assumption}
	if err := in.Kickoffs.Do(ctx, r.key, ask, kickoffs.Origin{Delivery: r.delivery}); err != nil {
		return r.tell(ctx, err)
	}
	if err := in.chat.UpdateView(ctx, in.View.ID, "", screens.Drafting()); err != nil {
		in.Logger.Info("a form does not say that drafts were asked for", "kickoff", r.key.Kickoff, "error", err)
	}
	return r.orderDrafts(ctx, in.View.ID, ask)
}

// orderDrafts sees that a model is asked, where that is what was wanted.
func (r *request) orderDrafts(ctx context.Context, view string, in flows.Intent) error {
	ask, drafting := in.(flows.AskDraft)
	if !drafting {
		return nil
	}
	order := drafts.Order{Who: r.page.Viewer, View: view, What: ask.What, About: ask.Assumption}
	if ask.What == flows.DraftLadder {
		order.Offered = r.page.Args.Drafts
	}
	return r.Orders.Draft(ctx, r.key, r.delivery, order)
}
