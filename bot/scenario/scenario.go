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
//
// The fields are the format: each is a key of the file, read in the order in
// which they stand here, since later ones name the people, assumptions and
// tests of earlier ones. Their tags say what is allowed:
//
//	is    the rule that a value or the items of a list go by, with its
//	      arguments; none is any text; - is no key
//	or    what counts when the key is left out, which it may only be with this
//	list  what a list holds
//	keys  the rule for the keys of a mapping, then for those of inner ones
type Scenario struct {
	Title       string    `is:"heading the title of the kickoff"`
	Starts      time.Time `is:"instant"`
	PaceDays    int       `is:"whole pace_days 1 10" or:"1"`                         // working days per stage
	LeaveOut    []string  `is:"step" list:"steps: framing, roles, backlog, timebox"` // which the lead leaves out at the start
	WithoutLead bool      `is:"yes" or:"false"`                                      // true: the lead has their own ratings left out, and gives none
	People      People    // in file order; the first is the lead
	Brief       Brief
	Framing     Framing
	Roles       Roles
	Assumptions []Assumption `list:"assumptions, each {id, by, text, because}"`
	Tidy        []Tidied     `list:"what the lead does before the rating, each an assumption with text, word or join"` // the rest of what stands out stays as it is
	Ratings     Ratings
	Backlog     Backlog
	Deal        *Deal     // nil when everybody rates everything
	Timebox     *Timebox  // nil when the lead takes what is proposed
	Actions     []Action  `list:"actions, each {what, owner, due_days}"`
	Underway    *Underway // nil when the script ends with the summary
}

// Stages are those in which somebody may be silent, in order.
var Stages = []string{"brief", "framing", "roles", "assumptions", "rating", "backlog", "timebox", "close", "underway"}

// People are those who take part, in file order.
type People []Person

// A Person takes part.
type Person struct {
	Key    string   `is:"-"`
	Name   string   `is:"heading a name" or:""` // the key when left out
	Zone   string   `is:"zone"`
	Silent []string `is:"silent" list:"stages"` // in which they never answer
}

// A Brief is what the lead starts with, and what others ask about it.
type Brief struct {
	Why         string
	Outcome     string
	OutOfBounds string
	Problem     string     `is:"words the problem statement" or:""` // the title when left out
	Links       []string   `is:"words a link" list:"links"`
	Questions   []Question `list:"questions, each {by, ask, answer}"`
}

// A Question is asked about the brief; an empty Answer leaves it open.
type Question struct {
	By     string `is:"speaker brief"`
	Ask    string `is:"words the question"`
	Answer string
}

// Framing holds the wordings on the ladder and the votes on them.
type Framing struct {
	Wordings []Wording              `list:"wordings, each {by, level, text}"`
	Votes    map[string]FramingVote `keys:"speaker framing"`
}

// A Wording puts the problem at one level, +2 broader to -2 narrower.
type Wording struct {
	By    string `is:"speaker framing"`
	Level int    `is:"level a whole number from -2 (narrower) to 2 (broader)"`
	Text  string `is:"wording the wording"`
}

// A FramingVote picks a level, and ticks wordings by their number
// from 1; 0 stands for the original.
type FramingVote struct {
	Level int   `is:"level a whole number from -2 (narrower) to 2 (broader)"`
	Ticks []int `is:"tick" list:"wordings: original, or their numbers"`
}

// Roles says who stands in which ring: core, consulted or informed.
type Roles struct {
	Self    map[string]string  `is:"ring" keys:"speaker roles"`
	Days    map[string]float64 `is:"number days 0 5" keys:"speaker roles"` // a week; who is left out gives the usual two
	Named   []Named            `list:"people, each {by, name, ring}"`
	Settled map[string]string  `is:"ring" keys:"person"` // what the lead settles
}

// A Named is somebody named as missing, or expected in a ring.
type Named struct {
	By   string `is:"speaker roles"`
	Name string `is:"heading the name of who is missing"`
	Ring string `is:"ring"`
}

// An Assumption is a belief that somebody adds.
type Assumption struct {
	ID      string `is:"id"`
	By      string `is:"speaker assumptions"`
	Text    string `is:"words the belief"`
	Because string
}

// A Tidied is what a lead does about an assumption that stands out on the list, before it
// is rated: puts it into other words, joins it to one that looks alike, or sends it back
// with a word to whoever wrote it.
type Tidied struct {
	Assumption string `is:"assumption"`
	Text       string // the lead's own words for it
	Join       string `is:"assumption" or:""` // the one that stands for both
	Word       string // with which it goes back
	Answer     string // the author's new words; empty: they do not answer
}

// A Deal is how the lead has the list dealt out: how many assumptions a person
// rates at most, and how many contenders at most everybody rates after that, beside
// what is split.
type Deal struct {
	Each   int `is:"whole each 1 100" or:"15"`
	Second int `is:"whole second 1 100" or:"12"`
}

// Ratings holds the ballots: person, then assumption. Either round may name
// assumptions that somebody turns out not to be asked about: where the list is
// dealt out, what is in another's share, and in round 2 what is not asked again.
// Nobody answers what they are not asked.
type Ratings struct {
	Round1 map[string]map[string]Pair `keys:"speaker rating, assumption"`
	Round2 map[string]map[string]Pair `keys:"speaker rating, assumption"`

	// Because is what somebody says that the evidence rests on, where they rated it 7 or
	// more in round 1 and their ballot asks.
	Because map[string]map[string]string `keys:"speaker rating, assumption"`
}

// A Pair is a rating on both scales, 1 to 9; 0 stands for "can't say".
type Pair struct {
	Importance, Evidence int
}

// Backlog holds the votes on risk kinds, assumption then person, and
// the tests.
type Backlog struct {
	Kinds map[string]map[string]string `is:"risk" keys:"assumption, speaker backlog"`
	// Results name them by their number, from 1. Those of check-ins go on from there.
	Tests []Test `list:"tests, each with at least assumption, by and method"`
}

// A Test is one way to find out whether an assumption holds.
type Test struct {
	Assumption string `is:"assumption"`
	By         string `is:"speaker backlog"`
	Method     string `is:"heading how it is to be found out"`
	Learn      string
	Pass       *Pass   // nil when no pass mark was given
	EffortDays float64 `is:"number effort_days 0 60" or:"1"` // person-days
	LeadDays   float64 `is:"number lead_days 0 60" or:"0"`   // working days of waiting
	Owner      string  `is:"person" or:""`                   // empty when nobody owns it
	Size       int     `is:"whole size 1 1000000" or:"0"`    // people or cases; 0 when not given
	Census     bool    `is:"yes" or:"false"`                 // these are all there are
	Care       bool    `is:"yes" or:"false"`                 // it touches health, children, or people who depend on whoever asks

	// What each expects of it before it has a result, from 0 to 1: the share, or of a
	// figure or a yes how likely it is met. People can say only in which fifth it is.
	Expects map[string]float64 `is:"number expects 0 1" keys:"speaker timebox"`
}

// A Pass is a pass mark: the share that counts as support, a figure of a unit
// that is at least or at most so much, or a yes.
type Pass struct {
	Share  float64
	At     float64
	AtMost bool
	Unit   string // of a figure; empty for the other two
	Yes    bool
}

// A Timebox holds the votes on weeks and what the lead sets.
type Timebox struct {
	Votes   map[string]int    `is:"vote weeks 1 12" keys:"speaker timebox"`
	Worth   map[string]int    `is:"whole worth 1 9" keys:"speaker timebox"` // 1 surely not worth building, 9 surely; optional, as is Cost
	Cost    map[string]string `is:"cost" keys:"speaker timebox"`            // what being wrong would cost
	Set     int               `is:"whole weeks 1 12" or:"0"`                // weeks; 0 takes what is proposed
	Checkin time.Weekday      `is:"weekday" or:"3"`                         // Wednesday when left out
	StopIf  string
	BuildIf string
	StopOn  string `is:"assumption" or:""` // the assumption that tells; empty: not tested
	BuildOn string `is:"assumption" or:""`
}

// An Action is a next step.
type Action struct {
	What    string `is:"words what is to be done"`
	Owner   string `is:"person" or:""`                // the lead when left out
	DueDays int    `is:"whole due_days 0 365" or:"7"` // days after it was written down
	DoneAt  int    `is:"whole done_at 0 99" or:"0"`   // the check-in at which its owner says that it is done; 0 for none
}

// Underway is the discovery after its kickoff.
type Underway struct {
	Checkins []Checkin `list:"check-ins, each {results, evidence, confidence}"`
	Decision *Decision // nil when the script leaves the box running
	Then     *Underway // the further box, where that is the decision
}

// Boxes are the time boxes of a discovery, one after the other.
func (s *Scenario) Boxes() []*Underway {
	var out []*Underway
	for u := s.Underway; u != nil; u = u.Then {
		out = append(out, u)
	}
	return out
}

// Checkins are those of all boxes, in the order in which they come.
func (s *Scenario) Checkins() []Checkin {
	var out []Checkin
	for _, u := range s.Boxes() {
		out = append(out, u.Checkins...)
	}
	return out
}

// AllTests are the tests of the backlog and those that are added at check-ins, as
// they are numbered.
func (s *Scenario) AllTests() []Test {
	out := slices.Clone(s.Backlog.Tests)
	for _, c := range s.Checkins() {
		out = append(out, c.Tests...)
	}
	return out
}

// AllAssumptions are those of the list, and those that are added at check-ins.
func (s *Scenario) AllAssumptions() []Assumption {
	out := slices.Clone(s.Assumptions)
	for _, c := range s.Checkins() {
		out = append(out, c.Assumptions...)
	}
	return out
}

// A Checkin is what is reported and rated at one check-in.
type Checkin struct {
	Results    []Result                   `list:"results, each {test, k, n}"`
	Evidence   map[string]map[string]int  `is:"whole evidence 1 9" keys:"speaker underway, assumption"`
	Confidence map[string]int             `is:"whole confidence 1 9" keys:"speaker underway"`
	Ratings    map[string]map[string]Pair `keys:"speaker underway, assumption"` // of assumptions that were added at an earlier check-in

	Drops       []Drop       `list:"tests that are dropped, each {test, by, why}"`
	Assumptions []Assumption `list:"assumptions, each {id, by, text, because}"` // to be rated at the next check-in
	Tests       []Test       `list:"tests, each with at least assumption, by and method"`
}

// A Drop gives up test number Test, and says why.
type Drop struct {
	Test int
	By   string
	Why  string
}

// A Result is one report on test number Test: K of N more, or where that is
// its pass mark a figure or a yes.
type Result struct {
	Test, K, N int
	Figure     float64
	Yes        bool

	Learnt, Surprise, Quote, Link string
	Why                           string // of a correction of the last report on that test: what was wrong
}

// A Decision ends the time box: build, stop or another.
type Decision struct {
	Votes map[string]string `is:"decision" keys:"speaker underway"`
	Set   string            `is:"decision"`
	Why   string            // the lead's sentence, where that goes against the marks or the votes
	Weeks int               `is:"further"` // of another box, 2 or 4; 0 for build and stop
}

// Person finds somebody by key.
func (s *Scenario) Person(key string) (Person, bool) {
	i := slices.IndexFunc(s.People, func(p Person) bool { return p.Key == key })
	if i < 0 {
		return Person{}, false
	}
	return s.People[i], true
}

// Lead is the person who runs the kickoff.
func (s *Scenario) Lead() Person { return s.People[0] }

// SilentIn reports whether p never answers in stage.
func (p Person) SilentIn(stage string) bool { return slices.Contains(p.Silent, stage) }
