package flows

import (
	"time"

	"soundings/engine"
	"soundings/flows/workdays"
)

// A Kickoff is the state of one kickoff: the fold of its journal. It is a
// plain value; whoever holds one may read it for ever, since Apply changes
// only a copy.
type Kickoff struct {
	ID      string
	Team    string
	Channel string
	Version int64 // entries applied so far

	Started time.Time
	Brief   Brief
	Leads   []UserID
	People  []Person // in the order in which they came
	Pace    int      // working days per stage

	Stage  Stage
	Window Window   // the open stage, or the last one that was open
	Past   []Window // closed windows, oldest first

	Framing     Framing
	Roles       Roles
	Assumptions []Assumption
	Rounds      []Round
	Reasons     []Reason
	Gists       map[string]Gist `json:",omitempty"` // by assumption
	Backlog     Backlog
	Timebox     Timebox
	Actions     []Action
	Summary     Summary `json:",omitzero"`
	Underway    Underway
	Extras      Extras `json:",omitzero"`
	Seen        Seen   `json:",omitzero"`

	Posted   map[string]Posting  // slot name -> the message that shows it
	Reminded map[UserID]LocalDay // the day after which someone may next be reminded
	Asking   []JoinRequest       // people who asked to join

	BeliefDrafts map[UserID]int `json:",omitempty"` // how often each asked for other words for an assumption
	GistDrafts   int            `json:",omitempty"` // how often a gist was asked for
	Loss         Loss           `json:",omitzero"`  // what the store has lost, if it has lost anything
	Emptied      map[string]int `json:",omitempty"` // boxes of ballots that were emptied, by kind
	Unreachable  Unreachable    `json:"Shut"`       // why the channel is out of reach, if it is
	Deserted     time.Time      // when the last one left; zero while anybody takes part

	zones  workdays.Zones
	made   made // since this fold or decision began
	cached cached
}

// A UserID names a person in the chat platform; opaque.
type UserID string

// A LocalDay is a date in somebody's own time zone, as 2006-01-02.
type LocalDay = workdays.Day

// A Posting is where a message of ours stands.
type Posting struct {
	Channel string
	TS      string // the platform's message id; a string, since a float would lose digits
}

// A Window is the time during which a stage, or a round of rating, takes
// answers.
type Window struct {
	Stage    Stage
	Round    int // of rating; 0 elsewhere
	Opened   time.Time
	Closes   time.Time // the planned fair close
	Asked    []UserID
	Done     map[UserID]time.Time // who has finished
	Answers  *Answers             `json:",omitempty"` // how many that were when it closed, where ballots are secret
	Phase    Phase
	Extended bool            // the extra day after a missed quorum was given
	Wishes   map[UserID]bool // leads who wish to close below quorum
	Closed   time.Time       // when it closed
	Why      CloseReason     // why it closed
	Thin     bool            // it closed below quorum
	Until    time.Time       // when settling ends by itself
}

// A Phase says what a window is waiting for.
type Phase string

// The phases of a window.
const (
	PhaseOpen     Phase = "open"     // for answers
	PhaseSettling Phase = "settling" // for the lead to settle the result
	PhaseClosed   Phase = "closed"   // for nothing
)

// A CloseReason says why a window closed.
type CloseReason string

// The reasons to close.
const (
	ClosedComplete CloseReason = "complete" // everyone asked has finished
	ClosedInTime   CloseReason = "in time"  // the window ended
	ClosedByLead   CloseReason = "by lead"
	ClosedSkipped  CloseReason = "skipped"

	ClosedAbandoned CloseReason = "abandoned" // the kickoff ended without a decision
)

// Quorum reports how many of those asked must be heard before a window may
// close by itself: half, rounded up.
func (w Window) Quorum() int { return (len(w.Asked) + 1) / 2 }

// Finished counts those asked who have finished.
func (w Window) Finished() int {
	if w.Answers != nil {
		return min(w.Answers.Finished, len(w.Asked))
	}
	return len(keep(w.Asked, func(u UserID) bool { return has(w.Done, u) }))
}

// A Brief is what the lead wrote to start with, and what was asked about it.
type Brief struct {
	Title       string
	Why         string // why now
	Outcome     string // hoped for, and how it is measured
	OutOfBounds string
	Problem     string
	Links       []string
	Read        map[UserID]bool
	Questions   []Question
}

// A Question was asked about the brief. An empty answer leaves it open.
type Question struct {
	N        int
	By       UserID
	Ask      string
	Answer   string
	Answered UserID
}

// Framing is the ladder of wordings and what people made of it.
type Framing struct {
	Wordings  []Wording              // the original is not among them; it is number 0
	Votes     map[UserID]FramingVote // until they are counted
	Ticked    []int                  `json:",omitempty"` // how many could live with each wording, once that is counted
	Level     engine.LadderLevel     // set when the window closes
	Proposed  int                    // number of the wording with most ticks
	Settled   bool
	SettledBy UserID // empty when nobody settled in time and the proposal stood
	Problem   string // the problem statement as agreed
	AtLevel   int    // the level at which the discovery works
	Drafts    int    `json:",omitempty"` // how often drafts for the ladder were asked for
}

// A Wording is one way to put the problem, at one level of the ladder.
type Wording struct {
	N       int // from 1
	By      UserID
	Level   int // +2 broader … -2 narrower
	Text    string
	Drafted bool // began as a machine's draft and was not edited since
	Began   bool `json:",omitempty"` // began as a machine's draft, edited since or not
}

// A FramingVote is one person's choice of level and of wordings they could
// live with. Tick 0 is the original.
type FramingVote struct {
	Level int
	Ticks []int
}

// A Ring says how close someone is to the work.
type Ring string

// The rings of the stakeholder map. The empty ring means not placed.
const (
	Core      Ring = "core"
	Consulted Ring = "consulted"
	Informed  Ring = "informed"
)

// Rings lists the rings, innermost first.
func Rings() []Ring { return []Ring{Core, Consulted, Informed} }

// Roles is who stands in which ring.
type Roles struct {
	Self    map[UserID]Ring
	Days    map[UserID]float64 // days a week that a core person can give
	Named   []NamedPerson
	Settled map[UserID]Ring // what the lead settled
	Done    bool
	DoneBy  UserID
	Skipped bool
}

// A NamedPerson was named as missing, or as expected in a ring. User is set
// when the name is somebody on the platform.
type NamedPerson struct {
	By   UserID
	Name string
	User UserID
	Ring Ring
}

// An Assumption is a belief on which the opportunity rests.
type Assumption struct {
	ID        string // A1, A2, …
	By        UserID // hidden until rating has closed
	Text      string
	Because   string
	JoinedTo  string   // another assumption that stands for this one
	Wordings  []string // wordings joined to this one
	Withdrawn bool
	Drafted   bool `json:",omitempty"` // its words are a machine's, unedited
}

// A Scale is one of the two questions of a ballot.
type Scale string

// The scales.
const (
	Importance Scale = "importance"
	Evidence   Scale = "evidence"
)

// CantSay is the ballot entry of someone who cannot judge.
const CantSay = -1

// A Marking is one person's entry for one assumption: 1 to 9, CantSay, or 0
// for no answer yet.
type Marking struct {
	Importance int
	Evidence   int
}

// A Round is one blind pass of rating.
type Round struct {
	N       int
	IDs     []string                      // the assumptions asked
	Ballots map[UserID]map[string]Marking // what each person entered, until the last round has closed
	Camps   map[string]Camps              `json:",omitempty"` // how those rated who are apart, by assumption
	Result  *engine.Result                // set when the round closes
	Splits  []string                      // what was split at its close
	Rule    Rule                          // by which the result was made
}

// A Rule says how a map was divided into its zones, or a result judged. The empty value of a map stands for
// the cuts at the medians alone, as maps were made at first: people decided upon
// those, so what moves on them moves by that rule.
type Rule string

// ByLean is the rule of today, see package engine.
const ByLean Rule = "lean"

// ByPlan is the rule by which results are judged today: what was planned
// beforehand decides, and before the planned number there is no verdict.
const ByPlan Rule = "plan"

// A Reason says why someone rated a split assumption as they did. By is
// empty when it was given unsigned.
type Reason struct {
	N          int
	Assumption string
	By         UserID
	Text       string
}

// A Gist says in a few words, without taking sides, what the unsigned reasons
// about a split assumption say.
type Gist struct {
	By      UserID // the lead who let it stand
	Text    string
	Drafted bool // it is a machine's draft, unedited
}

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
	Size       int  // people or cases; 0 when none was given
	Census     bool `json:",omitempty"` // these are all there are
	Withdrawn  bool
}

// Timebox is how long discovery may take.
type Timebox struct {
	Votes    map[UserID]int // until they are counted
	Voters   int            `json:",omitempty"` // how many votes were counted
	Proposal engine.Proposal
	Median   engine.Figure
	IQR      engine.Figure
	Weeks    int // 0 until set
	Checkin  time.Weekday
	StopIf   string
	BuildIf  string
	SetBy    UserID
	Starts   time.Time
	Ends     time.Time
	Renewals []int // weeks of each further box
}

// An Action is something somebody will do next.
type Action struct {
	N         int
	What      string
	Owner     UserID
	Due       LocalDay
	Withdrawn bool `json:",omitempty"`
}

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
	Moved      []Move             // set at its close
	Counted    *CheckinConfidence `json:",omitempty"` // likewise; nil where an older release closed it
}

// A CheckinConfidence is what the votes of confidence at a check-in came to.
type CheckinConfidence struct {
	Median, IQR engine.Figure
	Voters      int
	Core        int // of these, in the core team
}

// A TestResult is k of n against the pass mark.
type TestResult struct {
	Test int
	K, N int
	By   UserID
	Rule Rule `json:",omitempty"` // ByPlan; one without was judged by its pass mark alone, and stays so
}

// A Move is an assumption whose evidence changed at a check-in.
type Move struct {
	Assumption string
	From, To   engine.Figure
	ZoneFrom   engine.Zone
	ZoneTo     engine.Zone
	Raters     int          `json:",omitempty"` // how many rated it at the check-in; 0 where an older release counted
	Doubt      engine.Doubt `json:",omitempty"` // why more evidence does not count yet
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
	At      time.Time
	Earlier []Decision // decisions for another box
}

// A JoinRequest is somebody who asked to take part.
type JoinRequest struct {
	Person Person
}
