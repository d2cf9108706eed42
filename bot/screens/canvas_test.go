package screens

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/closing"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// What a canvas takes, from the platform's page on canvases: headings of three
// levels, lists, quotes, dividers, bold; tables of 300 cells, of which ours
// has none; no HTML and no Block Kit. A quote within a list is refused, and so
// is one kind of list within another (github.com/getsentry/junior, pull
// request 1115); a table was refused for weeks (slackapi/python-slack-sdk,
// issue 1720).
func checkCanvas(t *testing.T, name string, page report.CanvasPage) {
	t.Helper()
	n := utf8.RuneCountInString(page.Markdown)
	assert.NotEqual(t, 0, n, "%s has %d characters", name, n)
	assert.LessOrEqual(t, n, report.LongestCanvas, "%s has %d characters", name, n)
	allowed := regexp.MustCompile(`^(|#{2,3} .+|- .+|> .+|---|[^#>|\s].*)$`)
	for i, l := range strings.Split(page.Markdown, "\n") {
		assert.Regexp(t, allowed, l, "%s, line %d is nothing that a canvas takes: %q", name, i+1, l)
		bare := regexp.MustCompile(`\\.`).ReplaceAllString(l, "")
		bare = strings.TrimPrefix(bare, "> ")
		assert.False(t, strings.ContainsAny(bare, "[]<>`|~&@"), "%s, line %d has marks that are not escaped: %q", name, i+1, l)
	}
	assert.False(t, strings.ContainsAny(page.Title, "\n"), "%s has the title %q", name, page.Title)
	assert.LessOrEqual(t, utf8.RuneCountInString(page.Title), 150, "%s has the title %q", name, page.Title)
}

func TestCanvasIsWhatACanvasTakes(t *testing.T) {
	for _, name := range []string{"close", "underway", "underway/moved", "underway/decision", "underway/settling", "ended"} {
		checkCanvas(t, name, report.Canvas(momentAt(t, name).K))
		checkCanvas(t, "hostile "+name, report.Canvas(hostileMomentAt(t, name).K))
	}
}

// Nothing that people type can mention somebody, call a channel, end a line or
// begin a heading. The marks are those of the platform's pages on canvases and
// on formatting text.
func TestCanvasTakesWordsAsWords(t *testing.T) {
	for _, text := range []string{
		"![](@U00000001)", "![](#C00000001)", "<!channel>", "<@U00000001>", "# A heading", "- a list", "1. a list", "> a quote", "---", "+ x", "= y",
		"| a | b |", "```", "a\n\n# b", "[here](https://example.org)", "**strong**", "&lt;!here&gt;", "\\![](@U1)", "\\", "\u202eback",
	} {
		k := kickoffAt(t, state.StageUnderway)
		k.Brief.Problem, k.Framing.Settled, k.Framing.Problem = text, true, text
		k.Actions = []state.Action{{N: 1, What: text, Owner: k.Lead().ID, Due: "2027-03-05"}}
		k.Timebox.StopIf = text
		checkCanvas(t, text, report.Canvas(k))
		assert.LessOrEqual(t, strings.Count(report.Canvas(k).Markdown, "\u202e")-strings.Count(report.Canvas(k).Markdown, "\u202c")-strings.Count(report.Canvas(k).Markdown, "\u2069"), 0, "%q turns what follows it", text)
	}
}

func TestCanvasIsAsKept(t *testing.T) {
	for _, name := range []string{"underway", "ended"} {
		golden(t, "canvas_"+name, report.Canvas(momentAt(t, name).K).Markdown)
	}
}

func TestCanvasLeavesOutWithdrawnActions(t *testing.T) {
	k := kickoffAt(t, state.StageUnderway)
	k.Actions = []state.Action{
		{N: 1, What: "Measure the ramp", Owner: k.Lead().ID, Due: "2027-03-05", Withdrawn: true},
		{N: 2, What: "Call the harbour office", Owner: k.Lead().ID, Due: "2027-03-05"},
	}
	page := report.Canvas(k).Markdown
	assert.Contains(t, page, "Call the harbour office")
	assert.NotContains(t, page, "Measure the ramp")
	k.Actions = k.Actions[:1]
	assert.NotContains(t, report.Canvas(k).Markdown, "Next steps")
}

// The canvas is true until the next check-in: nothing on it changes with the
// day, or while one is open.
func TestCanvasSaysNothingOfTheDay(t *testing.T) {
	k := momentAt(t, "underway").K
	for _, word := range []string{"today", "left.", "tomorrow", "overdue"} {
		assert.NotContains(t, report.Canvas(k).Markdown, word, "the canvas says")
	}
}

func TestExtrasSayTheMend(t *testing.T) {
	k := kickoffAt(t, state.StageUnderway)
	for _, x := range flows.AllExtras() {
		seen := map[string]state.Fault{}
		for _, why := range []state.Fault{state.FaultScope, state.FaultOff, state.FaultPlan, state.FaultTaken, state.FaultFull,
			state.FaultBarred, state.FaultLong, state.FaultDeleted, state.FaultRefused} {
			k.Extras.Faults = map[state.Extra]state.Fault{x: why}
			p, err := closing.ExtrasMessage(screen.Page{Kickoff: k, Viewer: k.Lead().ID}, "")
			require.NoError(t, err)
			checkMessage(t, string(x)+" "+string(why), p)
			text := strings.Join(strings.Fields(PlainText(p)), " ")
			other, twice := seen[text]
			assert.False(t, twice, "%s: %s and %s read alike", x, why, other)
			seen[text] = why
			assert.Contains(t, text, ". I say this once", "%s %s: the fix is no sentence", x, why)
		}
	}
}

// The answer to a form has to fit into an envelope of Socket Mode, 20 kB, with
// whatever was typed.
func TestAskingWhereToStartFits(t *testing.T) {
	for _, text := range []string{"Bicycles", strings.Repeat("🚲", flows.MaxText)} {
		values := entries("pace", "1")
		for _, field := range []string{"title", "problem", "why", "outcome", "out_of_bounds", "links"} {
			values[field] = map[string]slack.BlockAction{block.InputAction: {Value: words.Clip(text, flows.MaxTitle)}}
			if field != "title" {
				values[field] = map[string]slack.BlockAction{block.InputAction: {Value: text}}
			}
		}
		view, err := Ask("brief.start", screen.Page{Args: screen.Args{Choice: "C1"}, Viewer: "U1"}, values)
		require.NoError(t, err)
		checkView(t, "where to start", view)
		data, err := json.Marshal(view)
		assert.NoError(t, err, "the answer has %d bytes", len(data))
		assert.LessOrEqual(t, len(data), block.AnswerBytes, "the answer has %d bytes", len(data))
		assert.Equal(t, (text == "Bicycles"), strings.Contains(string(data), text), "what was typed is written in again")
	}
}
