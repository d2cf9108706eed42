package score

import (
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/bot/words"
	"soundings/engine"
)

// tableOf makes a table out of rows of "rater assumption importance
// evidence", where 0 stands for "can't say". Statements are given by id.
func tableOf(t *testing.T, rows string, statements map[string]string) engine.Table {
	t.Helper()
	var table strings.Builder
	table.WriteString("rater,assumption,importance,evidence,statement\n")
	for line := range strings.Lines(rows) {
		f := strings.Fields(line)
		for i := range f {
			f[i] = strings.TrimPrefix(f[i], "0")
		}
		fmt.Fprintf(&table, "%s,%q\n", strings.Join(f, ","), statements[f[1]])
	}
	parsed, err := engine.ParseTable("test", strings.NewReader(table.String()))
	require.NoError(t, err)
	return parsed
}

func textOf(t *testing.T, rows string, statements map[string]string, o Options) string {
	t.Helper()
	o.Ballots = tableOf(t, rows, statements)
	return Text(engine.Score(o.Ballots, engine.Options{Seed: 1}), o)
}

const splitRows = `ana A1 8 1
tui A1 9 9
noor A1 8 2
kofi A1 9 9
ana A2 3 6
tui A2 4 7
noor A2 3 6
kofi A2 0 7`

func TestTextTells(t *testing.T) {
	got := textOf(t, splitRows, map[string]string{"A1": "The ramp is steep.", "A2": "The ramp is long."}, Options{})
	for _, want := range []string{
		"2 assumptions, 4 raters\n",
		"\nTest first: important, little known\n\n1. A1  The ramp is steep.\n",
		"\n       Importance 8.5 (8 to 9), close; evidence 5.5 (1.75 to 9), split.\n",
		"\nLater: matters less, comes back if time is left\n\n2. A2  The ramp is long.\n",
		"\nA1: split on evidence, the middle half runs from 1.75 to 9.\n",
		"\nOn importance people largely agree: W is 1.00 over 3 complete ballots. Chance\nalone would reach that in about 83 of 1,000 groups without any common order (p =\n0.083).\n",
		"\nOn importance 1 of 4: kofi.\nOn evidence none.\n",
	} {
		assert.Contains(t, got, want, "the report lacks")
	}
	if t.Failed() {
		t.Log(got)
	}
}

func TestTextOfNothing(t *testing.T) {
	got := Text(engine.Score(engine.Table{}, engine.Options{}), Options{})
	assert.Contains(t, got, "0 assumptions, 0 raters\n\nNothing was rated on both scales, so there is no order.\n")
}

// Without the ballots, the report counts those with gaps.
func TestTextWithoutBallots(t *testing.T) {
	r := engine.Score(tableOf(t, splitRows, nil), engine.Options{Seed: 1})
	assert.Contains(t, Text(r, Options{}), "\nOn importance 1 of 4.\n")
}

// Colour adds escape sequences and not one letter: nothing is told by it.
func TestTextColour(t *testing.T) {
	statements := map[string]string{"A1": strings.Repeat("The ramp is steep. ", 9)}
	without := textOf(t, splitRows, statements, Options{})
	with := textOf(t, splitRows, statements, Options{Colour: true})
	assert.NotContains(t, without, "\x1b", "escape sequences without colour, or none with it")
	assert.Contains(t, with, "\x1b[1m", "escape sequences without colour, or none with it")
	got := regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(with, "")
	assert.Equal(t, without, got, "without its escape sequences, the coloured report is\n%s\nwant", got)
}

// Whatever people typed, the report keeps to its width, sends nothing to the
// terminal but text and line feeds, and drops no letter.
func TestTextOfHostileStatements(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		statement := rapid.StringOf(rapid.RuneFrom([]rune("ab 船é\x00\x07\x1b\r\n\t\x7f\u0085\u009b\u202e\u2066\u2028\ufeff\uffff%<&👍"))).Draw(t, "statement")
		id := "A" + rapid.StringOf(rapid.RuneFrom([]rune("a船\x1b\n\u202e "))).Draw(t, "id")
		wide := rapid.IntRange(40, 120).Draw(t, "width")
		r := engine.Score(engine.Table{
			Raters: []string{"ana"}, IDs: []string{id}, Statements: []string{statement},
			Importance: [][]engine.Rating{{8}}, Evidence: [][]engine.Rating{{2}},
		}, engine.Options{Draws: 1})
		text := Text(r, Options{Width: wide})
		for line := range strings.Lines(text) {
			line = strings.TrimSuffix(line, "\n")
			n := words.Columns(line)
			require.LessOrEqual(t, n, wide, "a line of %d columns in %d: %q", n, wide, line)
			require.False(t, strings.ContainsFunc(line, mayNotBeSent), "it is sent to the terminal: %q", line)
		}
		for _, letter := range "ab船é👍%<&" {
			got, want := strings.Count(text, string(letter)), strings.Count(statement, string(letter))
			require.GreaterOrEqual(t, got, want, "%c stands %d times, want at least %d:\n%s", letter, got, want, text)
		}
	})
}

func mayNotBeSent(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)
}

// XML has no room for control characters, not even as references.
func TestMapOfHostileIDs(t *testing.T) {
	r := engine.Score(engine.Table{
		Raters: []string{"ana"}, IDs: []string{"A\x1b[5m", "B\uffff", "<&>"},
		Importance: [][]engine.Rating{{8, 5, 2}}, Evidence: [][]engine.Rating{{2, 5, 8}},
	}, engine.Options{Draws: 1})
	svg, err := Map(r, "svg")
	require.NoError(t, err)
	for d := xml.NewDecoder(strings.NewReader(string(svg))); ; {
		_, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err, "the SVG is not XML")
	}
	assert.False(t, r.Assumptions[0].ID != "A\x1b[5m" || r.Order[0] != "A\x1b[5m", "Map changed the result it was given")
}
