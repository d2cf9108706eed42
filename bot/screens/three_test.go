package screens

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
	"soundings/bot/report"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// After each entry of a kickoff, from its first map to its end, the home tab begins with
// what matters most, in at most 150 words (our choice, no source), and what waits for the
// viewer comes straight after it.
func TestHomeBeginsWithWhatMattersMost(t *testing.T) {
	data, err := os.ReadFile("../../testdata/journals/v0.1.0-demo.jsonl")
	require.NoError(t, err)
	k := flows.WithZones(state.Kickoff{}, testZones)
	with, owned, dated := 0, 0, 0
	for line := range bytes.Lines(data) {
		var r event.Record
		require.NoError(t, json.Unmarshal(line, &r))
		k = flows.Apply(k, k.Version+1, r)
		if k.Stage == state.StageEnded {
			break
		}
		blocks := home(HomePage{Viewer: "ines", Now: r.At, Kickoffs: []state.Kickoff{k}}).Blocks.BlockSet
		if k.Map() == nil {
			assert.NotEqual(t, "What matters most", headingOf(blocks[0]))
			continue
		}
		require.Equal(t, "What matters most", headingOf(blocks[0]))
		end := 1
		for headingOf(blocks[end]) == "" {
			end++
		}
		assert.Contains(t, []string{"Waiting for you", "Nothing waits for you"}, headingOf(blocks[end]))
		text := plaintext.Blocks(blocks[:end])
		assert.LessOrEqual(t, len(strings.Fields(text)), 150, text)
		with++
		if strings.Contains(text, ", by ") {
			dated++
		}
		if len(k.Backlog.Tests) > 0 {
			assert.Contains(t, text, k.Name(k.Backlog.Tests[0].Owner), text)
			owned++
		}
	}
	assert.Positive(t, with)
	assert.Positive(t, owned, "no test is shown with its owner")
	assert.Positive(t, dated, "no test is shown with its day")
}

func headingOf(b slack.Block) string {
	if h, ok := b.(*slack.HeaderBlock); ok {
		return h.Text.Text
	}
	return ""
}

// What one test has found is not told of another that still runs; and while people vote
// nobody reads of a check-in to come.
func TestThreeSaysWhatIsStillToCome(t *testing.T) {
	m := momentAt(t, "underway")
	summary := func(m moment) string {
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenSummary}, m.Now)
		require.NoError(t, err)
		return plaintext.Blocks(posting.Blocks)
	}
	require.Contains(t, summary(m), "Ana: Ask passengers at the pier. Turned out true.")
	m = take(t, m, flows.AddTest{By: flows.By{Who: "U2"}, Plan: state.Plan{Assumption: "A1", Method: "Survey", EffortDays: 2, Size: 40, PassShare: 0.5}})
	assert.Contains(t, summary(m), "Turned out true. Still to come: Nobody yet")
	assert.NotContains(t, summary(m), "Survey. Turned out true.")
	files, err := report.Files(m.K)
	require.NoError(t, err)
	page := files[slices.IndexFunc(files, func(f report.File) bool { return f.Name == "summary.html" })]
	assert.Contains(t, string(page.Data), "Turned out true. Still to come: Survey. Nobody does it yet.</li>")

	for at, want := range map[string]string{"underway/decision": "The vote on how to go on is open until", "underway/settling": "The vote on how to go on has closed; the lead settles it."} {
		got := summary(momentAt(t, at))
		assert.Contains(t, got, want)
		assert.NotContains(t, got, "Next check-in")
	}
}

// A mark that hangs on a test names it, since people never see its number.
func TestMarksNameTheirTest(t *testing.T) {
	m := momentAt(t, "underway/decision")
	m.K.Timebox.StopIf, m.K.Timebox.StopOn = "Nobody looks.", state.TestOn(1)
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenDecision, Arg: "1"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, plaintext.Blocks(posting.Blocks), "We stop if (not met, by the test “Ask passengers at the pier” of A1)")
}

// A sentence that people or a title ended gets no second end.
func TestSentencesEndOnce(t *testing.T) {
	m := momentAt(t, "timebox")
	standing, err := Message(m.K, flows.Slot{Screen: flows.ScreenStanding, Arg: "back/timebox", To: "U2"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, plaintext.Blocks(standing.Blocks), "How long shall we take? Say how many weeks")

	m = momentAt(t, "close")
	m = take(t, m, flows.AddAction{By: flows.By{Who: "U2"}, What: "Ask the crews for a date.", Owner: "U2", Due: "2027-03-19"})
	m = take(t, m, flows.AddAction{By: flows.By{Who: "U2"}, What: "Ask the harbour", Owner: "U2", Due: "2027-03-19"})
	view, err := Open("close.list", pageFor(m, "U1"))
	require.NoError(t, err)
	drawn := PlainForm(view)
	assert.Contains(t, drawn, "Ask the crews for a date. Tui, until")
	assert.Contains(t, drawn, "Ask the harbour. Tui, until")
}
