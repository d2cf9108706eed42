package scenario

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const scenarios = "../../testdata/scenarios"

// mustParse reads one of the scenarios in testdata.
func mustParse(t *testing.T, name string) *Scenario {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(scenarios, name))
	require.NoError(t, err)
	s, err := Parse(name, data)
	require.NoError(t, err, "Parse")
	return s
}

// wholeScenario uses every key once. Tests break it one place at a time.
const wholeScenario = `title: Two people
starts: 2027-03-01T09:00:00Z
pace_days: 2
people:
  ana: {name: Ana, zone: Europe/Lisbon}
  tui: {name: Tui, zone: Pacific/Auckland, silent: [timebox]}
brief:
  why: now
  outcome: half as many
  out_of_bounds: fares
  problem: Nobody knows.
  links: [https://x.example/a]
  questions: [{by: tui, ask: "Why?", answer: ""}]
framing:
  wordings:
    - {by: ana, level: 1, text: Broader.}
    - {by: tui, level: -2, text: Narrower.}
  votes:
    ana: {level: 0, ticks: [original, 2]}
    tui: {level: 1}
roles:
  self: {ana: core, tui: consulted}
  days: {ana: 2.5}
  named: [{by: ana, name: The harbour, ring: informed}]
  settled: {tui: core}
assumptions:
  - {id: A1, by: ana, text: People look it up., because: they said so}
  - {id: A2, by: tui, text: Counts arrive in time.}
ratings:
  round1:
    ana: {A1: [8, 2], A2: [5, null]}
    tui: {A1: [7, 3]}
  round2:
    tui: {A1: [8, 3]}
backlog:
  kinds: {A1: {ana: desirability}}
  tests:
    - {assumption: A1, by: ana, method: Interviews, learn: When., pass: {share: 0.6}, effort_days: 3, lead_days: 2.5, owner: tui, size: 12}
    - {assumption: A2, by: tui, method: Trial}
timebox: {votes: {ana: 4}, set: 6, checkin: sunday, stop_if: none, build_if: most}
actions: [{what: Ask., owner: tui, due_days: 0, done_at: 1}]
underway:
  checkins:
    - results: [{test: 1, k: 9, n: 12}]
      evidence: {ana: {A1: 6}}
      confidence: {ana: 6, tui: 5}
  decision: {votes: {ana: build, tui: another}, set: another, weeks: 4}
`

func TestParseReadsEveryKey(t *testing.T) {
	s, err := Parse("whole.yaml", []byte(wholeScenario))
	require.NoError(t, err)
	test := s.Backlog.Tests[0]
	for _, c := range []struct {
		what      string
		got, want any
	}{
		{"title", s.Title, "Two people"},
		{"starts", s.Starts.UTC().Format(time.RFC3339), "2027-03-01T09:00:00Z"},
		{"pace", s.PaceDays, 2},
		{"people keep their order", s.People[0].Key + s.People[1].Key, "anatui"},
		{"the first is the lead", s.Lead().Name, "Ana"},
		{"zone", s.People[1].Zone, "Pacific/Auckland"},
		{"silent", s.People[1].SilentIn("timebox"), true},
		{"not silent", s.People[1].SilentIn("rating"), false},
		{"brief", s.Brief.Why + s.Brief.Outcome + s.Brief.OutOfBounds, "nowhalf as manyfares"},
		{"problem", s.Brief.Problem, "Nobody knows."},
		{"link", s.Brief.Links[0], "https://x.example/a"},
		{"question", s.Brief.Questions[0], Question{By: "tui", Ask: "Why?"}},
		{"wording", s.Framing.Wordings[1], Wording{By: "tui", Level: -2, Text: "Narrower."}},
		{"level", s.Framing.Votes["tui"].Level, 1},
		{"the original is tick 0", s.Framing.Votes["ana"].Ticks[0], 0},
		{"a wording is ticked by number", s.Framing.Votes["ana"].Ticks[1], 2},
		{"self", s.Roles.Self["tui"], "consulted"},
		{"days", s.Roles.Days["ana"], 2.5},
		{"named", s.Roles.Named[0], Named{By: "ana", Name: "The harbour", Ring: "informed"}},
		{"settled", s.Roles.Settled["tui"], "core"},
		{"assumption", s.Assumptions[0], Assumption{ID: "A1", By: "ana", Text: "People look it up.", Because: "they said so"}},
		{"rating", s.Ratings.Round1["ana"]["A1"], Pair{Importance: 8, Evidence: 2}},
		{"can't say", s.Ratings.Round1["ana"]["A2"], Pair{Importance: 5}},
		{"round 2", s.Ratings.Round2["tui"]["A1"], Pair{Importance: 8, Evidence: 3}},
		{"kind", s.Backlog.Kinds["A1"]["ana"], "desirability"},
		{"test", test.Assumption + test.By + test.Method + test.Learn + test.Owner, "A1anaInterviewsWhen.tui"},
		{"pass mark", *test.Pass, Pass{Share: 0.6}},
		{"effort", test.EffortDays, 3.0},
		{"lead time", test.LeadDays, 2.5},
		{"size", test.Size, 12},
		{"weeks voted", s.Timebox.Votes["ana"], 4},
		{"weeks set", s.Timebox.Set, 6},
		{"check-in day", s.Timebox.Checkin, time.Sunday},
		{"marks", s.Timebox.StopIf + s.Timebox.BuildIf, "nonemost"},
		{"action", s.Actions[0], Action{What: "Ask.", Owner: "tui", DueDays: 0, DoneAt: 1}},
		{"result", s.Underway.Checkins[0].Results[0], Result{Test: 1, K: 9, N: 12}},
		{"evidence", s.Underway.Checkins[0].Evidence["ana"]["A1"], 6},
		{"confidence", s.Underway.Checkins[0].Confidence["tui"], 5},
		{"decision vote", s.Underway.Decision.Votes["ana"], "build"},
		{"decision", s.Underway.Decision.Set, "another"},
		{"further weeks", s.Underway.Decision.Weeks, 4},
	} {
		assert.True(t, c.got == c.want, c.what)
	}
}

func TestParseDefaults(t *testing.T) {
	const text = `title: Hardly anything
starts: 2027-03-01T10:00:00+01:00
people: {ana: {zone: UTC}}
brief:
assumptions: [{id: A1, by: ana, text: x}]
backlog: {tests: [{assumption: A1, by: ana, method: m}]}
timebox: {}
actions: [{what: x}]
underway: {decision: {votes: {ana: another}, set: build}}
`
	s, err := Parse("hardly.yaml", []byte(text))
	require.NoError(t, err)
	for _, c := range []struct {
		what      string
		got, want any
	}{
		{"starts keeps its instant", s.Starts.UTC().Format(time.RFC3339), "2027-03-01T09:00:00Z"},
		{"one working day a stage", s.PaceDays, 1},
		{"a name is the key", s.People[0].Name, "ana"},
		{"the problem is the title", s.Brief.Problem, "Hardly anything"},
		{"a test takes a day, waits for nothing and is nobody's", s.Backlog.Tests[0],
			Test{Assumption: "A1", By: "ana", Method: "m", EffortDays: 1, Expects: map[string]float64{}}},
		{"the weeks are those proposed", s.Timebox.Set, 0},
		{"check-ins are on Wednesdays", s.Timebox.Checkin, time.Wednesday},
		{"every ballot is whole", s.Deal, (*Deal)(nil)},
		{"an action is the lead's, due in a week", s.Actions[0], Action{What: "x", Owner: "ana", DueDays: 7}},
		{"another box has 2 weeks", s.Underway.Decision.Weeks, 2},
	} {
		assert.Equal(t, c.want, c.got, c.what)
	}
}

// A deal without figures has the usual ones; without the key there is none.
func TestParseDeal(t *testing.T) {
	const text = "title: x\nstarts: 2027-03-01T10:00:00+01:00\npeople: {ana: {zone: UTC}}\n"
	for deal, want := range map[string]*Deal{"": nil, "deal:\n": nil, "deal: {}\n": {15, 12}, "deal: {each: 3}\n": {3, 12}, "deal: {each: 20, second: 8}\n": {20, 8}} {
		s, err := Parse("deal.yaml", []byte(text+deal))
		require.NoError(t, err, deal)
		assert.Equal(t, want, s.Deal, deal)
	}
}
