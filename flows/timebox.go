package flows

import (
	"cmp"
	"math"
	"slices"
	"time"

	"soundings/engine"
)

// MaxWeeks bounds a time box: longer than a quarter is a project.
const MaxWeeks = 12

// openTimebox proposes weeks with it, from the plan as it stands.
func openTimebox(k *Kickoff, opened StageOpened, _ time.Time) []Event {
	return []Event{opened, WeeksProposed{Proposal: proposalFor(k)}}
}

// WeeksProposed is the bot's proposal, with its reason.
type WeeksProposed struct{ Proposal engine.Proposal }

func (e WeeksProposed) apply(k *Kickoff, _ time.Time, _ UserID) { k.Timebox.Proposal = e.Proposal }

// VoteWeeks says how many weeks the actor would give.
type VoteWeeks struct {
	By
	Weeks int // 1 to MaxWeeks
}

func (i VoteWeeks) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return provided(cmp.Or(canAnswer(k, StageTimebox), checkWeeks(i.Weeks)),
		append([]Event{WeeksVoted{Weeks: i.Weeks}}, finish(k, i.Who)...)...)
}

func checkWeeks(weeks int) error {
	return refuseIf(weeks < 1 || weeks > MaxWeeks, "weeks", "A time box has 1 to %d weeks.", MaxWeeks)
}

// WeeksVoted is one person's vote; the last one counts.
type WeeksVoted struct{ Weeks int }

func (e WeeksVoted) apply(k *Kickoff, _ time.Time, by UserID) {
	put(k, &k.Timebox.Votes, by, e.Weeks)
}

func countWeeks(k *Kickoff, _ time.Time) (counted, again []Event) {
	median, iqr := spreadOf(k.Timebox.Votes)
	return []Event{WeeksCounted{Median: median, IQR: iqr, Voters: len(k.Timebox.Votes)}}, nil
}

// spreadOf is the median and the interquartile range of what each person
// said; undefined when nobody said anything, and the range when few did.
func spreadOf(said map[UserID]int) (median, iqr engine.Figure) {
	var values []float64
	for _, v := range said {
		values = append(values, float64(v))
	}
	slices.Sort(values)
	q := func(p float64) float64 { return engine.Quantile(values, p) }
	if len(values) < FewestRaters {
		return engine.Figure(q(0.5)), engine.Undefined()
	}
	return engine.Figure(q(0.5)), engine.Figure(q(0.75) - q(0.25))
}

// WeeksCounted is the result of the vote, before the lead sets the weeks.
type WeeksCounted struct {
	Median, IQR engine.Figure
	Voters      int `json:",omitempty"`
}

func (e WeeksCounted) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Timebox.Median, k.Timebox.IQR, k.Timebox.Voters = e.Median, e.IQR, e.Voters
}

// Voted counts the votes on the weeks, counted or not.
func (t Timebox) Voted() int { return max(t.Voters, len(t.Votes)) }

// ProposedWeeks is what stands when the lead sets nothing: the median of the
// votes, a half rounded down since a box can be renewed, or without votes
// the bot's proposal.
func (k *Kickoff) ProposedWeeks() int {
	if m := k.Timebox.Median; m.Defined() {
		return max(1, int(math.Floor(float64(m))))
	}
	return max(1, k.Timebox.Proposal.Weeks)
}

// settleTimeboxAsProposed is what stands when the lead sets nothing. What they wrote
// down before the stage was opened again is kept.
func settleTimeboxAsProposed(k *Kickoff) Event {
	t := k.Timebox
	set := TimeboxSet{Weeks: k.ProposedWeeks(), Checkin: time.Wednesday, StopIf: t.StopIf, BuildIf: t.BuildIf}
	if t.Weeks > 0 {
		set.Checkin = t.Checkin
	}
	return set
}

// SetTimebox sets the weeks and the check-in day, and writes down beforehand
// what would make us stop and what would make us build.
type SetTimebox struct {
	ByLead
	Weeks   int
	Checkin time.Weekday
	StopIf  string
	BuildIf string
}

func (i SetTimebox) decide(k *Kickoff, now time.Time) ([]Event, error) {
	check := cmp.Or(
		checkWeeks(i.Weeks),
		refuseIf(i.Checkin < time.Sunday || i.Checkin > time.Saturday, "checkin", "Choose a day of the week for the check-ins."),
		checkMarks(i.StopIf, i.BuildIf),
	)
	return settle(k, StageTimebox, check, TimeboxSet{Weeks: i.Weeks, Checkin: i.Checkin, StopIf: i.StopIf, BuildIf: i.BuildIf}, now)
}

func checkMarks(stopIf, buildIf string) error {
	return cmp.Or(
		checkText("stop_if", "“we stop if”", stopIf, MaxText, false),
		checkText("build_if", "“we build if”", buildIf, MaxText, false),
	)
}

func gaveTimebox(k *Kickoff, u UserID, _ int) bool {
	return has(k.Timebox.Votes, u)
}

// TimeboxSet is the length of the discovery and the marks by which it will
// be judged.
type TimeboxSet struct {
	Weeks   int
	Checkin time.Weekday
	StopIf  string `json:",omitempty"`
	BuildIf string `json:",omitempty"`
}

func (e TimeboxSet) apply(k *Kickoff, _ time.Time, by UserID) {
	t := &k.Timebox
	t.Weeks, t.Checkin, t.StopIf, t.BuildIf, t.SetBy = e.Weeks, e.Checkin, e.StopIf, e.BuildIf, by
}

func (TimeboxSet) react(b *reaction) {
	b.tellLeads(ScreenSettle, string(StageTimebox))
	b.show(ScreenResult, string(StageTimebox))
}

// proposalFor is how many weeks the bot proposes, and why. Without a map there
// is nothing to be tested first, and a short box will do.
func proposalFor(k *Kickoff) engine.Proposal {
	cut := engine.Cut{Importance: engine.Undefined(), Evidence: engine.Undefined()}
	if m := k.Map(); m != nil {
		cut = m.Cut
	}
	return engine.ProposeWeeks(k.Schedule(), cut)
}

// Schedule lays the tests of the backlog, in test order, on the days that
// people can give. The tests of one assumption stay in the order in which
// they were added.
func (k *Kickoff) Schedule() engine.Plan {
	var tests []engine.PlanTest
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			tests = append(tests, engine.PlanTest{Assumption: id, Effort: t.EffortDays, Lead: t.LeadDays, Owner: string(doerOf(k, t))})
		}
	}
	return engine.MakePlan(k.InZone(engine.TestFirst), tests, capacityOf(k))
}

// doerOf is the owner of a test. A test whose owner has left is anybody's: it
// still has to be done, and the plan should say when.
func doerOf(k *Kickoff, t Test) UserID {
	if k.Takes(t.Owner) {
		return t.Owner
	}
	return ""
}

// capacityOf is what the people who do tests can give: the core team, and who
// owns a test without being core.
func capacityOf(k *Kickoff) []engine.Capacity {
	doers := slices.DeleteFunc(k.InRing(Core), func(u UserID) bool { return !k.Takes(u) })
	for _, t := range k.Backlog.Tests {
		if owner := doerOf(k, t); !t.Withdrawn && owner != "" && !slices.Contains(doers, owner) {
			doers = append(doers, owner)
		}
	}
	team := make([]engine.Capacity, len(doers))
	for i, u := range doers {
		team[i] = engine.Capacity{ID: string(u), Days: k.DaysOf(u)}
	}
	return team
}
