package rehearsal

import (
	"slices"
	"time"
)

// A Scenario is a kickoff written down beforehand: who takes part, what they
// will answer in each stage, and what they will find out afterwards. It says
// nothing about what the bot makes of it. ParseScenario reads one.
//
// People are named by their keys. What is keyed by person holds only those
// who answer: whoever is missing did not.
type Scenario struct {
	Title       string
	Starts      time.Time
	PaceDays    int              // working days per stage, 1 to 10
	People      []ScenarioPerson // in file order; the first is the lead
	Brief       ScenarioBrief
	Framing     ScenarioFraming
	Roles       ScenarioRoles
	Assumptions []ScenarioAssumption
	Ratings     ScenarioRatings
	Backlog     ScenarioBacklog
	Timebox     *ScenarioTimebox // nil when the lead takes what is proposed
	Actions     []ScenarioAction
	Underway    *ScenarioUnderway // nil when the script ends with the summary
}

// A ScenarioPerson takes part.
type ScenarioPerson struct {
	Key    string
	Name   string
	Zone   string   // IANA time zone
	Silent []string // stages in which they never answer
}

// A ScenarioBrief is what the lead starts with, and what others ask about it.
type ScenarioBrief struct {
	Why         string
	Outcome     string
	OutOfBounds string
	Problem     string // never empty
	Links       []string
	Questions   []ScenarioQuestion
}

// A ScenarioQuestion is asked about the brief; an empty Answer leaves it open.
type ScenarioQuestion struct {
	By, Ask, Answer string
}

// ScenarioFraming holds the wordings on the ladder and the votes on them.
type ScenarioFraming struct {
	Wordings []ScenarioWording
	Votes    map[string]ScenarioFramingVote
}

// A ScenarioWording puts the problem at one level, +2 broader to -2 narrower.
type ScenarioWording struct {
	By    string
	Level int
	Text  string
}

// A ScenarioFramingVote picks a level, and ticks wordings by their number
// from 1; 0 stands for the original.
type ScenarioFramingVote struct {
	Level int
	Ticks []int
}

// ScenarioRoles says who stands in which ring: core, consulted or informed.
type ScenarioRoles struct {
	Self    map[string]string
	Days    map[string]float64 // days a week, 0 to 5; who is left out gives the usual two
	Named   []ScenarioNamed
	Settled map[string]string // what the lead settles
}

// A ScenarioNamed is somebody named as missing, or expected in a ring.
type ScenarioNamed struct {
	By, Name, Ring string
}

// A ScenarioAssumption is a belief that somebody adds.
type ScenarioAssumption struct {
	ID, By, Text, Because string
}

// ScenarioRatings holds the ballots: person, then assumption. Round 2 may
// name assumptions that turn out not to be asked again; nobody is asked
// about those, so nobody answers.
type ScenarioRatings struct {
	Round1, Round2 map[string]map[string]ScenarioPair
}

// A ScenarioPair is a rating on both scales, 1 to 9; 0 stands for "can't say".
type ScenarioPair struct {
	Importance, Evidence int
}

// ScenarioBacklog holds the votes on risk kinds, assumption then person, and
// the tests.
type ScenarioBacklog struct {
	Kinds map[string]map[string]string
	Tests []ScenarioTest // results name them by their number, from 1
}

// A ScenarioTest is one way to find out whether an assumption holds.
type ScenarioTest struct {
	Assumption string
	By         string
	Method     string
	Learn      string
	Pass       *ScenarioPass // nil when no pass mark was given
	EffortDays float64       // person-days
	LeadDays   float64       // working days of waiting
	Owner      string        // empty when nobody owns it
	Size       int           // people or cases; 0 when not given
}

// A ScenarioPass is a pass mark: the share that counts as support.
type ScenarioPass struct {
	Share float64 // above 0, at most 1
}

// A ScenarioTimebox holds the votes on weeks and what the lead sets.
type ScenarioTimebox struct {
	Votes   map[string]int
	Set     int // weeks; 0 takes what is proposed
	Checkin time.Weekday
	StopIf  string
	BuildIf string
}

// A ScenarioAction is a next step.
type ScenarioAction struct {
	What    string
	Owner   string
	DueDays int // days after it was written down
}

// A ScenarioUnderway is the discovery after its kickoff.
type ScenarioUnderway struct {
	Checkins []ScenarioCheckin
	Decision *ScenarioDecision // nil when the script leaves the box running
}

// A ScenarioCheckin is what is reported and rated at one check-in.
type ScenarioCheckin struct {
	Results    []ScenarioResult
	Evidence   map[string]map[string]int // person, then assumption, 1 to 9
	Confidence map[string]int            // 1 to 9
}

// A ScenarioResult is K of N for test number Test.
type ScenarioResult struct {
	Test, K, N int
}

// A ScenarioDecision ends the time box: build, stop or another.
type ScenarioDecision struct {
	Votes map[string]string
	Set   string
	Weeks int // of another box, 2 or 4; 0 for build and stop
}

// Person finds somebody by key.
func (s *Scenario) Person(key string) (ScenarioPerson, bool) {
	for _, p := range s.People {
		if p.Key == key {
			return p, true
		}
	}
	return ScenarioPerson{}, false
}

// Lead is the person who runs the kickoff.
func (s *Scenario) Lead() ScenarioPerson { return s.People[0] }

// SilentIn reports whether p never answers in stage.
func (p ScenarioPerson) SilentIn(stage string) bool { return slices.Contains(p.Silent, stage) }
