package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/engine"
)

// VoteKinds says which kind of risk each assumption is; the last vote counts.
type VoteKinds struct {
	By
	Kinds map[string]Kind
}

func (i VoteKinds) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := canAnswer(k, StageBacklog); err != nil {
		return nil, err
	}
	var events []Event
	for _, id := range k.Order() {
		kind, voted := i.Kinds[id]
		if !voted {
			continue
		}
		if !slices.Contains(Kinds(), kind) {
			return nil, refuseField("kind", "Choose desirability, viability, feasibility or usability.")
		}
		if k.Backlog.Kinds[id][i.Who] != kind {
			events = append(events, KindVoted{Assumption: id, Kind: kind})
		}
	}
	for id := range i.Kinds {
		if !slices.Contains(k.Order(), id) {
			return nil, refuseField("kind", "There is no assumption %s on the list.", id)
		}
	}
	return events, nil
}

// gaveBacklog reports whether u said what kind of risk something is, or
// added a test that stands.
func gaveBacklog(k *Kickoff, u UserID, _ int) bool {
	for _, votes := range k.Backlog.Kinds {
		if has(votes, u) {
			return true
		}
	}
	return slices.ContainsFunc(k.Backlog.Tests, func(t Test) bool { return t.By == u && !t.Withdrawn })
}

// KindVoted is one person's view of what kind of risk an assumption is.
type KindVoted struct {
	Assumption string
	Kind       Kind
}

func (e KindVoted) apply(k *Kickoff, _ time.Time, by UserID) {
	votes := k.Backlog.Kinds[e.Assumption]
	put(k, &votes, by, e.Kind)
	put(k, &k.Backlog.Kinds, e.Assumption, votes)
}

// A Plan is what a test consists of, before it has a number.
type Plan struct {
	Assumption string
	Method     string
	Learn      string
	PassShare  float64
	EffortDays float64
	LeadDays   float64
	Owner      UserID
	Size       int
	Census     bool `json:",omitempty"` // these are all the people or cases there are
}

// Limits of a test. Discovery tests that take longer are projects.
const (
	maxEffortDays = 60
	maxLeadDays   = 60
	maxSize       = 1_000_000
)

func checkPlan(k *Kickoff, p Plan) error {
	return cmp.Or(
		refuseIf(!slices.Contains(k.Order(), p.Assumption), "assumption", "There is no assumption %s on the list.", p.Assumption),
		checkText("method", "method", p.Method, MaxTitle, true),
		checkText("learn", "“what we learn”", p.Learn, MaxText, false),
		refuseIf(!within(p.PassShare, 1), "pass", "The pass mark is a share from 0 to 100 %%."),
		refuseIf(!within(p.EffortDays, maxEffortDays), "effort", "The effort is 0 to %d person-days.", maxEffortDays),
		refuseIf(!within(p.LeadDays, maxLeadDays), "lead", "The lead time is 0 to %d working days.", maxLeadDays),
		refuseIf(p.Size < 0 || p.Size > maxSize, "size", "The number of people or cases is 0 to %d.", maxSize),
		refuseIf(p.Census && p.Size == 0, "size", "How many are there in all? Give the number, or leave the box unticked."),
		refuseIf(p.Owner != "" && !k.Takes(p.Owner), "owner", "The owner must take part in this kickoff."),
	)
}

// within reports whether x lies between 0 and most; what is no number at all
// does not.
func within(x, most float64) bool { return x >= 0 && x <= most }

// AddTest adds a way to find out.
type AddTest struct {
	By
	Plan
}

func (i AddTest) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := cmp.Or(canAnswer(k, StageBacklog), checkPlan(k, i.Plan)); err != nil {
		return nil, err
	}
	// One that stands there already was sent again, after an answer that was lost.
	sent := slices.ContainsFunc(k.TestsOf(i.Assumption), func(t Test) bool { return t == i.Plan.test(t.N, i.Who) })
	return when(!sent, TestAdded{N: len(k.Backlog.Tests) + 1, Plan: i.Plan})
}

// TestAdded adds a test under its number.
type TestAdded struct {
	N int
	Plan
}

func (e TestAdded) apply(k *Kickoff, _ time.Time, by UserID) {
	add(k, &k.Backlog.Tests, e.Plan.test(e.N, by))
}
func (TestAdded) react(b *reaction) { b.contents(StageBacklog) }

func (p Plan) test(n int, by UserID) Test {
	return Test{N: n, By: by, Assumption: p.Assumption, Method: p.Method, Learn: p.Learn, PassShare: p.PassShare,
		EffortDays: p.EffortDays, LeadDays: p.LeadDays, Owner: p.Owner, Size: p.Size, Census: p.Census}
}

// Plan is what a test consists of.
func (t Test) Plan() Plan {
	return Plan{Assumption: t.Assumption, Method: t.Method, Learn: t.Learn, PassShare: t.PassShare,
		EffortDays: t.EffortDays, LeadDays: t.LeadDays, Owner: t.Owner, Size: t.Size, Census: t.Census}
}

// Planned is what was fixed of a test beforehand.
func (t Test) Planned() engine.TestPlan {
	return engine.TestPlan{N: t.Size, Mark: t.PassShare, Census: t.Census}
}

// EditTest changes a test; whoever added or owns it, or a lead, may. The
// pass mark cannot move once the discovery is underway.
type EditTest struct {
	By
	N int
	Plan
}

func (i EditTest) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return provided(cmp.Or(mayChangeTest(k, i.N, i.Who), checkPlan(k, i.Plan)), TestEdited{N: i.N, Plan: i.Plan})
}

func mayChangeTest(k *Kickoff, n int, who UserID) error {
	t, ok := k.Test(n)
	return cmp.Or(
		canAnswer(k, StageBacklog),
		refuseIf(!ok, "", "There is no test %d.", n),
		refuseIf(t.By != who && t.Owner != who && !k.IsLead(who), "", "Only %s, the owner, or the lead can change that test.", k.Name(t.By)),
	)
}

// TestEdited changes a test.
type TestEdited TestAdded

func (e TestEdited) apply(k *Kickoff, _ time.Time, _ UserID) {
	t := &own(k, &k.Backlog.Tests)[e.N-1]
	*t = e.Plan.test(e.N, t.By)
}

func (TestEdited) react(b *reaction) {
	b.contents(StageBacklog)
	if !yetToCome(b.k, StageClose) {
		b.refresh(ScreenResult, string(StageBacklog))
	}
}

// WithdrawTest takes a test off the backlog.
type WithdrawTest struct {
	By
	N int
}

func (i WithdrawTest) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return provided(mayChangeTest(k, i.N, i.Who), TestWithdrawn{N: i.N})
}

// TestWithdrawn takes a test off the backlog; its number is not used again.
type TestWithdrawn struct{ N int }

func (e TestWithdrawn) apply(k *Kickoff, _ time.Time, _ UserID) {
	own(k, &k.Backlog.Tests)[e.N-1].Withdrawn = true
}
func (TestWithdrawn) react(b *reaction) { b.contents(StageBacklog) }

// Test finds a test that stands.
func (k *Kickoff) Test(n int) (Test, bool) {
	if t := nth(k.Backlog.Tests, n); t != nil && !t.Withdrawn {
		return *t, true
	}
	return Test{}, false
}

// TestsOf lists the standing tests of an assumption.
func (k *Kickoff) TestsOf(id string) []Test {
	return keep(k.Backlog.Tests, func(t Test) bool { return !t.Withdrawn && t.Assumption == id })
}

// InZone lists the assumptions of a zone, in test order.
func (k *Kickoff) InZone(z engine.Zone) []string {
	return keep(k.Order(), func(id string) bool {
		a, scored := k.Scored(id)
		return scored && a.Zone == z
	})
}

func showBacklog(b *reaction) { b.show(ScreenResult, string(StageBacklog)) }
