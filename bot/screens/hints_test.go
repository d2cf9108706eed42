package screens

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows"
)

// add fills in the form for an assumption, and gives its answer.
func add(t *testing.T, saw string, fill map[string]string) (moment, screen.Answer) {
	t.Helper()
	return filled{moment: "assumptions", form: "assumptions.add", who: "U3", args: screen.Args{Saw: screen.MarkOf(saw)}, fill: fill}.submit(t)
}

func TestASecondLook(t *testing.T) {
	for _, c := range []struct{ rule, text, says string }{
		{"what says the same already", "Passengers look at their phones before they set out to the pier.", "A1 Passengers look at their phone"},
		{"a question", "Do crews count bicycles at night?", "reads like a question"},
		{"something to build", "We should build a counter.", "something to build"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			m, answer := add(t, "", map[string]string{"text": c.text, "because": "Seen", "id": "X1"})
			require.NotNil(t, answer.Next, "answer = %+v, want the form once more and nothing taken", answer)
			require.Empty(t, answer.Intents, "answer = %+v, want the form once more and nothing taken", answer)
			checkView(t, c.rule, *answer.Next)
			assert.Contains(t, PlainForm(*answer.Next), c.says, "it does not say")
			p := pageFor(m, "U3")
			var err error
			p.Args, err = screen.ParseArgs(answer.Next.PrivateMetadata)
			require.NoError(t, err, "its args are %+v", p.Args)
			other, err := Submit(answer.Next.CallbackID, p, fillIn(t, *answer.Next, map[string]string{"text": "Is " + c.text + " so?"}))
			require.NoError(t, err)
			require.NotNil(t, other.Next, "another text is looked at again")
			again, err := Submit(answer.Next.CallbackID, p, fillIn(t, *answer.Next, nil))
			require.NoError(t, err, "sent as it is it gives %+v", again)
			require.Len(t, again.Intents, 1, "sent as it is it gives %+v", again)
			require.Nil(t, again.Next, "sent as it is it gives %+v", again)
			got := again.Intents[0].(flows.AddAssumption)
			assert.Equal(t, c.text, got.Text, "what was typed became %+v", got)
			assert.Equal(t, "Seen", got.Because, "what was typed became %+v", got)
			assert.Equal(t, "X1", got.ID, "what was typed became %+v", got)
			take(t, m, got)
		})
	}
}

func TestNoSecondLookWhereThereIsNothingToSay(t *testing.T) {
	_, answer := add(t, "", map[string]string{"text": "The harbour office shares its counts."})
	assert.Len(t, answer.Intents, 1, "answer = %+v, want it taken at once", answer)
	assert.Nil(t, answer.Next, "answer = %+v, want it taken at once", answer)
	_, answer = add(t, "Is it so?", map[string]string{"text": "Is it so?"})
	assert.Len(t, answer.Intents, 1, "answer = %+v, want it taken as it is by whoever is sure", answer)
	assert.Nil(t, answer.Next, "answer = %+v, want it taken as it is by whoever is sure", answer)
}

// An answer to a form has to stay under 20 kB, or the platform drops it in
// silence: of the longest texts the second look is left out, and they are
// taken.
func TestTheSecondLookFitsAnAnswer(t *testing.T) {
	for rule, text := range map[string]string{
		"ordinary words":         strings.Repeat("word ", 599) + "end?",
		"hostile words":          long("Is", flows.MaxText-1) + "?",
		"four bytes a character": strings.Repeat("𝄞", 2999) + "?",
	} {
		_, answer := add(t, "", map[string]string{"text": text, "because": text})
		if answer.Next != nil {
			checkSize(t, rule, *answer.Next, block.AnswerBytes)
		} else {
			assert.Len(t, answer.Intents, 1, "%s: neither a second look, nor the text taken: %+v", rule, answer)
		}
	}
	_, answer := add(t, "", map[string]string{"text": strings.Repeat("word ", 599) + "end?"})
	assert.NotNil(t, answer.Next, "3,000 ordinary characters get no second look")
}

func TestTheLeadSeesWhatLooksAlike(t *testing.T) {
	m := momentAt(t, "assumptions")
	m = take(t, m, flows.AddAssumption{By: flows.By{Who: "U3"}, Text: "Crews can count bicycles without slowing the boarding down."})
	view, err := Open("assumptions.join", pageFor(m, "U1"))
	require.NoError(t, err)
	drawn := PlainForm(view)
	for _, want := range []string{"These look alike", "• A2 The crew can count", "A6 Crews can count"} {
		assert.Contains(t, drawn, want, "it does not show")
	}
}
