package state

import (
	"cmp"
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/lists"
)

// Underway is the discovery after its kickoff.
type Underway struct {
	Checkins []Checkin
	Decision Decision
}

// A Checkin is one look at how the discovery stands.
type Checkin struct {
	N          int
	Opened     time.Time
	Closes     time.Time
	Closed     time.Time
	Results    []TestResult
	Evidence   map[UserID]map[string]int // until they are counted, as is Confidence
	Confidence map[UserID]int
	Rated      map[UserID]map[string]Marking `json:",omitempty"` // what came after the map was made; until it is counted
	Moved      []Move                        // set at its close
	Placed     []engine.AssumptionScore      `json:",omitempty"` // likewise
	Counted    *CheckinConfidence            `json:",omitempty"` // likewise; nil where an older release closed it
}

// A CheckinConfidence is what the votes of confidence at a check-in came to.
type CheckinConfidence struct {
	Median, IQR engine.Figure
	Voters      int
	Core        int // of these, in the core team
	Third       int `json:",omitempty"` // where few voted, as in Said
}

// A Move is an assumption whose evidence changed at a check-in.
type Move struct {
	Assumption string
	From, To   engine.Figure // To is undefined where fewer than FewestRaters rated it, see Few
	ZoneFrom   engine.Zone
	ZoneTo     engine.Zone
	Raters     int          `json:",omitempty"` // how many rated it at the check-in; 0 where an older release counted
	Third      int          `json:",omitempty"` // where few rated it: the third of the scale, 1 to 3, in which most are; 0 where none has most
	Doubt      engine.Doubt `json:",omitempty"` // why more evidence does not count yet
}

// Moves are what moved, without the figures of few that an older release kept.
func (c Checkin) Moves() []Move {
	moves := slices.Clone(c.Moved)
	for i, m := range moves {
		if 0 < m.Raters && m.Raters < FewestRaters {
			moves[i].To = engine.Undefined()
		}
	}
	return moves
}

// A Choice is how a time box ends.
type Choice string

// The choices at the end.
const (
	Build   Choice = "build"
	Stop    Choice = "stop"
	Another Choice = "another"
)

// A DecisionVote is one person's choice; Weeks counts only for Another.
type DecisionVote struct {
	Choice Choice
	Weeks  int
}

// A Decision is build, stop, or another time box.
type Decision struct {
	Opened  time.Time
	Closes  time.Time
	Early   bool
	Phase   Phase
	Until   time.Time
	Votes   map[UserID]DecisionVote // until they are counted
	Counted *DecisionTally          `json:",omitempty"` // what they came to; nil where an older release counted
	Set     Choice
	Weeks   int
	SetBy   UserID
	Why     string `json:",omitempty"` // said by a lead who settled against the marks or the votes
	At      time.Time
	Earlier []Decision // decisions for another box
}

// DecisionNumber numbers the decisions of a kickoff from 1: the open one, or
// the one that comes next.
func (u Underway) DecisionNumber() int { return len(u.Decision.Earlier) + 1 }

// A DecisionTally is what the votes came to when they were counted.
type DecisionTally struct {
	Votes []ChoiceCount
	Voted int           // of those who take part
	Plain *DecisionVote `json:",omitempty"` // what a silent lead's decision is; nil where the votes make none plain
	Core  []ChoiceCount `json:",omitempty"` // of these, the core team's; nil where too few are in it, or beside it, for that
}

// OthersTally is what those beside the core team voted; nil where that is not told.
func (t DecisionTally) OthersTally() []ChoiceCount {
	if t.Core == nil {
		return nil
	}
	var out []ChoiceCount
	for _, c := range t.Votes {
		of, _ := lists.Find(t.Core, func(of ChoiceCount) bool { return of.DecisionVote == c.DecisionVote })
		if n := c.N - of.N; n > 0 {
			out = append(out, ChoiceCount{c.DecisionVote, n})
		}
	}
	return out
}

// A ChoiceCount is how many chose the same.
type ChoiceCount struct {
	DecisionVote
	N int
}

// Tally counts who chose what, in a stable order.
func (d Decision) Tally() []ChoiceCount {
	if d.Counted != nil {
		return d.Counted.Votes
	}
	return TallyOf(d.Votes)
}

// TallyOf counts who chose what, in a stable order.
func TallyOf(votes map[UserID]DecisionVote) []ChoiceCount {
	counts := map[DecisionVote]int{}
	for _, v := range votes {
		counts[v]++
	}
	var tally []ChoiceCount
	for v, n := range counts {
		tally = append(tally, ChoiceCount{v, n})
	}
	slices.SortFunc(tally, func(a, b ChoiceCount) int {
		return cmp.Or(cmp.Compare(a.Choice, b.Choice), cmp.Compare(a.Weeks, b.Weeks))
	})
	return tally
}

// VotedOf counts who of those asked has voted.
func (d Decision) VotedOf(asked []UserID) int {
	if d.Counted != nil {
		return min(d.Counted.Voted, len(asked))
	}
	return len(lists.Keep(asked, func(u UserID) bool { return lists.Has(d.Votes, u) }))
}

// Voters counts who has voted their confidence, and how many of these are of
// the core team.
func (c Checkin) Voters(core []UserID) (all, ofCore int) {
	if c.Counted != nil {
		return c.Counted.Voters, min(c.Counted.Core, len(core))
	}
	return len(c.Confidence), len(lists.Keep(core, func(u UserID) bool { return lists.Has(c.Confidence, u) }))
}
