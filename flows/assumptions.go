package flows

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// AddAssumption adds one belief.
type AddAssumption struct {
	By
	ID      string // their own reference, from a list they keep; empty: it is numbered here
	Text    string
	Because string // what makes them think so; raters see it
}

func (i AddAssumption) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(canAddAssumptions(k), checkAssumption(i.Text, i.Because)); err != nil {
		return nil, err
	}
	if slices.ContainsFunc(k.Listed(), func(a state.Assumption) bool { return a.By == i.Who && a.Text == i.Text && a.Because == i.Because }) {
		return nil, nil // sent again, after an answer that was lost
	}
	id, err := idFor(k, i.ID)
	if err != nil {
		return nil, err
	}
	return []event.Event{event.AssumptionAdded{ID: id, Text: i.Text, Because: i.Because, Since: since(k)}}, nil
}

// idFor takes a reference of somebody's own where it can serve as an id, or
// gives the next free number.
func idFor(k *state.Kickoff, own string) (string, error) {
	own = strings.TrimSpace(own)
	if own == "" {
		for n := len(k.Assumptions) + 1; ; n++ {
			id := fmt.Sprintf("A%d", n)
			if !takenID(k, id) {
				return id, nil
			}
		}
	}
	if len(own) > maxID || strings.ContainsFunc(own, func(r rune) bool { return !isIDRune(r) }) {
		return "", refuseField("id", "A reference has up to %d letters, digits, dots or hyphens, such as A7. Or leave it empty.", maxID)
	}
	if takenID(k, own) {
		return "", refuseField("id", "%s is taken. Leave the reference empty and it will be numbered.", own)
	}
	return own, nil
}

// takenID reports whether an id is in use, in whichever letter case: nobody
// should have to tell a7 from A7.
func takenID(k *state.Kickoff, id string) bool {
	return slices.ContainsFunc(k.Assumptions, func(a state.Assumption) bool { return strings.EqualFold(a.ID, id) })
}

const maxID = 16

func isIDRune(r rune) bool {
	return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9' || r == '.' || r == '-' || r == '_'
}

// canAddAssumptions lets people add beliefs from the first day on: whoever
// logs one early should not be told to come back. Underway they learn what they
// had not thought of.
func canAddAssumptions(k *state.Kickoff) error {
	if yetToCome(k, state.StageAssumptions) || k.Stage == state.StageUnderway {
		return nil
	}
	return canAnswer(k, state.StageAssumptions)
}

func checkAssumption(text, because string) error {
	return cmp.Or(checkText("text", "assumption", text, MaxText, true), checkText("because", "reason", because, MaxText, false))
}

// ImportAssumptions adds many at once, as from a table; all or none.
type ImportAssumptions struct {
	By
	Rows []AddAssumption
}

func (i ImportAssumptions) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := canAddAssumptions(k); err != nil {
		return nil, err
	}
	var events []event.Event
	for n, row := range i.Rows {
		id, err := idFor(k, row.ID)
		if err == nil {
			err = checkAssumption(row.Text, row.Because)
		}
		if err != nil {
			return nil, refuse("Row %d: %s Nothing was taken over.", n+1, err)
		}
		added := event.AssumptionAdded{ID: id, Text: row.Text, Because: row.Because, Since: since(k)}
		added.Apply(k, now, i.Who) // k is Decide's own copy: the next row sees this id taken
		events = append(events, added)
	}
	return events, nil
}

// EditAssumption changes a belief; its author or a lead may.
type EditAssumption struct {
	By
	ID, Text, Because string
	Drafted           bool // the words are a machine's draft, unedited
}

func (i EditAssumption) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return provided(cmp.Or(mayChange(k, i.ID, i.Who), checkAssumption(i.Text, i.Because)),
		event.AssumptionEdited{ID: i.ID, Text: i.Text, Because: i.Because, Drafted: i.Drafted})
}

// mayChange does not say whose the assumption is: authors stay hidden.
func mayChange(k *state.Kickoff, id string, who state.UserID) error {
	a, ok := k.Assumption(id)
	return cmp.Or(
		canChangeList(k, id, who),
		refuseIf(!ok || a.Withdrawn, "", "There is no assumption %s.", id),
		refuseIf(a.JoinedTo != "", "",
			"%s has been joined to %s, which stands for both. Change that one, or add one of your own.", id, a.JoinedTo),
		refuseIf(a.By != who && !k.IsLead(who), "", "Only whoever wrote %s, or the lead, can change it. You can add one of your own.", id),
	)
}

// canChangeList lets a list be changed while it grows. While it is tidied leads may
// change it, and whoever was asked to look again at what they wrote.
func canChangeList(k *state.Kickoff, id string, who state.UserID) error {
	if _, asked := state.SentBack(k, id); k.Stage == state.StageTidying && (asked || k.IsLead(who)) {
		return nil
	}
	return canAddAssumptions(k)
}

// WithdrawAssumption takes a belief back; its author or a lead may.
type WithdrawAssumption struct {
	By
	ID string
}

func (i WithdrawAssumption) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return provided(mayChange(k, i.ID, i.Who), event.AssumptionWithdrawn{ID: i.ID})
}

// JoinAssumptions lets one belief stand for others that say the same. The
// joined wordings are kept with it.
type JoinAssumptions struct {
	ByLead
	Keep string
	Join []string
}

func (i JoinAssumptions) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if k.Stage != state.StageTidying {
		if err := canAnswer(k, state.StageAssumptions); err != nil {
			return nil, err
		}
	}
	join := withoutRepeats(i.Join)
	if slices.Contains(join, i.Keep) {
		return nil, refuseField("join", "An assumption cannot be joined to itself. Choose others than %s.", i.Keep)
	}
	for _, id := range append([]string{i.Keep}, join...) {
		if a, ok := k.Assumption(id); !ok || a.Withdrawn || a.JoinedTo != "" {
			return nil, refuseField("join", "There is no assumption %s on the list.", id)
		}
	}
	if len(join) == 0 {
		return nil, refuseField("join", "Choose what is joined to %s.", i.Keep)
	}
	return []event.Event{event.AssumptionsJoined{Keep: i.Keep, Join: join}}, nil
}

func withoutRepeats[T comparable](ids []T) []T {
	var out []T
	for _, id := range ids {
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

func gaveAssumptions(k *state.Kickoff, u state.UserID, _ int) bool {
	return slices.ContainsFunc(k.Assumptions, func(a state.Assumption) bool { return a.By == u && !a.Withdrawn })
}

func showAssumptions(b *reaction) { b.show(ScreenResult, string(state.StageAssumptions)) }

// afterAssumptions says what should follow from assumptions.
func afterAssumptions(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.AssumptionAdded:
		b.listed(state.StageAssumptions, "map")
	case event.AssumptionEdited, event.AssumptionWithdrawn, event.AssumptionsJoined:
		b.contents(state.StageAssumptions)
	}
}
