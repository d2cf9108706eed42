package imports_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/flows"
	"soundings/flows/imports"
	"soundings/flows/state"
)

const ferryBrief = `# Bicycles on the ferry

## Why now
Complaints doubled last summer.

## Outcome
Fewer than one in fifty is turned away.

Counted at the gate.

## Out of bounds
New ships; prices.

## Problem
Passengers with bicycles cannot tell, before they reach the pier,
whether there is room.

## Links
- [Gate counts](https://intranet.example/gate)
* https://intranet.example/letters
1. <https://intranet.example/plan>
`

func ferryBriefRead() state.Brief {
	return state.Brief{
		Title:       "Bicycles on the ferry",
		Why:         "Complaints doubled last summer.",
		Outcome:     "Fewer than one in fifty is turned away.\n\nCounted at the gate.",
		OutOfBounds: "New ships; prices.",
		Problem:     "Passengers with bicycles cannot tell, before they reach the pier,\nwhether there is room.",
		Links:       []string{"Gate counts https://intranet.example/gate", "https://intranet.example/letters", "https://intranet.example/plan"},
	}
}

func TestBrief(t *testing.T) {
	short := state.Brief{Title: "T", Problem: "P"}
	for _, c := range []struct {
		rule, text string
		want       state.Brief
	}{
		{"all parts", ferryBrief, ferryBriefRead()},
		{"carriage returns and a byte order mark", "\ufeff" + strings.ReplaceAll(ferryBrief, "\n", "\r\n"), ferryBriefRead()},
		{"headings in any letter case, with colons, stars or closing marks", "# T #\n## **PROBLEM:**\nP", short},
		{"a part may be a heading of the first level", "# T\n# Problem\nP", short},
		{"text under the title is the problem", "# T\nP", short},
		{"text above the title is the problem", "P\n# T", short},
		{"deeper headings belong to the text", "# T\n## Problem\n### For whom\nP", state.Brief{Title: "T", Problem: "### For whom\nP"}},
		{"no heading in a code block", "# T\n## Problem\n```\n# not a title\n```", state.Brief{Title: "T", Problem: "```\n# not a title\n```"}},
		{"a hash without a blank is text", "# T\n## Problem\n#bicycles", state.Brief{Title: "T", Problem: "#bicycles"}},
		{"no links", "# T\n## Problem\nP\n## Links\n", short},
	} {
		t.Run(c.rule, func(t *testing.T) {
			got, err := imports.Brief(c.text)
			assert.NoError(t, err, "Brief")
			assert.Equal(t, c.want, got, "Brief")
		})
	}
}

func TestBriefRefuses(t *testing.T) {
	for _, c := range []struct{ rule, text, field, says string }{
		{"nothing", "", "title", "no title"},
		{"no title", "## Problem\nP", "title", "“# Bicycles"},
		{"no problem", "# T\n## Why now\nW", "problem", "“## Problem”"},
		{"an empty problem", "# T\n## Problem\n\n", "problem", "“## Problem”"},
		{"an unknown heading", "# T\n## Problem\nP\n## Budget\n", "markdown", "“Budget” is not one that a brief has. The headings are Problem, Why now, Outcome, Out of bounds and Links."},
		{"a heading that stands there twice", "# T\n## Problem\nP\n## Problem statement\nQ", "markdown", "twice"},
		{"links that stand there twice", "# T\n## Problem\nP\n## Links\na\n## Links\nb", "markdown", "twice"},
		{"two titles", "# T\n# U\n## Problem\nP", "markdown", "two titles, “T” and “U”"},
		{"text that belongs nowhere", "# T\nSome words\n## Problem\nP", "markdown", "before the first heading"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			_, err := imports.Brief(c.text)
			wantRefusal(t, err, c.field, c.says)
		})
	}
}

func wantRefusal(t *testing.T, err error, field, says string) {
	t.Helper()
	var r *flows.Refusal
	require.ErrorAs(t, err, &r, "got error %v, want a refusal", err)
	assert.Equal(t, field, r.Field, "refused at %q: %s\nwant at %q, saying", r.Field, r.Reason, field)
	assert.Contains(t, r.Reason, says, "refused at %q: %s\nwant at %q, saying", r.Field, r.Reason, field)
}

// What was read comes back beside a missing title, since a form may have it
// in another field.
func TestBriefKeepsTheRest(t *testing.T) {
	b, err := imports.Brief("## Problem\nP")
	assert.Error(t, err, "got problem %q and error", b.Problem)
	assert.Equal(t, "P", b.Problem, "got problem %q and error", b.Problem)
}

// Whatever the text, nothing of it is lost: it is read or refused.
func TestBriefLosesNothing(t *testing.T) {
	line := rapid.SampledFrom([]string{"# T", "## Problem", "## why NOW:", "## Links", "- x1", "x2", "x3 ", "", "```", "## Budget"})
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(line, 0, 12).Draw(t, "lines")
		b, err := imports.Brief(strings.Join(lines, "\n"))
		var r *flows.Refusal
		require.False(t, err != nil && !errors.As(err, &r), "got %v, want a refusal or none", err)
		if err != nil {
			return
		}
		read := strings.Join(append(b.Links, b.Title, b.Problem, b.Why), "\n")
		for _, l := range lines {
			require.False(t, strings.HasPrefix(strings.TrimPrefix(l, "- "), "x") && !strings.Contains(read, strings.TrimSpace(strings.TrimPrefix(l, "- "))), "%q was lost in %+v", l, b)
		}
	})
}

func TestAssumptions(t *testing.T) {
	two := []flows.AddAssumption{{Text: "First", Because: "Seen"}, {Text: "Second"}}
	for _, c := range []struct {
		rule, text string
		want       []flows.AddAssumption
	}{
		{"text and because", "First,Seen\nSecond,", two},
		{"a header names the columns", "text,because\nFirst,Seen\nSecond,", two},
		{"a header in another order and letter case", "Because,Assumption\nSeen,First\n,Second", two},
		{"a header with one column", "text\nFirst", []flows.AddAssumption{{Text: "First"}}},
		{"a short row leaves the reason out", "First,Seen\nSecond", two},
		{"empty rows are passed over", "\nFirst,Seen\n\n , \nSecond\n\n", two},
		{"carriage returns and a byte order mark", "\ufeffFirst,Seen\r\nSecond\r\n", two},
		{"a reference of their own", "id,text\nX7,First", []flows.AddAssumption{{ID: "X7", Text: "First"}}},
		{"cells pasted from a spreadsheet", "First, or so\tSeen\nSecond", []flows.AddAssumption{{Text: "First, or so", Because: "Seen"}, {Text: "Second"}}},
		{"semicolons, where the header has them", "text;because\nFirst;Seen\nSecond", two},
		{"commas inside quotation marks", `"First, or so","said ""often"""`, []flows.AddAssumption{{Text: "First, or so", Because: `said "often"`}}},
		{"quotation marks as people write them", `They say "full" often`, []flows.AddAssumption{{Text: `They say "full" often`}}},
		{"a line break inside quotation marks", "\"First\nline\",Seen", []flows.AddAssumption{{Text: "First\nline", Because: "Seen"}}},
		{"a word that is a column name may be a text", "Because,Seen", []flows.AddAssumption{{Text: "Because", Because: "Seen"}}},
	} {
		t.Run(c.rule, func(t *testing.T) {
			got, err := imports.Assumptions(c.text)
			assert.NoError(t, err, "Assumptions")
			assert.Equal(t, c.want, got, "Assumptions")
		})
	}
}

func TestAssumptionsRefuses(t *testing.T) {
	for _, c := range []struct{ rule, text, says string }{
		{"nothing", "", "no row"},
		{"only a header", "text,because\n", "no row"},
		{"too many parts", "First,Seen\nPassengers look, then leave, on the day", "Row 2: it has 3 parts, and 2 fit (text, because)."},
		{"a row without its text", "text,because\nFirst,\n,Seen", "Row 2: the assumption itself is missing."},
		{"an open quotation mark", "text,because\nFirst,Seen\n\"Second,Seen", "Row 2: a quotation mark is left open."},
	} {
		t.Run(c.rule, func(t *testing.T) {
			_, err := imports.Assumptions(c.text)
			wantRefusal(t, err, "csv", c.says)
		})
	}
}

// What the standard library writes as CSV is read back as it was, blanks at
// the ends aside.
func TestAssumptionsReadsCSV(t *testing.T) {
	cell := rapid.StringMatching(`[a-zé",;. \n]{1,20}`)
	rapid.Check(t, func(t *rapid.T) {
		var want []flows.AddAssumption
		var written bytes.Buffer
		w := csv.NewWriter(&written)
		for range rapid.IntRange(1, 5).Draw(t, "rows") {
			// Every text begins with a letter that no column name begins with.
			text, because := "Z"+cell.Draw(t, "text"), cell.Draw(t, "because")
			want = append(want, flows.AddAssumption{Text: strings.TrimSpace(text), Because: strings.TrimSpace(because)})
			require.NoError(t, w.Write([]string{text, because}))
		}
		w.Flush()
		got, err := imports.Assumptions(written.String())
		require.NoError(t, err, "%q is read as", written.String())
		require.Equal(t, want, got, "%q is read as", written.String())
	})
}

// Any text is read or refused with a sentence; no row comes without a text.
func TestAssumptionsTakesAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-c",;\t\n\r ]{0,40}`).Draw(t, "text")
		rows, err := imports.Assumptions(text)
		var r *flows.Refusal
		switch {
		case err != nil && (!errors.As(err, &r) || r.Field != "csv" || r.Reason == ""):
			t.Fatalf("%q gives %v, want a refusal", text, err)
		case err == nil && len(rows) == 0:
			t.Fatalf("%q gives nothing, and no refusal", text)
		}
		for _, row := range rows {
			require.NotEqual(t, "", strings.TrimSpace(row.Text), "%q gives a row without a text: %+v", text, rows)
		}
	})
}
