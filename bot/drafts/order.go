package drafts

import (
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/prompts"
)

// An Order is who waits for drafts, of what, and where.
type Order struct {
	Who     flows.UserID
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
func (o Order) Kind() string {
	if o.What == "" {
		return flows.DraftLadder
	}
	return o.What
}

// InputOf is all that is ever sent of a kickoff.
func InputOf(k flows.Kickoff, what, about string) prompts.Input {
	if what == flows.DraftLadder {
		return prompts.Input{Kind: what, Problem: k.Brief.Problem, WhyNow: k.Brief.Why}
	}
	a, _ := k.Assumption(about)
	in := prompts.Input{Kind: what, Assumption: a.Text}
	switch what {
	case flows.DraftSplit:
		in.IsTwo = func(text string) bool { return len(hints.Halves(text)) > 0 }
	case flows.DraftGist:
		in.Reasons = k.UnsignedReasons(about)
		for _, person := range k.People {
			in.Names = append(in.Names, person.Name)
		}
	}
	return in
}
