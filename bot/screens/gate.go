package screens

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

// Nobody should fill in a form for nothing: a form that could not be taken is
// refused as it opens. The rules are those of flows, which checks again.

// mayAnswer refuses a form of a stage that does not take answers now, and
// anybody who does not take part.
func mayAnswer(p Page, s flows.Stage) error {
	k := p.Kickoff
	if err := mayTakePart(p); err != nil {
		return err
	}
	if k.Stage == s && k.Window.Phase == flows.PhaseOpen {
		return nil
	}
	if before(k.Stage, s) {
		return refusal("“%s” has not opened yet. You will see a message in the channel when it does.", stageName(s))
	}
	return refusal("“%s” has closed, so there is nothing to fill in. If it matters, ask %s to reopen it.", stageName(s), words.LeadName(k))
}

// before reports whether a stage comes before another.
func before(s, other flows.Stage) bool {
	return slices.Index(flows.Stages(), s) < slices.Index(flows.Stages(), other)
}

// mayTakePart refuses whoever is not part of the kickoff, and everybody once it
// has ended.
func mayTakePart(p Page) error {
	switch {
	case !p.Kickoff.Takes(p.Viewer):
		return refusal("You are not part of this kickoff. Ask %s to add you.", words.LeadName(p.Kickoff))
	case p.Kickoff.Stage == flows.StageEnded:
		return refusal("This kickoff has ended, so nothing can be changed. Its summary stays in the channel.")
	}
	return nil
}

// mayLead refuses whoever does not lead.
func mayLead(p Page) error {
	if p.Kickoff.IsLead(p.Viewer) && p.Kickoff.Takes(p.Viewer) {
		return mayTakePart(p)
	}
	return refusal("Only the lead can do that. The lead is %s.", words.LeadName(p.Kickoff))
}

// answering, settles and both make what a form demands of whoever opens it.
func answering(s flows.Stage) func(Page) error {
	return func(p Page) error { return mayAnswer(p, s) }
}

func settles(s flows.Stage) func(Page) error {
	return both(mayLead, func(p Page) error {
		if p.Kickoff.Stage == s && p.Kickoff.Window.Phase == flows.PhaseSettling {
			return nil
		}
		return refusal("“%s” does not wait to be settled now.", stageName(s))
	})
}

func both(first, second func(Page) error) func(Page) error {
	return func(p Page) error { return cmp.Or(first(p), second(p)) }
}

func refusal(format string, args ...any) error {
	return &flows.Refusal{Reason: fmt.Sprintf(format, args...)}
}

// stageArgs travel with a button of a stage's message.
func stageArgs(p Page, s flows.Stage) Args {
	return Args{Kickoff: p.Kickoff.ID, Stage: string(s)}
}

// button is a button that opens a form ("open/<name>") or does something at
// once ("do/<name>").
func button(label, action string, args Args) *slack.ButtonBlockElement {
	return block.Button(label, action, args.String())
}

// hereButton is a button about the present stage, and round.
func hereButton(p Page, name, action string) *slack.ButtonBlockElement {
	k := p.Kickoff
	return button(name, action, Args{Kickoff: k.ID, Stage: string(k.Stage), Round: k.Window.Round})
}

// stillAt lets a button act only on the stage, or round, of which it spoke:
// pressed on an old message, it must not close what has opened since. flows
// then says that the stage has closed.
func stillAt(p Page, in flows.Intent) flows.Intent {
	if stillOf(p) {
		return in
	}
	return flows.Finish{By: by(p), Stage: flows.Stage(p.Args.Stage), Round: p.Args.Round}
}

// stillOf reports whether a button or form speaks of the present stage, or
// round.
func stillOf(p Page) bool {
	return p.Args.Stage == string(p.Kickoff.Stage) && p.Args.Round == p.Kickoff.Window.Round
}

// by is the viewer as somebody who takes part; byLead as somebody who leads.
func by(p Page) flows.By { return flows.By{Who: p.Viewer} }

func byLead(p Page) flows.ByLead { return flows.ByLead{Who: p.Viewer} }

// wants is the answer of a form that wants these things.
func wants(intents ...flows.Intent) (Answer, error) { return Answer{Intents: intents}, nil }

// faulty is the answer of a form with something amiss at one field.
func faulty(field, reason string) (Answer, error) {
	return Answer{Errors: map[string]string{field: reason}}, nil
}
