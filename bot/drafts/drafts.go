// Package drafts is what the way in and the way out share about drafts: the
// [Drafter] that asks a model, the [Order] that waits for its answer, and what
// is ever sent of a kickoff ([InputOf]). Pressing the buttons is for package
// incoming, working on an order for package outgoing.
package drafts

import (
	"cmp"
	"context"

	"soundings/bot/screens/screen"
	"soundings/flows/state"
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

// Terms say where drafts would come from; the zero Terms that there are none.
func Terms(d Drafter) screen.Terms {
	if d == nil {
		return screen.Terms{}
	}
	return screen.Terms{Host: d.Host(), Model: d.Model()}
}

// TermsFor say as well what a request for drafts would send.
func TermsFor(d Drafter, k state.Kickoff, what, about string) screen.Terms {
	terms := Terms(d)
	if d != nil {
		terms.Request = d.Request(InputOf(k, what, about))
	}
	return terms
}

// An Order is who waits for drafts, of what, and where.
type Order struct {
	Who     state.UserID
	View    string // the form that is open before them
	What    string `json:",omitempty"` // what is drafted; empty for the ladder
	About   string `json:",omitempty"` // the assumption that it is about
	Offered string `json:",omitempty"` // earlier drafts, as they travel with the form

	// The outcome, once the model was asked: it is asked once for each order.
	Drafts []string `json:",omitempty"`
	Why    string   `json:",omitempty"` // there are none
}

// Asked reports whether the model was asked.
func (o Order) Asked() bool { return len(o.Drafts) > 0 || o.Why != "" }

// Kind is what is drafted.
func (o Order) Kind() string { return cmp.Or(o.What, state.DraftLadder) }

// InputOf is all that is ever sent of a kickoff.
func InputOf(k state.Kickoff, what, about string) prompts.Input {
	if what == state.DraftLadder {
		return prompts.Input{Kind: what, Problem: k.Brief.Problem, WhyNow: k.Brief.Why}
	}
	a, _ := k.Assumption(about)
	in := prompts.Input{Kind: what, Assumption: a.Text}
	if what == state.DraftGist {
		in.Reasons = k.UnsignedReasons(about)
		for _, person := range k.People {
			in.Names = append(in.Names, person.Name)
		}
	}
	return in
}
