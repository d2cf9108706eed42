// Package scenario reads a kickoff that is written down beforehand: who takes
// part, what they answer in each stage, and what they find out afterwards. It
// says nothing about what the bot makes of it; package rehearsal plays it.
//
// A scenario is a YAML file. Reading is strict: whatever is wrong is refused
// with its line, its path and what is allowed there.
//
// Start from
//
//	Parse     a file into a Scenario, or a *Fault
//	Scenario  the data
//	Ferry     the built-in scenario
package scenario

import (
	_ "embed"
	"slices"
	"time"
)

//go:embed ferry.yaml
var ferry []byte

// Ferry is the built-in scenario: a copy of testdata/scenarios/ferry.yaml.
func Ferry() (*Scenario, error) { return Parse("ferry.yaml", ferry) }

// A Scenario is a kickoff written down beforehand: who takes part, what they
// will answer in each stage, and what they will find out afterwards. It says
// nothing about what the bot makes of it. Parse reads one.
//
// People are named by their keys. What is keyed by person holds only those
// who answer: whoever is missing did not.
type Scenario struct {
	Title       string
	Starts      time.Time
	PaceDays    int      // working days per stage, 1 to 10
	People      []Person // in file order; the first is the lead
	Brief       Brief
	Framing     Framing
	Roles       Roles
	Assumptions []Assumption
	Ratings     Ratings
	Backlog     Backlog
	Timebox     *Timebox // nil when the lead takes what is proposed
	Actions     []Action
	Underway    *Underway // nil when the script ends with the summary
}

// A Person takes part.
type Person struct {
	Key    string
	Name   string
	Zone   string   // IANA time zone
	Silent []string // stages in which they never answer
}

// A Brief is what the lead starts with, and what others ask about it.
type Brief struct {
	Why         string
	Outcome     string
	OutOfBounds string
	Problem     string // never empty
	Links       []string
	Questions   []Question
}

// A Question is asked about the brief; an empty Answer leaves it open.
type Question struct {
	By, Ask, Answer string
}

// Framing holds the wordings on the ladder and the votes on them.
type Framing struct {
	Wordings []Wording
	Votes    map[string]FramingVote
}

// A Wording puts the problem at one level, +2 broader to -2 narrower.
type Wording struct {
	By    string
	Level int
	Text  string
}

// A FramingVote picks a level, and ticks wordings by their number
// from 1; 0 stands for the original.
type FramingVote struct {
	Level int
	Ticks []int
}

// Roles says who stands in which ring: core, consulted or informed.
type Roles struct {
	Self    map[string]string
	Days    map[string]float64 // days a week, 0 to 5; who is left out gives the usual two
	Named   []Named
	Settled map[string]string // what the lead settles
}

// A Named is somebody named as missing, or expected in a ring.
type Named struct {
	By, Name, Ring string
}

// A Assumption is a belief that somebody adds.
type Assumption struct {
	ID, By, Text, Because string
}

// Ratings holds the ballots: person, then assumption. Round 2 may
// name assumptions that turn out not to be asked again; nobody is asked
// about those, so nobody answers.
type Ratings struct {
	Round1, Round2 map[string]map[string]Pair
}

// A Pair is a rating on both scales, 1 to 9; 0 stands for "can't say".
type Pair struct {
	Importance, Evidence int
}

// Backlog holds the votes on risk kinds, assumption then person, and
// the tests.
type Backlog struct {
	Kinds map[string]map[string]string
	Tests []Test // results name them by their number, from 1
}

// A Test is one way to find out whether an assumption holds.
type Test struct {
	Assumption string
	By         string
	Method     string
	Learn      string
	Pass       *Pass   // nil when no pass mark was given
	EffortDays float64 // person-days
	LeadDays   float64 // working days of waiting
	Owner      string  // empty when nobody owns it
	Size       int     // people or cases; 0 when not given
}

// A Pass is a pass mark: the share that counts as support.
type Pass struct {
	Share float64 // above 0, at most 1
}

// A Timebox holds the votes on weeks and what the lead sets.
type Timebox struct {
	Votes   map[string]int
	Set     int // weeks; 0 takes what is proposed
	Checkin time.Weekday
	StopIf  string
	BuildIf string
}

// A Action is a next step.
type Action struct {
	What    string
	Owner   string
	DueDays int // days after it was written down
}

// A Underway is the discovery after its kickoff.
type Underway struct {
	Checkins []Checkin
	Decision *Decision // nil when the script leaves the box running
}

// A Checkin is what is reported and rated at one check-in.
type Checkin struct {
	Results    []Result
	Evidence   map[string]map[string]int // person, then assumption, 1 to 9
	Confidence map[string]int            // 1 to 9
}

// A Result is K of N for test number Test.
type Result struct {
	Test, K, N int
}

// A Decision ends the time box: build, stop or another.
type Decision struct {
	Votes map[string]string
	Set   string
	Weeks int // of another box, 2 or 4; 0 for build and stop
}

// Person finds somebody by key.
func (s *Scenario) Person(key string) (Person, bool) {
	for _, p := range s.People {
		if p.Key == key {
			return p, true
		}
	}
	return Person{}, false
}

// Lead is the person who runs the kickoff.
func (s *Scenario) Lead() Person { return s.People[0] }

// SilentIn reports whether p never answers in stage.
func (p Person) SilentIn(stage string) bool { return slices.Contains(p.Silent, stage) }
