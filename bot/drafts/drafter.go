// Package drafts is what the way in and the way out share about drafts: the
// [Drafter] that asks a model, the [Order] that waits for its answer, and what
// is ever sent of a kickoff ([InputOf]). Pressing the buttons is for package
// incoming, working on an order for package outgoing.
package drafts

import (
	"context"

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

// Terms say where drafts would come from; the zero Terms that there are none.
func Terms(d Drafter) screens.Terms {
	if d == nil {
		return screens.Terms{}
	}
	return screens.Terms{Host: d.Host(), Model: d.Model()}
}

// TermsFor say as well what a request for drafts would send.
func TermsFor(d Drafter, k flows.Kickoff, what, about string) screens.Terms {
	terms := Terms(d)
	if d != nil {
		terms.Request = d.Request(InputOf(k, what, about))
	}
	return terms
}
