package flows

import (
	"cmp"
	"math"
	"slices"
	"time"

	"soundings/engine"
)

var timeboxEvents = []eventKind{
	event[WeeksProposed](), event[WeeksVoted](), event[WeeksCounted](), event[TimeboxSet](),
	event[MarksChanged](),
}

// MaxWeeks bounds a time box: longer than a quarter is a project.
const MaxWeeks = 12

// openTimebox proposes weeks with it, from the plan as it stands.
func openTimebox(k *Kickoff, opened StageOpened, _ time.Time) []Event {
	return []Event{opened, WeeksProposed{Proposal: proposalFor(k)}}
}

// WeeksProposed is the bot's proposal, with its reason.
type WeeksProposed struct{ Proposal engine.Proposal }

func (WeeksProposed) kind() string                              { return "weeks-proposed" }
func (e WeeksProposed) apply(k *Kickoff, _ time.Time, _ UserID) { k.Timebox.Proposal = e.Proposal }

// VoteWeeks says how many weeks the actor would give.
type VoteWeeks struct {
	By
	Weeks int // 1 to MaxWeeks
}

func (i VoteWeeks) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := cmp.Or(canAnswer(k, StageTimebox), checkWeeks(i.Weeks)); err != nil {
		return nil, err
	}
	return append([]Event{WeeksVoted{Weeks: i.Weeks}}, finish(k, i.Who)...), nil
}

func checkWeeks(weeks int) error {
	if weeks < 1 || weeks > MaxWeeks {
		return refuseField("weeks", "A time box has 1 to %d weeks.", MaxWeeks)
	}
	return nil
}

// WeeksVoted is one person's vote; the last one counts.
type WeeksVoted struct{ Weeks int }

func (WeeksVoted) kind() string { return "weeks-voted" }
func (e WeeksVoted) apply(k *Kickoff, _ time.Time, by UserID) {
	put(&k.Timebox.Votes, by, e.Weeks)
}

func countWeeks(k *Kickoff, _ time.Time) (counted, again []Event) {
	var votes []float64
	for _, weeks := range k.Timebox.Votes {
		votes = append(votes, float64(weeks))
	}
	slices.Sort(votes)
	q := func(p float64) float64 { return engine.Quantile(votes, p) }
	return []Event{WeeksCounted{Median: engine.Figure(q(0.5)), IQR: engine.Figure(q(0.75) - q(0.25))}}, nil
}

// WeeksCounted is the result of the vote, before the lead sets the weeks.
type WeeksCounted struct{ Median, IQR engine.Figure }

func (WeeksCounted) kind() string { return "weeks-counted" }
func (e WeeksCounted) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Timebox.Median, k.Timebox.IQR = e.Median, e.IQR
}

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
	if err := cmp.Or(canSettle(k, StageTimebox), checkWeeks(i.Weeks)); err != nil {
		return nil, err
	}
	if i.Checkin < time.Sunday || i.Checkin > time.Saturday {
		return nil, refuseField("checkin", "Choose a day of the week for the check-ins.")
	}
	if err := cmp.Or(
		checkText("stop_if", "“we stop if”", i.StopIf, MaxText, false),
		checkText("build_if", "“we build if”", i.BuildIf, MaxText, false),
	); err != nil {
		return nil, err
	}
	return settleStage(k, TimeboxSet{Weeks: i.Weeks, Checkin: i.Checkin, StopIf: i.StopIf, BuildIf: i.BuildIf}, now), nil
}

func gaveTimebox(k *Kickoff, u UserID, _ int) bool {
	_, voted := k.Timebox.Votes[u]
	return voted
}

// TimeboxSet is the length of the discovery and the marks by which it will
// be judged.
type TimeboxSet struct {
	Weeks   int
	Checkin time.Weekday
	StopIf  string `json:",omitempty"`
	BuildIf string `json:",omitempty"`
}

func (TimeboxSet) kind() string { return "timebox-set" }
func (e TimeboxSet) apply(k *Kickoff, _ time.Time, by UserID) {
	t := &k.Timebox
	t.Weeks, t.Checkin, t.StopIf, t.BuildIf, t.SetBy = e.Weeks, e.Checkin, e.StopIf, e.BuildIf, by
}

func (TimeboxSet) react(b *reaction) {
	b.tellLeads(ScreenSettle, string(StageTimebox))
	b.show(ScreenResult, string(StageTimebox))
}
