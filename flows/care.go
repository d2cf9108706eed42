package flows

import (
	"cmp"
	"fmt"
	"time"

	"soundings/flows/event"
	"soundings/flows/guide"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// A test that touches health, children, or people who depend on whoever asks begins
// only after a yes of those who are in charge of that: an action says who asks for
// it, and the plan counts the waiting.

// WithCare is a plan as it is saved when it is first said to need care: the usual
// waiting for a yes is counted, where the plan counts less. Whoever knows better
// changes it afterwards.
func WithCare(p state.Plan) state.Plan {
	if p.Care {
		p.LeadDays = max(p.LeadDays, guide.ApprovalDays)
	}
	return p
}

// approval is what planning test n as p changes in the actions.
func approval(k *state.Kickoff, n int, p state.Plan, who state.UserID, now time.Time) []event.Event {
	_, noted := k.ActionFor(state.ForTest(n))
	t, _ := k.Test(n)
	switch {
	case !p.Care:
		return approvalNotNeeded(k, n)
	case noted || t.Care: // where it was taken off the list, somebody had a reason
		return nil
	}
	owner := cmp.Or(p.Owner, who)
	person, _ := k.Person(owner)
	return []event.Event{event.ActionAdded{
		N:     len(k.Actions) + 1,
		What:  fmt.Sprintf("%s about the test of %s (%s), which begins only after their yes", guide.Approval, p.Assumption, p.Method),
		Owner: owner,
		Due:   workdays.DayAfter(k.HoursOf(person), now, guide.ApprovalDays),
		For:   state.ForTest(n),
	}}
}

// approvalNotNeeded takes the action for test n off the list, unless it is done.
func approvalNotNeeded(k *state.Kickoff, n int) []event.Event {
	a, noted := k.ActionFor(state.ForTest(n))
	if !noted || a.Done != "" {
		return nil
	}
	return []event.Event{event.ActionWithdrawn{N: a.N}}
}
