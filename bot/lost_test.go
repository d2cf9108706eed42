package bot_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
)

// The server loses a whole stage under a running bot: its result and the next
// stage's question already stand in the channel. What never was is taken away,
// the lead reads whose answers are gone, and the kickoff is played on to its
// end with nothing standing twice.
func TestStageLostByTheStore(t *testing.T) {
	rdb := storetest.Client(t, storetest.Embedded(t))
	h := newTestBot(t, options{rdb: rdb})
	scenes := script()[:scenesPlayed]
	n := 0
	for ; scenes[n].stage != "roles"; n++ {
		scenes[n].play(h)
	}
	restore := storetest.Copy(t, rdb)
	scenes[n].play(h)
	before := h.slots()
	require.Equal(t, 1, before["stage/assumptions"], "the stage that is lost has closed: %v", before)
	restore()

	h.press("bo", "open/assumptions.add")
	h.settle()
	require.Empty(t, h.clock.Failed())
	after := h.slots()
	assert.Zero(t, after["stage/assumptions"], "the next stage's question still stands: %v", after)
	assert.Zero(t, after["result/roles"], "the result still stands: %v", after)
	assert.Equal(t, 1, after["stage/roles"])
	loss := ""
	for _, m := range h.ws.Messages(h.ws.DM(h.ids["ana"])) {
		if strings.Contains(m.Text, "were lost") {
			assert.Empty(t, loss, "the lead is told twice")
			loss = m.Text
		}
	}
	for _, name := range []string{"Ana", "Bo", "Cy", "Eve"} {
		assert.Contains(t, loss, name)
	}
	for _, scene := range scenes[n:] {
		scene.play(h)
	}
	require.Empty(t, h.clock.Failed())
	for slot, count := range h.slots() {
		assert.Equal(t, 1, count, "%s stands", slot)
	}
	if scenesPlayed == len(script()) {
		assert.Equal(t, 1, h.slots()["summary"])
	}
}
