package report

import (
	"encoding/csv"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/state"
)

// Source of what begins a formula: owasp.org/www-community/attacks/CSV_Injection,
// which names separators and quotes too, from memory.
var begins = regexp.MustCompile("^[=+@＝＋－＠\t\r-]")

func TestTable(t *testing.T) {
	cells := []string{"plain", "a, b", `say "yes"`, "a; b", "two\nlines", " space ", "=1+1", "+1", "-1", "@SUM(A1)", "＝1", "\t=1", "a;=1+1", "a\t-1", "a\n@b", `a";=1`, "über – 自転車", ""}
	text := table([][]string{{"first"}, cells, {"last"}})
	rows := csv.NewReader(strings.NewReader(text))
	rows.FieldsPerRecord = -1
	got, err := rows.ReadAll()
	require.NoError(t, err)
	require.Len(t, got, 3)
	require.Len(t, got[1], len(cells))
	for i, cell := range got[1] {
		assert.Equal(t, strings.ReplaceAll(cells[i], "'", ""), strings.ReplaceAll(cell, "'", ""), "nothing but the apostrophe is added")
		assert.NotRegexp(t, begins, cell)
	}

	// A spreadsheet that parts cells at nothing but semicolons, or tabs, and sees a
	// quote as one only at the beginning of a cell.
	for _, separator := range []string{";", "\t"} {
		for line := range strings.SplitSeq(text, "\n") {
			for cell := range strings.SplitSeq(line, separator) {
				assert.NotRegexp(t, begins, cell)
			}
		}
	}
}

// Some parts of a kickoff, as an issue tracker takes them in.
func TestTasks(t *testing.T) {
	k := boxed()
	k.Brief.Title = "Room for bicycles"
	k.Assumptions = []state.Assumption{{ID: "A1", Text: "People look before they set out."}}
	k.Backlog.Tests = []state.Test{
		{N: 1, Assumption: "A1", Method: "=Interviews", Learn: "What they do.", PassShare: 0.5, Size: 12, EffortDays: 1, Owner: "U1"},
		{N: 2, Assumption: "A1", Method: "Withdrawn", Withdrawn: true},
		{N: 3, Assumption: "A1", Method: "Dropped", Dropped: "nobody came", Withdrawn: true},
		{N: 4, Assumption: "A1", Method: "Forty days\nof it", PassShare: 0.5, Size: 12, EffortDays: 40, Owner: "U1"},
		{N: 5, Assumption: "A1", Method: "Added at the first check-in", YesNo: true, Since: 1},
	}
	k.People[0].Name = "Tui"
	k.Roles.Self = map[state.UserID]state.Ring{"U1": state.Core}
	k.Actions = []state.Action{{N: 1, What: "Send the guide", Owner: "U1", Due: "2027-04-03"}, {N: 2, What: "Withdrawn", Withdrawn: true}}
	k = flows.WithZones(k, new(zones.Cache))
	data := string(tasksFile(k, factsOf(k)).Data)
	rows, err := csv.NewReader(strings.NewReader(data)).ReadAll()
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(data, "title,description,owner,due,label\n"), "a mark before it would be a part of the name")
	require.Len(t, rows, 5)
	var brief [][]string
	for _, row := range rows[1:] {
		brief = append(brief, []string{row[0], row[2], row[3], row[4]})
	}
	assert.Equal(t, [][]string{
		{"A1: =Interviews", "Tui", "2027-04-09", "test"}, // the week that the plan has it in; the lead's day has begun
		{"A1: Forty days of it", "Tui", "2027-04-16", "test"},
		{"A1: Added at the first check-in", "", "2027-04-16", "test"},
		{"Send the guide", "Tui", "2027-04-03", "action"},
	}, brief)
	assert.Equal(t, "Assumption A1: People look before they set out.\nWe learn: What they do.\nCounts as support: at least 50% of 12.\n1 day of work.", rows[1][1])
	assert.Equal(t, "Send the guide\nFrom the kickoff: Room for bicycles", rows[4][1])

	late := func(at time.Time) (out []string) {
		for _, l := range LateTests(k, at) {
			out = append(out, l.Method+" "+string(l.Due))
		}
		return out
	}
	assert.Empty(t, late(time.Date(2027, 4, 9, 6, 0, 0, 0, time.UTC)), "on its last day a test is not late")
	assert.Equal(t, []string{"=Interviews 2027-04-09"}, late(time.Date(2027, 4, 10, 12, 0, 0, 0, time.UTC)))
	k.Backlog.Tests[0].NotBefore = "2027-04-13"
	assert.Empty(t, late(time.Date(2027, 4, 13, 6, 0, 0, 0, time.UTC)), "it was put off")
	k.Underway.Checkins = []state.Checkin{{N: 1, Results: []state.TestResult{{Test: 5, K: 1, N: 1, Entry: 1}}}}
	assert.Equal(t, []string{"=Interviews 2027-04-13", "Forty days\nof it 2027-04-16"}, late(time.Date(2027, 4, 19, 12, 0, 0, 0, time.UTC)), "one has a result")

	// A further box plans what is left anew, from the day on which it began.
	again := time.Date(2027, 4, 19, 9, 0, 0, 0, time.UTC)
	k.Underway.Checkins[0].Opened = again.AddDate(0, 0, -5)
	k.Underway.Decision.Earlier = []state.Decision{{Set: state.Another, Weeks: 2, At: again}}
	k.Timebox.Ends = again.AddDate(0, 0, 14)
	k.Backlog.Tests = append(k.Backlog.Tests, state.Test{N: 6, Assumption: "A1", Method: "Added in the second box", Since: 2})
	assert.Empty(t, late(again.AddDate(0, 0, 1)), "what was carried over is not late on the first day")
	assert.Equal(t, []string{"=Interviews 2027-04-26"}, late(again.AddDate(0, 0, 10)))
	assert.Len(t, late(again.AddDate(0, 0, 16)), 3, "what has a result, or was dropped, is not late")

	k.Timebox, k.Backlog.Tests = state.Timebox{}, k.Backlog.Tests[:5]
	rows, err = csv.NewReader(strings.NewReader(string(tasksFile(k, factsOf(k)).Data))).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"", "", "", "2027-04-03"}, []string{rows[1][3], rows[2][3], rows[3][3], rows[4][3]}, "no time box, no day")
}

// The first column's name is the first thing in the file, for whatever reads it.
func TestAssumptionsBeginWithTheirRank(t *testing.T) {
	assert.True(t, strings.HasPrefix(string(assumptionsFile(factsOf(boxed())).Data), "rank,id,statement,zone,importance_median,"))
}
