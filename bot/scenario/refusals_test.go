package scenario

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The whole scenario, broken in one place: the first occurrence of old becomes
// new, and the message must be exactly want.
var brokenScenarios = []struct {
	rule, old, new, want string
}{
	{"an unknown key", "pace_days: 2", "pace: 2",
		`s.yaml:3: pace: the key "pace" is unknown; one of title, starts, pace_days, leave_out, without_lead, people, brief, framing, roles, assumptions, tidy, ratings, backlog, deal, timebox, actions, underway`},
	{"a key that is no plain name", "pace_days: 2", `"pace\ndays": 2`,
		`s.yaml:3: "pace\ndays": the key "pace\ndays" is unknown; one of title, starts, pace_days, leave_out, without_lead, people, brief, framing, roles, assumptions, tidy, ratings, backlog, deal, timebox, actions, underway`},
	{"a key given twice", "pace_days: 2", "title: Again",
		`s.yaml:3: title: the key is given twice, first on line 1; each key once`},
	{"a person given twice", "  tui: {name: Tui", "  ana: {name: Tui",
		`s.yaml:6: people.ana: the key is given twice, first on line 5; each key once`},
	{"a list as a key", "pace_days: 2", "[1, 2]: 2",
		`s.yaml:3: a list is not allowed as a key; a plain name`},
	{"no title", "title: Two people\n", "",
		`s.yaml:1: title: missing; the title of the kickoff`},
	{"an empty title", "title: Two people", `title: " "`,
		`s.yaml:1: title: the text is empty; the title of the kickoff`},
	{"a title too long for a heading", "title: Two people", "title: " + strings.Repeat("ö", 151),
		`s.yaml:1: title: a text of 151 characters is too long; at most 150 characters`},
	{"a text too long for a form", "why: now", "why: " + strings.Repeat("ö", 3001),
		`s.yaml:8: brief.why: a text of 3001 characters is too long; at most 3000 characters`},
	{"a list for a text", "why: now", "why: [now]",
		`s.yaml:8: brief.why: a list is not allowed; a text`},
	{"a foreign tag", "why: now", "why: !secret now",
		`s.yaml:8: brief.why: the tag "!secret" is not allowed; a text`},
	{"no start", "starts: 2027-03-01T09:00:00Z\n", "",
		`s.yaml:1: starts: missing; a date and time with its offset, such as 2027-03-01T09:00:00Z`},
	{"a start without an offset", "starts: 2027-03-01T09:00:00Z", "starts: 2027-03-01 09:00",
		`s.yaml:2: starts: "2027-03-01 09:00" is not allowed; a date and time with its offset, such as 2027-03-01T09:00:00Z`},
	{"a pace of no days", "pace_days: 2", "pace_days: 0",
		`s.yaml:3: pace_days: pace_days 0 is not allowed; a whole number from 1 to 10`},
	{"half a day of pace", "pace_days: 2", "pace_days: 1.5",
		`s.yaml:3: pace_days: pace_days 1.5 is not allowed; a whole number from 1 to 10`},
	{"a number in quotes", "pace_days: 2", `pace_days: "2"`,
		`s.yaml:3: pace_days: pace_days "2" is not allowed; a whole number from 1 to 10`},
	{"a number in another notation", "pace_days: 2", `pace_days: 0x2`,
		`s.yaml:3: pace_days: pace_days 0x2 is not allowed; a whole number from 1 to 10`},
	{"a share of nothing", "pace_days: 2", "pace_days: 2\ndeal: {each: 0}",
		`s.yaml:4: deal.each: each 0 is not allowed; a whole number from 1 to 100`},
	{"a half contender", "pace_days: 2", "pace_days: 2\ndeal: {second: 1.5}",
		`s.yaml:4: deal.second: second 1.5 is not allowed; a whole number from 1 to 100`},
	{"an alias", "why: now\n  outcome: half as many", "why: &x now\n  outcome: *x",
		`s.yaml:9: brief.outcome: aliases are not allowed; the value written out`},
	{"a merge key", "  why: now\n", "  <<: {why: now}\n",
		`s.yaml:8: brief."<<": the key "<<" is unknown; one of why, outcome, out_of_bounds, problem, links, questions`},
	{"a second document", "timebox: {votes", "---\ntimebox: {votes",
		`s.yaml:40: a second document begins; one document in a file`},

	{"a person key with a space", "  tui: {name: Tui", "  tui x: {name: Tui",
		`s.yaml:6: people."tui x": "tui x" is not allowed as the key of a person; a letter, then up to 39 letters, digits, - or _`},
	{"no zone", "zone: Pacific/Auckland, ", "",
		`s.yaml:6: people.tui.zone: missing; a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland`},
	{"an empty zone", "zone: Pacific/Auckland", `zone: ""`,
		`s.yaml:6: people.tui.zone: there is no time zone ""; a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland`},
	{"the zone of this machine", "zone: Pacific/Auckland", "zone: Local",
		`s.yaml:6: people.tui.zone: there is no time zone "Local"; a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland`},
	{"a zone that does not exist", "zone: Pacific/Auckland", "zone: Pacific/Aukland",
		`s.yaml:6: people.tui.zone: there is no time zone "Pacific/Aukland"; a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland`},
	{"a zone outside the list", "zone: Pacific/Auckland", "zone: ../../etc/passwd",
		`s.yaml:6: people.tui.zone: there is no time zone "../../etc/passwd"; a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland`},
	{"silent in a stage that is none", "silent: [timebox]", "silent: [voting]",
		`s.yaml:6: people.tui.silent[1]: the stage "voting" is not allowed; one of brief, framing, roles, assumptions, rating, backlog, timebox, close, underway`},
	{"silent twice in a stage", "silent: [timebox]", "silent: [timebox, timebox]",
		`s.yaml:6: people.tui.silent[2]: timebox is given twice; each stage once`},

	{"a question of nobody", "questions: [{by: tui, ask", "questions: [{ask",
		`s.yaml:13: brief.questions[1].by: missing; the key of a person`},
	{"a question of a stranger", "questions: [{by: tui", "questions: [{by: bob",
		`s.yaml:13: brief.questions[1].by: there is no person "bob"; one of ana, tui`},
	{"a level off the ladder", "level: -2", "level: -3",
		`s.yaml:17: framing.wordings[2].level: level -3 is not allowed; a whole number from -2 (narrower) to 2 (broader)`},
	{"the same wording twice", "text: Narrower.", "text: ' broader. '",
		`s.yaml:17: framing.wordings[2].text: the same text as framing.wordings[1]; each wording once`},
	{"a tick for a wording that is not there", "ticks: [original, 2]", "ticks: [original, 3]",
		`s.yaml:19: framing.votes.ana.ticks[2]: tick 3 is not allowed; original, or the number of a wording from 1 to 2`},
	{"a wording ticked twice", "ticks: [original, 2]", "ticks: [2, 2]",
		`s.yaml:19: framing.votes.ana.ticks[2]: 2 is ticked twice; each wording once`},
	{"a vote without a level", "tui: {level: 1}", "tui: {ticks: [1]}",
		`s.yaml:20: framing.votes.tui.level: missing; a whole number from -2 (narrower) to 2 (broader)`},
	{"a vote of a stranger", "tui: {level: 1}", "bob: {level: 1}",
		`s.yaml:20: framing.votes.bob: there is no person "bob"; one of ana, tui`},
	{"a ring that is none", "tui: consulted", "tui: accountable",
		`s.yaml:22: roles.self.tui: the ring "accountable" is not allowed; one of core, consulted, informed`},
	{"more days than a week has", "days: {ana: 2.5}", "days: {ana: 5.5}",
		`s.yaml:23: roles.days.ana: days 5.5 is not allowed; a number from 0 to 5`},
	{"days without end", "days: {ana: 2.5}", "days: {ana: .inf}",
		`s.yaml:23: roles.days.ana: days .inf is not allowed; a number from 0 to 5`},
	{"a stranger settled", "settled: {tui: core}", "settled: {bob: core}",
		`s.yaml:25: roles.settled.bob: there is no person "bob"; one of ana, tui`},

	{"an id given twice", "id: A2", "id: A1",
		`s.yaml:28: assumptions[2].id: the id "A1" is given twice; each id once`},
	{"an id with a space", "id: A2", "id: A 2",
		`s.yaml:28: assumptions[2].id: "A 2" is not allowed as the id of an assumption; a letter, then up to 39 letters, digits, - or _`},
	{"an assumption without words", "text: Counts arrive in time.", "text: ''",
		`s.yaml:28: assumptions[2].text: the text is empty; the belief`},
	{"a rating of 10", "A2: [5, null]", "A2: [10, null]",
		`s.yaml:31: ratings.round1.ana.A2: importance 10 is not allowed; a whole number from 1 to 9, or null for "can't say"`},
	{"a rating of 0", "A2: [5, null]", "A2: [5, 0]",
		`s.yaml:31: ratings.round1.ana.A2: evidence 0 is not allowed; a whole number from 1 to 9, or null for "can't say"`},
	{"half a rating", "A2: [5, null]", "A2: [5.5, 1]",
		`s.yaml:31: ratings.round1.ana.A2: importance 5.5 is not allowed; a whole number from 1 to 9, or null for "can't say"`},
	{"one half of a pair", "A2: [5, null]", "A2: [5]",
		`s.yaml:31: ratings.round1.ana.A2: a list of 1 is not allowed; a pair [importance, evidence]`},
	{"a number for a pair", "A2: [5, null]", "A2: 5",
		`s.yaml:31: ratings.round1.ana.A2: 5 is not allowed; a pair [importance, evidence]`},
	{"a null for a pair", "A2: [5, null]", "A2: null",
		`s.yaml:31: ratings.round1.ana.A2: missing; a pair [importance, evidence]`},
	{"a rating of an unknown assumption", "A2: [5, null]", "A3: [5, null]",
		`s.yaml:31: ratings.round1.ana.A3: there is no assumption "A3"; one of A1, A2`},
	{"a kind of risk that is none", "{A1: {ana: desirability}}", "{A1: {ana: beauty}}",
		`s.yaml:36: backlog.kinds.A1.ana: the kind of risk "beauty" is not allowed; one of desirability, viability, feasibility, usability`},
	{"a test of an unknown assumption", "- {assumption: A2", "- {assumption: A7",
		`s.yaml:39: backlog.tests[2].assumption: there is no assumption "A7"; one of A1, A2`},
	{"a test without a method", ", method: Trial", "",
		`s.yaml:39: backlog.tests[2].method: missing; how it is to be found out`},
	{"a pass mark of nothing", "share: 0.6", "share: 0",
		`s.yaml:38: backlog.tests[1].pass.share: share 0 is not allowed; a number above 0 and at most 1`},
	{"a pass mark in percent", "share: 0.6", "share: 60",
		`s.yaml:38: backlog.tests[1].pass.share: share 60 is not allowed; a number above 0 and at most 1`},
	{"a pass mark without a share", "pass: {share: 0.6}", "pass: {}",
		`s.yaml:38: backlog.tests[1].pass.share: missing; a number above 0 and at most 1`},
	{"two pass marks", "pass: {share: 0.6}", "pass: {share: 0.6, yes: true}",
		`s.yaml:38: backlog.tests[1].pass.yes: a second pass mark is given; one of share, at_least, at_most, yes`},
	{"a figure of nothing", "pass: {share: 0.6}", "pass: {at_most: 15}",
		`s.yaml:38: backlog.tests[1].pass.unit: missing; the unit of the figure, such as minutes`},
	{"a share of a test with a figure", "pass: {share: 0.6}", "pass: {at_most: 15, unit: minutes}",
		`s.yaml:44: underway.checkins[1].results[1].figure: missing; the figure that was found`},
	{"effort below nothing", "effort_days: 3", "effort_days: -1",
		`s.yaml:38: backlog.tests[1].effort_days: effort_days -1 is not allowed; a number from 0 to 60`},
	{"an owner who does not take part", "owner: tui, size", "owner: bob, size",
		`s.yaml:38: backlog.tests[1].owner: there is no person "bob"; one of ana, tui`},
	{"an expectation above all", "size: 12", "size: 12, expects: {ana: 70}",
		`s.yaml:38: backlog.tests[1].expects.ana: expects 70 is not allowed; a number from 0 to 1`},
	{"an expectation of nobody", "size: 12", "size: 12, expects: {bob: 0.7}",
		`s.yaml:38: backlog.tests[1].expects.bob: there is no person "bob"; one of ana, tui`},
	{"no cases", "size: 12", "size: 0",
		`s.yaml:38: backlog.tests[1].size: size 0 is not allowed; a whole number from 1 to 1000000`},

	{"a time box of no weeks", "set: 6", "set: 0",
		`s.yaml:40: timebox.set: weeks 0 is not allowed; a whole number from 1 to 12`},
	{"a vote for a year", "votes: {ana: 4}", "votes: {ana: 52}",
		`s.yaml:40: timebox.votes.ana: weeks 52 is not allowed; a whole number from 1 to 12`},
	{"a confidence off the scale", "votes: {ana: 4}", "votes: {ana: 4}, worth: {ana: 10}",
		`s.yaml:40: timebox.worth.ana: worth 10 is not allowed; a whole number from 1 to 9`},
	{"another cost", "votes: {ana: 4}", "votes: {ana: 4}, cost: {ana: week}",
		`s.yaml:40: timebox.cost.ana: the cost "week" is not allowed; one of day, quarter, name`},
	{"a day that is none", "checkin: sunday", "checkin: soon",
		`s.yaml:40: timebox.checkin: the day "soon" is not allowed; one of sunday, monday, tuesday, wednesday, thursday, friday, saturday`},
	{"an action due before it is written", "due_days: 0", "due_days: -1",
		`s.yaml:41: actions[1].due_days: due_days -1 is not allowed; a whole number from 0 to 365`},
	{"a result of an unknown test", "results: [{test: 1", "results: [{test: 3",
		`s.yaml:44: underway.checkins[1].results[1].test: test 3 is not allowed; the number of a test from 1 to 2`},
	{"more than all", "k: 9, n: 12", "k: 13, n: 12",
		`s.yaml:44: underway.checkins[1].results[1].k: k 13 is not allowed; a whole number from 0 to 12`},
	{"out of none", "k: 9, n: 12", "k: 0, n: 0",
		`s.yaml:44: underway.checkins[1].results[1].n: n 0 is not allowed; a whole number from 1 to 1000000`},
	{"a test reported twice", "[{test: 1, k: 9, n: 12}]", "[{test: 1, k: 9, n: 12}, {test: 1, k: 8, n: 12}]",
		`s.yaml:44: underway.checkins[1].results[2]: test 1 is reported twice; one result for a test at each check-in`},
	{"can't say at a check-in", "evidence: {ana: {A1: 6}}", "evidence: {ana: {A1: null}}",
		`s.yaml:45: underway.checkins[1].evidence.ana.A1: missing; a whole number from 1 to 9`},
	{"confidence beyond the scale", "confidence: {ana: 6", "confidence: {ana: 10",
		`s.yaml:46: underway.checkins[1].confidence.ana: confidence 10 is not allowed; a whole number from 1 to 9`},
	{"a decision that is none", "votes: {ana: build", "votes: {ana: wait",
		`s.yaml:47: underway.decision.votes.ana: the decision "wait" is not allowed; one of build, stop, another`},
	{"a decision left open", "set: another, ", "",
		`s.yaml:47: underway.decision.set: missing; one of build, stop, another`},
	{"a box of three weeks more", "weeks: 4", "weeks: 3",
		`s.yaml:47: underway.decision.weeks: weeks 3 is not allowed; 2 or 4`},
	{"weeks to build", "{votes: {ana: build, tui: another}, set: another, weeks: 4}", "{set: build, weeks: 4}",
		`s.yaml:47: underway.decision.weeks: weeks count only for another time box; leave it out, or decide another`},
}

func TestParseRefuses(t *testing.T) {
	for _, c := range brokenScenarios {
		t.Run(c.rule, func(t *testing.T) {
			require.Contains(t, wholeScenario, c.old, "the whole scenario does not contain")
			_, err := Parse("s.yaml", []byte(strings.Replace(wholeScenario, c.old, c.new, 1)))
			require.Error(t, err, "got no error")
			assert.Equal(t, c.want, err.Error(), "\n got %s\nwant", err)
		})
	}
}

// Whoever is silent in a stage must not answer in it anywhere.
func TestParseRefusesAnswersOfTheSilent(t *testing.T) {
	for _, c := range []struct{ rule, stage, old, new, place string }{
		{"a question", "brief", "", "", "s.yaml:13: brief.questions[1].by"},
		{"a wording", "framing", "", "", "s.yaml:17: framing.wordings[2].by"},
		{"a choice of level", "framing", "{by: tui, level: -2", "{by: ana, level: -2", "s.yaml:20: framing.votes.tui"},
		{"a ring", "roles", "", "", "s.yaml:22: roles.self.tui"},
		{"an assumption", "assumptions", "", "", "s.yaml:28: assumptions[2].by"},
		{"a ballot", "rating", "", "", "s.yaml:32: ratings.round1.tui"},
		{"a second ballot", "rating", "    tui: {A1: [7, 3]}\n", "", "s.yaml:33: ratings.round2.tui"},
		{"a kind of risk", "backlog", "{A1: {ana:", "{A1: {tui:", "s.yaml:36: backlog.kinds.A1.tui"},
		{"a test", "backlog", "", "", "s.yaml:39: backlog.tests[2].by"},
		{"a vote on weeks", "timebox", "votes: {ana: 4}", "votes: {tui: 4}", "s.yaml:40: timebox.votes.tui"},
		{"a result of their own test", "underway", "", "", "s.yaml:44: underway.checkins[1].results[1].test"},
		{"confidence", "underway", "owner: tui, size", "owner: ana, size", "s.yaml:46: underway.checkins[1].confidence.tui"},
		{"a decision", "underway", "  checkins:\n    - results: [{test: 1, k: 9, n: 12}]\n      evidence: {ana: {A1: 6}}\n      confidence: {ana: 6, tui: 5}\n", "",
			"s.yaml:43: underway.decision.votes.tui"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			require.Contains(t, wholeScenario, c.old, "the whole scenario does not contain")
			text := strings.Replace(wholeScenario, c.old, c.new, 1)
			text = strings.Replace(text, "silent: [timebox]", "silent: ["+c.stage+"]", 1)
			want := c.place + ": tui is silent in " + c.stage + "; leave the answer out, or take " + c.stage + " out of people.tui.silent"
			_, err := Parse("s.yaml", []byte(text))
			assert.Error(t, err, "\n got %v\nwant", err)
			assert.Equal(t, want, err.Error(), "\n got %v\nwant", err)
		})
	}
}

func TestParseRefusesWholeFiles(t *testing.T) {
	const nothing = "the file holds no scenario; a mapping with at least title, starts and people"
	const look = "; see the indentation, quotes and brackets there"
	for _, c := range []struct{ rule, text, want string }{
		{"an empty file", "", "s.yaml:1: " + nothing},
		{"comments only", "# nothing\n", "s.yaml:1: " + nothing},
		{"null", "---\n~\n", "s.yaml:1: " + nothing},
		{"a list", "- title\n", "s.yaml:1: a list is not allowed; a mapping with the keys title, starts, pace_days, leave_out, without_lead, people, brief, framing, roles, assumptions, tidy, ratings, backlog, deal, timebox, actions, underway"},
		{"a word", "title\n", `s.yaml:1: "title" is not allowed; a mapping with the keys title, starts, pace_days, leave_out, without_lead, people, brief, framing, roles, assumptions, tidy, ratings, backlog, deal, timebox, actions, underway`},
		{"nobody", "title: x\nstarts: 2027-03-01T09:00:00Z\npeople: {}\n",
			"s.yaml:3: people: nobody takes part; a mapping with at least one person, such as ana: {name: Ana, zone: Europe/Lisbon}"},
		{"no people", "title: x\nstarts: 2027-03-01T09:00:00Z\n",
			"s.yaml:1: people: missing; a mapping with at least one person, such as ana: {name: Ana, zone: Europe/Lisbon}"},
		{"a tab for indentation", "title: x\npeople:\n\tana: {}\n", "s.yaml:3: not YAML: found character that cannot start any token" + look},
		{"a crooked line", "a:\n  b: 1\n c: 2\n", "s.yaml:3: not YAML: did not find expected key" + look},
		{"an open bracket", "title: x\npeople: [1,\n", "s.yaml:2: not YAML: did not find expected node content" + look},
		{"an open quote", "title: x\nstarts: \"2027\n\n\n", "s.yaml:2: not YAML: found unexpected end of stream" + look},
		{"bytes that are no text", "title: x\nstarts: \xff\n", "s.yaml:2: not YAML: invalid leading UTF-8 octet" + look},
		{"an unknown alias", "title: x\nstarts: *x\n", "s.yaml:2: not YAML: unknown anchor 'x' referenced" + look},
	} {
		t.Run(c.rule, func(t *testing.T) {
			_, err := Parse("s.yaml", []byte(c.text))
			assert.Error(t, err, "\n got %v\nwant", err)
			assert.Equal(t, c.want, err.Error(), "\n got %v\nwant", err)
		})
	}
}

// Each file in bad/ has its message in a sibling that ends in .err.
func TestParseRefusesBadFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(scenarios, "bad", "*.yaml"))
	require.NoError(t, err, "no files to test")
	require.NotEmpty(t, files, "no files to test")
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			want, err := os.ReadFile(strings.TrimSuffix(file, ".yaml") + ".err")
			require.NoError(t, err)
			_, err = Parse(filepath.Base(file), data)
			var fault *Fault
			require.ErrorAs(t, err, &fault, "got %v, want a *Fault", err)
			got := fault.Error() + "\n"
			assert.Equal(t, string(want), got, "\n got %swant %s", got, want)
		})
	}
}
