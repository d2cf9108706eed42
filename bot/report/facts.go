package report

import (
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/views"
)

// facts are what a kickoff holds, with names for ids and days for moments:
// the file kickoff.json as it stands, and the data of the pages and of the
// spreadsheet. Fields of the JSON may be added, never renamed. What is not in
// it is said by the pages alone.
type facts struct {
	Format    int            `json:"format"` // of this file: it rises when a field takes on another meaning
	ID        string         `json:"id"`
	Exported  time.Time      `json:"exported"` // what has passed by then is in it
	Title     typed          `json:"title"`
	Problem   typed          `json:"problem"`
	Level     level          `json:"level"`
	Ladder    []wording      `json:"ladder"` // from broad to narrow
	Roles     roles          `json:"roles"`
	Score     *engine.Result `json:"score"`
	Rounds    [][]string     `json:"rounds"`
	Backlog   []assumption   `json:"backlog"` // in test order
	Timebox   timebox        `json:"timebox"`
	Actions   []action       `json:"actions"`
	Questions []question     `json:"questions"`
	Underway  underway       `json:"underway"`
	Foresight foresight      `json:"foresight"`
	Thin      []string       `json:"thin_stages"` // stages that closed below quorum
	LeadWords []leadWord     `json:"lead_words"`
	Changes   []change       `json:"changed_since_posting"` // parts of the summary
	LeftOut   []state.Stage  `json:"left_out,omitempty"`    // stages that the kickoff passed over
	Sides     *sides         `json:"sides,omitempty"`       // where the map hangs on who rated
	NotRating []typed        `json:"not_rating,omitempty"`  // leads who chose beforehand not to rate
	CalledOff *calledOff     `json:"called_off,omitempty"`  // nil unless a lead ended it before its time

	Stage     state.Stage       `json:"-"`
	Lead      typed             `json:"-"`
	Brief     brief             `json:"-"`
	TestFirst []assumption      `json:"-"`
	Three     []matter          `json:"-"`
	Untested  []string          `json:"-"` // of those to test first
	Tests     []test            `json:"-"` // in test order
	Few       map[string]string `json:"-"` // of parts of the summary: that few answered
	Apart     string            `json:"-"` // what the core team and the others see differently
	Single    string            `json:"-"` // that no single ballot decides
	LeadOut   typed             `json:"-"` // that leads chose not to rate
	Care      bool              `json:"-"` // one of them at least needs it
	Open      []question        `json:"-"`
	Ended     bool              `json:"-"`
	Done      bool              `json:"-"` // with its summary, without a time box
}

// sides tell of a map where the core team and the others differ beyond chance, neither of
// them few, and which of the first three hang on a single ballot, whoever's.
type sides struct {
	Apart   []apart  `json:"apart"`
	Pivotal []string `json:"one_ballot_decides,omitzero"` // nil where it was not looked at
}

type apart struct {
	Assumption string      `json:"assumption"`
	Scale      state.Scale `json:"scale"`
	CoreHigher bool        `json:"core_higher"`
}

type calledOff struct {
	Why typed  `json:"why"`
	By  typed  `json:"by"`
	On  string `json:"on"`
}

type brief struct {
	Problem, Why, Outcome, OutOfBounds typed
	Links                              []typed
}

type level struct {
	Median   engine.Figure `json:"median"`
	IQR      engine.Figure `json:"iqr"`
	Settled  *int          `json:"settled"`
	HalfStep bool          `json:"half_step"`
	Votes    int           `json:"votes"`

	At        int    `json:"-"` // 0 until settled
	SettledBy typed  `json:"-"` // nobody where no one objected in time
	Drafts    string `json:"-"`
	Came      string `json:"-"` // how the wording came to stand
}

type wording struct {
	Level    int   `json:"level"`
	Text     typed `json:"text"`
	By       typed `json:"by,omitempty"`
	Ticks    int   `json:"ticks"`
	Original bool  `json:"original"`
	Drafted  bool  `json:"drafted"`        // by a machine, and not changed since
	Began    bool  `json:"began_as_draft"` // by a machine, changed since or not
}

type roles struct {
	Core      []typed           `json:"core"`
	Consulted []typed           `json:"consulted"`
	Informed  []typed           `json:"informed"`
	Unplaced  []typed           `json:"unplaced"`
	Missing   []missing         `json:"missing"`
	Days      map[typed]float64 `json:"days"`
}

type missing struct {
	Name typed      `json:"name"`
	Ring state.Ring `json:"ring"`
}

type assumption struct {
	ID        string `json:"assumption"`
	Since     int    `json:"since_checkin,omitempty"` // where it was added underway
	Statement typed  `json:"statement"`
	Zone      string `json:"zone"`
	Kind      string `json:"kind"` // ties stand side by side, with a slash
	Tests     []test `json:"tests"`

	Score       engine.AssumptionScore `json:"-"`
	Drafted     bool                   `json:"-"`
	Because     typed                  `json:"-"`
	Joined      []typed                `json:"-"` // the words of assumptions joined to it
	Reasons     []typed                `json:"-"`
	Gist        typed                  `json:"-"`
	GistDrafted bool                   `json:"-"`
}

type test struct {
	N          int      `json:"n"`
	Method     typed    `json:"method"`
	Learn      typed    `json:"learn"`
	PassMark   *float64 `json:"pass_mark"`
	EffortDays float64  `json:"effort_days"`
	LeadDays   float64  `json:"lead_days"`
	Owner      typed    `json:"owner"`
	Size       *int     `json:"size"`
	Since      int      `json:"since_checkin,omitempty"` // where it was added underway
	NotBefore  string   `json:"not_before,omitempty"`    // where it was put off
	Dropped    typed    `json:"dropped,omitempty"`       // why, where it was
	Bound      *bound   `json:"bound"`                   // where the pass mark is a figure
	YesNo      bool     `json:"yes_no"`                  // a yes counts as support

	Care bool `json:"care,omitempty"` // it touches health, children, or people who depend on whoever asks

	Assumption             string `json:"-"`
	Pass, PassCell, Effort string `json:"-"` // in words
}

type bound struct {
	At     float64 `json:"at"`
	Unit   typed   `json:"unit"`
	AtMost bool    `json:"at_most"`
}

type timebox struct {
	ProposedWeeks int    `json:"proposed_weeks"`
	Why           typed  `json:"why"`
	Votes         votes  `json:"votes"`
	Weeks         int    `json:"weeks"`
	Starts        string `json:"starts"`
	Ends          string `json:"ends"`
	Checkin       string `json:"checkin"`
	StopIf        typed  `json:"stop_if"`
	BuildIf       typed  `json:"build_if"`
	Marks         []mark `json:"marks"` // both, with what is known of them
	Voted         string `json:"-"`
	Worth         votes  `json:"worth"` // 1 surely not worth building, 9 surely, before the first test
	Cost          costs  `json:"cost"`  // what being wrong would cost
	Decided       string `json:"decided"`

	WithRenewals string `json:"-"`
	Outlook      string `json:"-"`
	Bars         Code   `json:"-"`
}

type mark struct {
	Build bool            `json:"build"` // else it would make us stop
	Text  typed           `json:"text"`
	On    string          `json:"on"` // an assumption or a test; empty: not tested
	State state.MarkState `json:"state"`
}

type votes struct {
	Median engine.Figure `json:"median"`
	IQR    engine.Figure `json:"iqr"`
	N      int           `json:"n"`
}

type costs struct {
	Median engine.Cost         `json:"median"` // the higher of two; empty: nobody said, or few and most of them not the same
	N      int                 `json:"n"`
	Of     map[engine.Cost]int `json:"of"` // empty where few said
}

type action struct {
	What  typed          `json:"what"`
	Owner typed          `json:"owner"`
	Due   state.LocalDay `json:"due"`
	Done  state.LocalDay `json:"done,omitempty"`
}

type question struct {
	Ask    typed `json:"ask"`
	By     typed `json:"by"`
	Answer typed `json:"answer"`
	Open   bool  `json:"open"`

	Answered typed `json:"-"` // by whom
}

type underway struct {
	Checkins []checkin `json:"checkins"`
	Decision *decision `json:"decision"`
	Dropped  []test    `json:"dropped_tests"`
	Record   []belief  `json:"record"` // what was believed, done and learnt
	Cost     cost      `json:"cost"`

	Found string   `json:"-"` // empty until a check-in has closed
	Last  decision `json:"-"` // empty while the time box runs
	Guess typed    `json:"-"`
	Ahead []string `json:"-"`
	Took  string   `json:"-"`
}

// A foresight is what people expected of tests before anybody knew.
type foresight struct {
	Tests []foreseen            `json:"tests"` // with a result, by number
	Score engine.ForesightScore `json:"score"` // of those that are done
}

// A foreseen is what was expected of a test, as shares from 0 to 1: of a share
// itself, of a figure or a yes how likely it is met.
type foreseen struct {
	Test       int                       `json:"test"`
	Assumption string                    `json:"assumption"`
	Method     typed                     `json:"method"`
	N          int                       `json:"n"` // who said something
	Expected   engine.Figure             `json:"expected"`
	IQR        engine.Figure             `json:"iqr"`
	Rings      map[state.Ring]ringsShare `json:"rings"` // where neither a ring nor the others are few
	Came       engine.Figure             `json:"came"`
	Final      bool                      `json:"final"` // what was planned is done
}

type ringsShare struct {
	N        int           `json:"n"`
	Expected engine.Figure `json:"expected"`
}

// A belief is one line of the record of a discovery.
type belief struct {
	Assumption string     `json:"assumption"`
	Statement  typed      `json:"statement"`
	First      bool       `json:"test_first"`
	Fate       views.Fate `json:"fate"`
	Learnt     []typed    `json:"learnt"`

	Came  string   `json:"-"`
	Tests []tested `json:"-"`
}

// tested is what a test of a belief came to.
type tested struct {
	Method typed
	Came   string
}

type cost struct {
	Planned float64 `json:"planned_days"` // person-days of all tests
	Used    float64 `json:"used_days"`    // of those with a result, as they were planned
}

type checkin struct {
	N          int      `json:"n"`
	Opened     string   `json:"opened"`
	Results    []result `json:"results"`
	Moved      []moved  `json:"moved"`
	Placed     []placed `json:"placed"` // laid on the map for the first time
	Confidence votes    `json:"confidence"`

	Closed         bool   `json:"-"`
	ConfidenceMove string `json:"-"`
}

type result struct {
	Test       int            `json:"test"`
	Assumption string         `json:"assumption"`
	Method     typed          `json:"method"`
	K          int            `json:"k"`
	N          int            `json:"n"`
	Verdict    engine.Verdict `json:"verdict"`            // of the test, with this report
	Entry      int            `json:"entry"`              // its number among all reports; 0 where an older release took the last for the whole
	Figure     *float64       `json:"figure"`             // where the pass mark is one
	Corrects   int            `json:"corrects,omitempty"` // the entry in whose place it counts
	Corrected  bool           `json:"corrected"`          // a later entry counts in its place
	Why        typed          `json:"why,omitempty"`
	InAll      inAll          `json:"in_all"` // of the test, with this report
	Learnt     typed          `json:"learnt"`
	Surprise   typed          `json:"surprise"`
	Link       typed          `json:"link"`
	Quote      typed          `json:"quote"`

	Finding string `json:"-"`
}

type placed struct {
	Assumption string        `json:"assumption"`
	Statement  typed         `json:"statement"`
	Importance engine.Figure `json:"importance"`
	Evidence   engine.Figure `json:"evidence"`
	Raters     int           `json:"raters"`
	Zone       string        `json:"zone"`

	Text string `json:"-"`
}

// inAll is what the reports of a test add up to.
type inAll struct {
	K       int  `json:"k"`
	N       int  `json:"n"`
	Planned int  `json:"planned"`
	Narrow  bool `json:"narrowly"`
}

type moved struct {
	Assumption string        `json:"assumption"`
	From       engine.Figure `json:"from"`
	To         engine.Figure `json:"to"`
	Raters     int           `json:"raters"` // who rated it at the check-in; 0 where an older release mixed in the ratings of the kickoff
	Zone       string        `json:"zone"`

	Text string `json:"-"`
}

type decision struct {
	Choice state.Choice         `json:"choice"`
	Weeks  int                  `json:"weeks,omitempty"`
	Votes  map[state.Choice]int `json:"votes"`
	Early  bool                 `json:"early"`
	At     string               `json:"at"`
	Why    typed                `json:"why,omitempty"` // where a lead settled against the marks or the votes

	Tally string `json:"-"`
	Rings string `json:"-"`
}

type leadWord struct {
	Part string `json:"part"`
	Text typed  `json:"text"`
	By   typed  `json:"by"`
}

type change struct {
	Part string `json:"part"`
	By   typed  `json:"by"`
	On   string `json:"on"`
}

// Has reports whether the kickoff has the stage of that name: what it leaves out is
// not told.
func (f facts) Has(s state.Stage) bool { return !slices.Contains(f.LeftOut, s) }
