package bot

import (
	"context"

	"soundings/bot/screens"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/prompts"
)

// A draftOrder is who waits for drafts, of what, and where.
type draftOrder struct {
	Who     flows.UserID
	View    string // the form that is open before them
	What    string `json:",omitempty"` // what is drafted; empty for the ladder
	About   string `json:",omitempty"` // the assumption that it is about
	Offered string `json:",omitempty"` // earlier drafts, as they travel with the form

	// The outcome, once the model was asked: it is asked once for each order.
	Drafts []string `json:",omitempty"`
	Why    string   `json:",omitempty"` // there are none
}

func (o draftOrder) asked() bool { return len(o.Drafts) > 0 || o.Why != "" }

// what is drafted.
func (o draftOrder) what() string {
	if o.What == "" {
		return flows.DraftLadder
	}
	return o.What
}

// form is the one that shows what came.
func (o draftOrder) form() string {
	if o.what() == flows.DraftLadder {
		return "draft.use"
	}
	return "draft." + o.what() + ".use"
}

// stage is the one in which what comes is of use.
func (o draftOrder) stage() flows.Stage {
	switch o.what() {
	case flows.DraftPlainer, flows.DraftSplit:
		return flows.StageAssumptions
	case flows.DraftGist:
		return flows.StageRating
	}
	return flows.StageFraming
}

// timely reports whether a draft could still be used. The model is not asked
// for nothing.
func (o draftOrder) timely(k flows.Kickoff) bool {
	switch o.what() {
	case flows.DraftPlainer, flows.DraftSplit:
		return k.Changeable(o.About, o.Who)
	case flows.DraftGist:
		return k.Stage != flows.StageEnded
	}
	return k.Stage == flows.StageFraming && k.Window.Phase == flows.PhaseOpen
}

// asks counts the requests of this kind, so that the fields of one form are
// not those of another.
func (o draftOrder) asks(k flows.Kickoff) int {
	switch o.what() {
	case flows.DraftPlainer, flows.DraftSplit:
		return k.BeliefDrafts[o.Who]
	case flows.DraftGist:
		return k.GistDrafts
	}
	return k.Framing.Drafts
}

// ask asks the model.
func (o draftOrder) ask(ctx context.Context, d Drafter, k flows.Kickoff) (drafts []string, usage prompts.Usage, err error) {
	one := func(text string, usage prompts.Usage, err error) ([]string, prompts.Usage, error) {
		return []string{text}, usage, err
	}
	switch in := inputOf(k, o.what(), o.About).(type) {
	case prompts.PlainerInput:
		return one(d.Plainer(ctx, in))
	case prompts.SplitInput:
		return d.Split(ctx, in)
	case prompts.GistInput:
		return one(d.Gist(ctx, in))
	case prompts.LadderInput:
		in.Avoid = screens.Args{Drafts: o.Offered}.Offered()
		var four []prompts.Draft
		four, usage, err = d.Ladder(ctx, in)
		for _, draft := range four {
			drafts = append(drafts, draft.Text)
		}
	}
	return drafts, usage, err
}

// explain says why there is no draft, with the way by hand that stands below.
func (o draftOrder) explain(err error) string {
	if o.what() == flows.DraftLadder {
		return prompts.Explain(err)
	}
	return prompts.ExplainText(err)
}

// inputOf is all that is ever sent of a kickoff.
func inputOf(k flows.Kickoff, what, about string) prompts.Input {
	a, _ := k.Assumption(about)
	switch what {
	case flows.DraftPlainer:
		return prompts.PlainerInput{Assumption: a.Text}
	case flows.DraftSplit:
		return prompts.SplitInput{Assumption: a.Text, IsTwo: func(text string) bool { return len(hints.Halves(text)) > 0 }}
	case flows.DraftGist:
		in := prompts.GistInput{Assumption: a.Text, Reasons: k.UnsignedReasons(about)}
		for _, person := range k.People {
			in.Names = append(in.Names, person.Name)
		}
		return in
	}
	return prompts.LadderInput{Problem: k.Brief.Problem, WhyNow: k.Brief.Why}
}

// askFor is the intent to ask for drafts; askedFor reads it.
func askFor(what, about string, who flows.UserID) flows.Intent {
	switch what {
	case flows.DraftPlainer, flows.DraftSplit:
		return flows.AskBeliefDraft{By: flows.By{Who: who}, What: what, Assumption: about}
	case flows.DraftGist:
		return flows.AskGist{ByLead: flows.ByLead{Who: who}, Assumption: about}
	}
	return flows.AskDrafts{ByLead: flows.ByLead{Who: who}, What: flows.DraftLadder}
}

func askedFor(in flows.Intent) (what, about string) {
	switch in := in.(type) {
	case flows.AskDrafts:
		return in.What, ""
	case flows.AskBeliefDraft:
		return in.What, in.Assumption
	case flows.AskGist:
		return flows.DraftGist, in.Assumption
	}
	return "", ""
}
