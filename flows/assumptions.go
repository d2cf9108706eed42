package flows

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/flows/state"
)

// AddAssumption adds one belief.
type AddAssumption struct {
	By
	ID      string // their own reference, from a list they keep; empty: it is numbered here
	Text    string
	Because string // what makes them think so; raters see it
}

func (i AddAssumption) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
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
	return []Event{AssumptionAdded{ID: id, Text: i.Text, Because: i.Because, Since: since(k)}}, nil
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

// AssumptionAdded adds a belief under its id. One that was a part of another
// is its author's, whoever took that apart.
type AssumptionAdded struct {
	ID, Text, Because string
	Of                string `json:",omitempty"` // the assumption that it was a part of
	Drafted           bool   `json:",omitempty"`
	Since             int    `json:",omitempty"` // the check-in at which it is rated first; 0 for those of the kickoff
}

func (e AssumptionAdded) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	if e.Of != "" {
		by = assumptionOf(k, e.Of).By
	}
	state.Add(k, &k.Assumptions, state.Assumption{ID: e.ID, By: by, Text: e.Text, Because: e.Because, Drafted: e.Drafted, Since: e.Since})
}
func (AssumptionAdded) react(b *reaction) { b.listed(state.StageAssumptions, "map") }

// ImportAssumptions adds many at once, as from a table; all or none.
type ImportAssumptions struct {
	By
	Rows []AddAssumption
}

func (i ImportAssumptions) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	if err := canAddAssumptions(k); err != nil {
		return nil, err
	}
	var events []Event
	for n, row := range i.Rows {
		id, err := idFor(k, row.ID)
		if err == nil {
			err = checkAssumption(row.Text, row.Because)
		}
		if err != nil {
			return nil, refuse("Row %d: %s Nothing was taken over.", n+1, err)
		}
		added := AssumptionAdded{ID: id, Text: row.Text, Because: row.Because, Since: since(k)}
		added.apply(k, now, i.Who) // k is Decide's own copy: the next row sees this id taken
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

func (i EditAssumption) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return provided(cmp.Or(mayChange(k, i.ID, i.Who), checkAssumption(i.Text, i.Because)),
		AssumptionEdited{ID: i.ID, Text: i.Text, Because: i.Because, Drafted: i.Drafted})
}

// mayChange does not say whose the assumption is: authors stay hidden.
func mayChange(k *state.Kickoff, id string, who state.UserID) error {
	a, ok := k.Assumption(id)
	return cmp.Or(
		canAddAssumptions(k),
		refuseIf(!ok || a.Withdrawn, "", "There is no assumption %s.", id),
		refuseIf(a.JoinedTo != "", "",
			"%s has been joined to %s, which stands for both. Change that one, or add one of your own.", id, a.JoinedTo),
		refuseIf(a.By != who && !k.IsLead(who), "", "Only whoever wrote %s, or the lead, can change it. You can add one of your own.", id),
	)
}

// AssumptionEdited changes the words of a belief. A machine's draft stays one
// as long as its words stand.
type AssumptionEdited struct {
	ID, Text, Because string
	Drafted           bool `json:",omitempty"`
}

func (e AssumptionEdited) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	a := assumptionOf(k, e.ID)
	if a.Text != e.Text {
		for i := range state.Own(k, &k.Rounds) { // what people rated was something else
			forgetRatings(k, &k.Rounds[i], func(id string) bool { return id == e.ID })
		}
		a.Drafted = false
	}
	a.Drafted = a.Drafted || e.Drafted
	a.Text, a.Because = e.Text, e.Because
}
func (AssumptionEdited) react(b *reaction) { b.contents(state.StageAssumptions) }

// WithdrawAssumption takes a belief back; its author or a lead may.
type WithdrawAssumption struct {
	By
	ID string
}

func (i WithdrawAssumption) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return provided(mayChange(k, i.ID, i.Who), AssumptionWithdrawn{ID: i.ID})
}

// AssumptionWithdrawn takes a belief off the list; its id is not used again.
// What it stood for stands by itself again: that was others' to withdraw.
type AssumptionWithdrawn struct{ ID string }

func (e AssumptionWithdrawn) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	withdrawn := assumptionOf(k, e.ID)
	withdrawn.Withdrawn, withdrawn.Wordings = true, nil
	for i := range k.Assumptions { // ours by now
		if k.Assumptions[i].JoinedTo == e.ID {
			k.Assumptions[i].JoinedTo = ""
		}
	}
}
func (AssumptionWithdrawn) react(b *reaction) { b.contents(state.StageAssumptions) }

// JoinAssumptions lets one belief stand for others that say the same. The
// joined wordings are kept with it.
type JoinAssumptions struct {
	ByLead
	Keep string
	Join []string
}

func (i JoinAssumptions) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if err := canAnswer(k, state.StageAssumptions); err != nil {
		return nil, err
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
	return []Event{AssumptionsJoined{Keep: i.Keep, Join: join}}, nil
}

func withoutRepeats(ids []string) []string {
	var out []string
	for _, id := range ids {
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// AssumptionsJoined lets Keep stand for Join.
type AssumptionsJoined struct {
	Keep string
	Join []string
}

func (e AssumptionsJoined) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	keep := assumptionOf(k, e.Keep)
	for _, id := range e.Join {
		joined := assumptionOf(k, id)
		joined.JoinedTo = e.Keep
		state.Add(k, &keep.Wordings, joined.Text)
		state.Add(k, &keep.Wordings, joined.Wordings...)
	}
}
func (AssumptionsJoined) react(b *reaction) { b.contents(state.StageAssumptions) }

// assumptionOf is an assumption of which the journal speaks, to be changed.
func assumptionOf(k *state.Kickoff, id string) *state.Assumption {
	at := slices.IndexFunc(k.Assumptions, func(a state.Assumption) bool { return a.ID == id })
	if at < 0 {
		panic("flows: the journal speaks of assumption " + id + ", which was never added")
	}
	return &state.Own(k, &k.Assumptions)[at]
}

func gaveAssumptions(k *state.Kickoff, u state.UserID, _ int) bool {
	return slices.ContainsFunc(k.Assumptions, func(a state.Assumption) bool { return a.By == u && !a.Withdrawn })
}

func showAssumptions(b *reaction) { b.show(ScreenResult, string(state.StageAssumptions)) }
