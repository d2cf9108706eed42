package state

import (
	"slices"
	"strconv"
	"time"

	"soundings/engine"
	"soundings/flows/lists"
)

// A Kind is a kind of risk.
type Kind string

// The risk kinds.
const (
	Desirability Kind = "desirability"
	Viability    Kind = "viability"
	Feasibility  Kind = "feasibility"
	Usability    Kind = "usability"
)

// Kinds lists the risk kinds.
func Kinds() []Kind { return []Kind{Desirability, Viability, Feasibility, Usability} }

// Backlog is the plan of tests.
type Backlog struct {
	Kinds map[string]map[UserID]Kind
	Tests []Test
}

// A Test is one way to find out whether an assumption holds.
type Test struct {
	N          int
	Assumption string
	By         UserID
	Method     string
	Learn      string
	PassShare  float64 // share of people or cases that counts as support; 0 when none was given
	EffortDays float64 // person-days
	LeadDays   float64 // working days of waiting before it can end
	Owner      UserID
	Size       int   // people or cases; 0 when none was given
	Census     bool  `json:",omitempty"` // these are all there are
	Bound      Bound `json:",omitzero"`  // in place of a share, where the pass mark is a figure
	YesNo      bool  `json:",omitempty"` // in place of a share, where a yes counts as support
	Withdrawn  bool
	NotBefore  LocalDay `json:",omitempty"` // it was put off to this day
	Since      int      `json:",omitempty"` // it was added underway, to be reported from this check-in on
	Dropped    string   `json:",omitempty"` // why it was dropped underway, where it was
	Care       bool     `json:",omitempty"` // it touches health, children, or people who depend on whoever asks
}

// A Bound is a pass mark that is a figure: at least, or at most, so many of a
// unit, such as at most 15 minutes. Without a unit there is none.
type Bound struct {
	Unit   string
	At     float64
	AtMost bool
}

// Met reports whether a figure counts as support.
func (b Bound) Met(figure float64) bool {
	if b.AtMost {
		return figure <= b.At
	}
	return figure >= b.At
}

// Timebox is how long discovery may take.
type Timebox struct {
	Votes    map[UserID]int // until they are counted
	Voters   int            `json:",omitempty"` // how many votes were counted
	Proposal engine.Proposal
	Median   engine.Figure // undefined where few voted, as is IQR
	IQR      engine.Figure
	Than     int `json:",omitempty"` // where few voted: most are for more weeks than were proposed, 1, or for fewer, -1
	Weeks    int // 0 until set
	Checkin  time.Weekday
	StopIf   string
	BuildIf  string
	StopOn   string `json:",omitempty"` // what tells whether it is met: an assumption, or a test as TestOn has it
	BuildOn  string `json:",omitempty"`
	SetBy    UserID
	Starts   time.Time
	Ends     time.Time
	Renewals []int // weeks of each further box

	Worth   map[UserID]int         `json:",omitempty"` // 1 surely not worth building, 9 surely; until they are counted, as is Cost
	Cost    map[UserID]engine.Cost `json:",omitempty"` // what being wrong would cost
	Outlook *Outlook               `json:",omitempty"` // what these came to; nil where nobody said either
}

// An Outlook is what people thought before the first test, counted.
type Outlook struct {
	Worth, WorthIQR engine.Figure
	WorthThird      int                 `json:",omitempty"` // where few said it, as in Said
	Worths          int                 // how many said how likely it is that this is worth building
	Cost            engine.Cost         // empty where nobody said, or few and most of them not the same
	Costs           int                 // how many said what being wrong would cost
	CostsOf         map[engine.Cost]int `json:",omitempty"` // who said what, in numbers; nil where few did
}

// OutlookOf counts what people said; nil where nobody said anything. The cost is
// the median, and between two the higher one, since in doubt one takes care. Of few it is
// what most of them said: the higher one of two would tell each what the other said.
func OutlookOf(t Timebox) *Outlook {
	if len(t.Worth)+len(t.Cost) == 0 {
		return nil
	}
	worth := SaidOf(t.Worth)
	o := Outlook{Worth: worth.Median, WorthIQR: worth.IQR, WorthThird: worth.Third, Worths: worth.N, Costs: len(t.Cost)}
	counts := map[engine.Cost]int{}
	for _, c := range t.Cost {
		counts[c]++
	}
	above := 0
	for _, c := range slices.Backward(engine.Costs()) {
		above += counts[c]
		switch few := o.Costs < FewestRaters; {
		case few && o.Costs > 1 && counts[c]*2 > o.Costs, !few && o.Cost == "" && above*2 >= o.Costs:
			o.Cost = c
		}
	}
	if o.Costs >= FewestRaters {
		o.CostsOf = counts
	}
	return &o
}

// Told is an outlook without the figures of few, which an older release kept.
func (o Outlook) Told() Outlook {
	if o.Worths < FewestRaters {
		o.Worth, o.WorthIQR = engine.Undefined(), engine.Undefined()
	}
	if o.Costs == 1 {
		o.Cost = ""
	}
	return o
}

// Baseline is what was said before the first test of how likely it is that this is worth
// building.
func (t Timebox) Baseline() Said {
	o := t.Outlook
	if o == nil {
		return SaidOf(nil)
	}
	return Said{o.Worths, o.Worth, o.WorthIQR, o.WorthThird}.withoutFew()
}

// An Action is something somebody will do next.
type Action struct {
	N         int
	What      string
	Owner     UserID
	Due       LocalDay
	Withdrawn bool     `json:",omitempty"`
	Done      LocalDay `json:",omitempty"` // the day on which it was said to be done
	For       string   `json:",omitempty"` // what the bot noted it for, as ForTest or ForSplit has it; empty where somebody did
}

// ForTest is what the action is noted for that has test n agreed to.
func ForTest(n int) string { return "test/" + strconv.Itoa(n) }

// ForSplit is what the talk about a split that lasted is noted for.
func ForSplit(assumption string) string { return "split/" + assumption }

// LastingSplits are the assumptions on which views stayed apart: what is still split
// once the rating is over.
func LastingSplits(k *Kickoff) []string {
	if r := MappedRound(k); r != nil {
		return r.Splits
	}
	return nil
}

// ActionFor finds the action, done or not, that stands for something.
func (k *Kickoff) ActionFor(what string) (Action, bool) {
	i := slices.IndexFunc(k.Actions, func(a Action) bool { return a.For == what && !a.Withdrawn })
	if i < 0 {
		return Action{}, false
	}
	return k.Actions[i], true
}

// Planned is what was fixed of a test beforehand.
func (t Test) Planned() engine.TestPlan {
	return engine.TestPlan{N: t.Size, Mark: t.PassShare, Census: t.Census, Each: t.YesNo || t.Bound.Unit != ""}
}

// Test finds a test that stands.
func (k *Kickoff) Test(n int) (Test, bool) {
	if t := lists.Nth(k.Backlog.Tests, n); t != nil && !t.Withdrawn {
		return *t, true
	}
	return Test{}, false
}

// TestsOf lists the standing tests of an assumption.
func (k *Kickoff) TestsOf(id string) []Test {
	return lists.Keep(k.Backlog.Tests, func(t Test) bool { return !t.Withdrawn && t.Assumption == id })
}

// InZone lists the assumptions of a zone, in test order.
func (k *Kickoff) InZone(z engine.Zone) []string {
	return lists.Keep(k.Order(), func(id string) bool {
		a, scored := k.Scored(id)
		return scored && a.Zone == z
	})
}

// StandingActions lists the actions that stand.
func (k *Kickoff) StandingActions() []Action {
	return lists.Keep(k.Actions, func(a Action) bool { return !a.Withdrawn })
}

// OpenActions lists the actions of somebody that stand and are not done.
func (k *Kickoff) OpenActions(of UserID) []Action {
	return lists.Keep(k.Actions, func(a Action) bool { return a.Owner == of && !a.Withdrawn && a.Done == "" })
}

// LateActions lists the actions that stand, are not done, and were due before a day.
func (k *Kickoff) LateActions(day LocalDay) []Action {
	return lists.Keep(k.Actions, func(a Action) bool { return !a.Withdrawn && a.Done == "" && a.Due < day })
}

// Voted counts the votes on the weeks, counted or not.
func (t Timebox) Voted() int { return max(t.Voters, len(t.Votes)) }

// Spread is the median and the interquartile range of the votes; undefined before they are
// counted, and where few voted.
func (t Timebox) Spread() (median, iqr engine.Figure) {
	if t.Voted() < FewestRaters || t.Median == 0 {
		return engine.Undefined(), engine.Undefined()
	}
	return t.Median, t.IQR
}

// ThanProposed tells of few votes whether most of them are for more weeks than were
// proposed, 1, or for fewer, -1. How many weeks most are for would tell each of two what
// the other chose.
func ThanProposed(votes map[UserID]int, proposed int) int {
	balance, more, fewer := 0, 0, 0
	for _, weeks := range votes {
		if weeks > proposed {
			more++
		} else if weeks < proposed {
			fewer++
		}
	}
	if n := len(votes); 1 < n && n < FewestRaters {
		if more*2 > n {
			balance = 1
		} else if fewer*2 > n {
			balance = -1
		}
	}
	return balance
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
	Census     bool     `json:",omitempty"` // these are all the people or cases there are
	NotBefore  LocalDay `json:",omitempty"` // put off to this day
	Bound      Bound    `json:",omitzero"`  // in place of a share
	YesNo      bool     `json:",omitempty"` // likewise
	Care       bool     `json:",omitempty"` // as in Test
}

// Test is the plan as test n of a backlog, added by somebody.
func (p Plan) Test(n int, by UserID) Test {
	return Test{N: n, By: by, Assumption: p.Assumption, Method: p.Method, Learn: p.Learn, PassShare: p.PassShare,
		EffortDays: p.EffortDays, LeadDays: p.LeadDays, Owner: p.Owner, Size: p.Size, Census: p.Census, Bound: p.Bound, YesNo: p.YesNo, NotBefore: p.NotBefore, Care: p.Care}
}

// PlanOf is what a test consists of.
func PlanOf(t Test) Plan {
	return Plan{Assumption: t.Assumption, Method: t.Method, Learn: t.Learn, PassShare: t.PassShare,
		EffortDays: t.EffortDays, LeadDays: t.LeadDays, Owner: t.Owner, Size: t.Size, Census: t.Census, Bound: t.Bound, YesNo: t.YesNo, NotBefore: t.NotBefore, Care: t.Care}
}
