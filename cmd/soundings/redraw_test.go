package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/screens/screen"
)

// The command finds a message that shows more than the journal knows, and the
// bot that runs takes it away and tells the lead.
func TestRedraw(t *testing.T) {
	t.Parallel()
	r := startServing(t, false, nil)
	r.startKickoff(t)
	r.awaitMessage(t, "Bicycles on the Ferry")
	s := r.service.settings
	e := changed(httpEnviron(), "SOUNDINGS_LISTEN=127.0.0.1:0", "SLACK_API_URL="+s.APIURL, "SOUNDINGS_REDIS_URL="+s.RedisURL)
	assert.Equal(t, "1 open kickoff was compared; what stands in the channels is what the journal knows.\n", e.good(t, "redraw"))

	keys, err := journal.New(r.service.rdb, journal.Options{}).Index.Open(t.Context())
	require.NoError(t, err)
	tag := chat.Tag{Kickoff: keys[0].Kickoff, Slot: "stage/framing", Entry: 999}
	_, err = chat.New(s.BotToken, s.apiURL(), nil).Post(t.Context(), r.channel, "", tag, screen.Posting{Text: "What is asked in a stage that never was"})
	require.NoError(t, err)
	a := e.call(t, "", "redraw")
	assert.Equal(t, exitGood, a.code)
	assert.Equal(t, "1 open kickoff was compared; the bot that runs redraws "+keys[0].Kickoff+".\n", a.out)
	assert.Contains(t, a.errors, "a channel shows more than the journal knows")
	require.Eventually(t, func() bool {
		for _, m := range r.workspace.Messages(r.channel) {
			if strings.Contains(m.Text, "that never was") {
				return false
			}
		}
		for _, m := range r.workspace.Messages(r.workspace.DM(r.lead)) {
			if strings.Contains(m.Text, "were lost") {
				return true
			}
		}
		return false
	}, within, 50*time.Millisecond, "it still stands, or the lead was not told; the log:\n%s", r.log)
}
