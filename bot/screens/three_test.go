package screens

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
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
