package fakeslack

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

// heardTexts are the texts of the mentions that the stand-in got, in order.
func heardTexts(t *testing.T, l *fixture) []string {
	t.Helper()
	var out []string
	for _, d := range l.bot.all() {
		var e map[string]any
		require.NoError(t, json.Unmarshal(d.body, &e))
		text := wire.Str(wire.Obj(e, "event"), "text")
		out = append(out, text[len("<@"+l.team.BotUser()+"> "):])
	}
	return out
}

func TestRefusedDeliveryNeverArrives(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultRefused: {Every: 1}} })
	wantNoAck(t, "the shortcut", l.team.Client.Shortcut(t.Context(), l.ana, "log"), "connection_failed")
	assert.Empty(t, l.bot.all(), "deliveries arrived")
}

func TestLostDeliveryArrives(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultLost: {Every: 1}} })
	wantNoAck(t, "the shortcut", l.team.Client.Shortcut(t.Context(), l.ana, "log"), "http_timeout")
	assert.Len(t, l.bot.all(), 1, "deliveries arrived")
}

// An event whose acknowledgement was lost comes again at once, as the same
// event.
func TestLostEventComesAgain(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultLost: {Every: 2}} })
	require.NoError(t, l.mention("one"))
	assert.NoError(t, l.mention("two"), "the second try should have made it")
	assert.Equal(t, []string{"one", "two", "two"}, heardTexts(t, l))
	assert.Equal(t, "1", l.bot.last().header.Get("X-Slack-Retry-Num"), "the second try does not say so")
}

func TestDoubledDeliveriesArriveTwice(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultDoubled: {Every: 2}} })
	ids := func(kind string) (out []string) {
		for _, d := range l.bot.all() {
			var e map[string]any
			if json.Unmarshal(d.body, &e) == nil {
				out = append(out, wire.Str(e, kind))
			}
		}
		return out
	}
	for range 2 {
		require.NoError(t, l.mention("hello"))
	}
	got := ids("event_id")
	assert.False(t, len(got) != 3 || got[0] == got[1] || got[1] != got[2], "events: got %v, want the second one twice", got)
	assert.Equal(t, "1", l.bot.last().header.Get("X-Slack-Retry-Num"), "retry number of the double")
	before := len(l.bot.all())
	for range 2 {
		require.NoError(t, l.team.Client.Shortcut(t.Context(), l.ana, "log"))
	}
	assert.Equal(t, 3, len(l.bot.all())-before, "deliveries of two shortcuts")
}

func TestReorderedEventsSwap(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultReordered: {Every: 3}} })
	for _, text := range []string{"one", "two", "three", "four"} {
		require.NoError(t, l.mention(text))
	}
	assert.Equal(t, []string{"one", "two", "four", "three"}, heardTexts(t, l))
}

func TestReorderedEventComesInTheEnd(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultReordered: {Every: 1}} })
	require.NoError(t, l.mention("alone"))
	require.Empty(t, l.bot.all(), "deliveries came at once")
	l.clock.add(heldBy)
	require.NoError(t, l.team.Outbox.Redeliver(t.Context()))
	assert.Equal(t, []string{"alone"}, heardTexts(t, l))
}

func TestDroppedSocketsTakeTurns(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultDropped: {Every: 1}} })
	act := func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }
	before := l.plug()
	wantNoAck(t, "dropped before", act(), "connection_failed")
	before.ends() // without a frame
	after := l.plug()
	err := during(act, func() { after.ack("") })
	wantNoAck(t, "dropped after", err, "connection_failed")
	after.ends()
}

// KeepRedelivering serves a team in which no clock leaps.
func TestKeepRedelivering(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultReordered: {Every: 1}} })
	require.NoError(t, l.mention("alone"))
	l.clock.add(time.Minute)
	w := l.plug()
	done := make(chan struct{})
	go func() {
		defer close(done)
		l.team.Outbox.KeepRedelivering(t.Context())
	}()
	f := w.ack("")
	assert.True(t, f.at("payload", "event", "type") == "app_mention", "got %v", f)
	t.Cleanup(func() { <-done }) // t.Context ends before this
}
