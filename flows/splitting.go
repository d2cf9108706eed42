package flows

import (
	"fmt"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// The number of beliefs that one assumption can be taken apart into. More
// than three are a list, which is better pasted.
const (
	FewestParts = 2
	MostParts   = 3
)

// SplitAssumption takes one assumption apart: it is withdrawn, and its parts
// are added, each with the reason that was given for the whole. They are the
// author's of the whole, also when a lead takes it apart.
type SplitAssumption struct {
	By
	ID    string
	Parts []Part
}

// A Part is one belief of several that stood in one entry.
type Part struct {
	Text    string
	Drafted bool // it is a machine's draft, unedited
}

func (i SplitAssumption) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := mayChange(k, i.ID, i.Who); err != nil {
		return nil, err
	}
	if n := len(i.Parts); n < FewestParts || n > MostParts {
		return nil, refuseField("part", "Write down %d or %d beliefs, each by itself. To change only the words, use Change.", FewestParts, MostParts)
	}
	whole, _ := k.Assumption(i.ID)
	events := []event.Event{event.AssumptionWithdrawn{ID: i.ID}}
	for n, part := range i.Parts {
		field := fmt.Sprintf("part/%d", n+1)
		if err := checkText(field, "belief", part.Text, MaxText, true); err != nil {
			return nil, err
		}
		if slices.ContainsFunc(i.Parts[:n], func(o Part) bool { return state.SameWords(o.Text, part.Text) }) {
			return nil, refuseField(field, "This says the same as the one above. Write the other belief, or leave it out.")
		}
		id, err := idFor(k, "")
		if err != nil {
			return nil, err
		}
		added := event.AssumptionAdded{ID: id, Text: part.Text, Because: whole.Because, Of: i.ID, Drafted: part.Drafted}
		added.Apply(k, now, i.Who) // k is Decide's own copy: the next part sees this id taken
		events = append(events, added)
	}
	return events, nil
}
