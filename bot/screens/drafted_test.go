package screens

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/screens/closing"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// A ladder with every kind of wording that can come of a draft. Issue 6: used
// drafts are marked as drafted until someone edits them, and the summary says
// which wordings began as drafts.
func draftedLadder(t *testing.T) state.Kickoff {
	t.Helper()
	m := momentAt(t, "framing")
	lead := flows.By{Who: "U1"}
	for _, in := range []flows.Intent{
		flows.AddWording{By: lead, Level: 2, Text: "Left as it was drafted.", Drafted: true, Began: true},
		flows.AddWording{By: lead, Level: 1, Text: "Drafted, to be edited.", Drafted: true, Began: true},
		flows.AddWording{By: lead, Level: -1, Text: "Edited before it was added.", Began: true},
		flows.EditWording{By: lead, N: 4, Level: 1, Text: "Edited on the ladder."},
	} {
		m = take(t, m, in)
	}
	n := len(m.K.Framing.Wordings)
	require.Equal(t, 5, n, "the ladder has %d wordings, want 2 and 3 drafts", n)
	return m.K
}

func TestTheLadderMarksADraftUntilItIsEdited(t *testing.T) {
	k := draftedLadder(t)
	view, err := Open("framing.vote", pageFor(moment{K: k}, "U1"))
	require.NoError(t, err)
	drawn := PlainForm(view)
	for text, marked := range map[string]bool{"Left as it was drafted.": true, "Edited on the ladder.": false, "Edited before it was added.": false} {
		assert.Contains(t, drawn, text, "is marked as a draft: want %v in", marked)
		assert.Equal(t, marked, strings.Contains(drawn, text+" (a machine's draft)"), "is marked as a draft: want %v in", marked)
	}
}

func TestTheSummarySaysWhatBeganAsADraft(t *testing.T) {
	k := draftedLadder(t)
	part, err := closing.PartMessage(screen.Page{Kickoff: k}, "problem")
	require.NoError(t, err)
	const sentence = "3 wordings began as a machine's draft; people have changed the words of 2 since."
	for name, shown := range map[string]string{"the thread": PlainText(part), "summary.md": fileOf(t, k, "summary.md")} {
		assert.Contains(t, shown, sentence, "%s does not say", name)
		for _, line := range strings.Split(shown, "\n") {
			assert.False(t, strings.Contains(line, "Edited ") && !strings.Contains(line, "began as a machine's draft"), "%s does not say whence: %s", name, line)
		}
	}
	var out struct {
		Ladder []struct {
			Text    string
			Drafted bool
			Began   bool `json:"began_as_draft"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(fileOf(t, k, "kickoff.json")), &out))
	for _, w := range out.Ladder {
		began := strings.HasPrefix(w.Text, "Left ") || strings.HasPrefix(w.Text, "Edited ")
		assert.Equal(t, began, w.Began, "kickoff.json says of %q: drafted %v, began as a draft", w.Text, w.Drafted)
		assert.Equal(t, (w.Text == "Left as it was drafted."), w.Drafted, "kickoff.json says of %q: drafted %v, began as a draft", w.Text, w.Drafted)
	}
}

func TestNoDraftNoWord(t *testing.T) {
	assert.Equal(t, "", words.DraftsText(momentAt(t, "close").K), "without drafts the summary says")
}

// What was typed over a draft began as a draft.
func TestADraftThatIsChangedAtOnceBeganAsOne(t *testing.T) {
	p := drafting(momentAt(t, "framing"), "U1")
	p.Args.Drafts = "People wait.\nTwo.\nThree.\nFour."
	first := draftFields(p.Args)[0]
	for text, drafted := range map[string]bool{" People wait.": true, "People wait for nothing.": false} {
		answer, err := submitWordings(p, block.Values{first.text: {"in": slack.BlockAction{Value: text}},
			first.use: {"in": slack.BlockAction{SelectedOptions: []slack.OptionBlockObject{{Value: "yes"}}}}})
		require.NoError(t, err)
		require.Len(t, answer.Intents, 1)
		in := answer.Intents[0].(flows.AddWording)
		assert.True(t, in.Began, "%q: drafted %v, began %v", text, in.Drafted, in.Began)
		assert.Equal(t, drafted, in.Drafted, "%q: drafted %v, began %v", text, in.Drafted, in.Began)
	}
}
