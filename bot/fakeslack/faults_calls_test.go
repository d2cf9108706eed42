package fakeslack

import (
	"encoding/json"
	"errors"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pauses keeps what a team wanted to wait for.
type pauses struct {
	mu  sync.Mutex
	all []time.Duration
}

func (p *pauses) add(d time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.all = append(p.all, d)
}

func (l *fixture) say1(text string) error {
	_, _, err := l.api.PostMessageContext(l.t.Context(), l.channel, slack.MsgOptionText(text, false))
	return err
}

// standing counts the bot's messages in the fixture's channel.
func (l *fixture) standing() int { return len(l.team.Messages(l.channel)) }

func TestFaultsOfCalls(t *testing.T) {
	for _, c := range []struct {
		name   string
		faults Faults
		seen   bool // the bot hears that it was done
		done   bool // it was done
		check  func(t *testing.T, err error)
	}{
		{name: "refused is not done", faults: Faults{faultRefused: {Every: 1}}, check: wantNoAnswer},
		{name: "lost is done", faults: Faults{faultLost: {Every: 1}}, done: true, check: wantNoAnswer},
		{name: "failed is not done", faults: Faults{faultFailed: {Every: 1}}, check: func(t *testing.T, err error) {
			var status slack.StatusCodeError
			assert.ErrorAs(t, err, &status, "got %v, want 503", err)
			assert.Equal(t, http.StatusServiceUnavailable, status.Code, "got %v, want 503", err)
		}},
		{name: "limited is not done", faults: Faults{faultLimited: {Every: 1, Lasts: 7 * time.Second}}, check: func(t *testing.T, err error) {
			var limited *slack.RateLimitedError
			assert.ErrorAs(t, err, &limited, "got %v, want to wait 7 s", err)
			assert.Equal(t, time.Duration(7*time.Second), limited.RetryAfter, "got %v, want to wait 7 s", err)
		}},
		{name: "no fault", seen: true, done: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := newFixture(t, func(cfg *Config) { cfg.Faults = c.faults })
			err := l.say1("hello")
			assert.Equal(t, c.seen, err == nil, "got %v", err)
			assert.Equal(t, c.done, l.standing() == 1, "%d messages stand", l.standing())
			if c.check != nil {
				c.check(t, err)
			}
			l.team.Faults.Set(Faults{})
			assert.NoError(t, l.say1("again"), "without faults")
		})
	}
}

// wantNoAnswer wants an error of the connection, not of the platform.
func wantNoAnswer(t *testing.T, err error) {
	t.Helper()
	var answered slack.SlackErrorResponse
	var status slack.StatusCodeError
	assert.Error(t, err)
	assert.False(t, errors.As(err, &answered))
	assert.False(t, errors.As(err, &status))
}

func TestFaultsAreCounted(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultRefused: {Every: 3}, faultLost: {Every: 2}} })
	var failed []int
	for n := range 9 {
		if l.say1("hello") != nil {
			failed = append(failed, n+1)
		}
	}
	// Every third is refused: 3, 6, 9. Of the others, 1 2 4 5 7 8, every second is lost.
	assert.Equal(t, []int{2, 3, 5, 6, 8, 9}, failed, "calls that failed")
	got := l.team.Faults.Struck()
	assert.False(t, got["refused"] != 3 || got["lost"] != 3, "struck: got %v, want 3 and 3", got)
	assert.Equal(t, 6, l.standing(), "messages stand")
	l.team.Faults.Set(Faults{faultRefused: {Every: 3}})
	assert.NoError(t, errors.Join(l.say1("one"), l.say1("two")), "the count does not begin anew")
}

func TestStormPasses(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultLimited: {Every: 2}} })
	wait := func(method string) string {
		return l.raw(method, map[string]any{"channel": l.channel, "text": "x"})["error"].(string)
	}
	require.NoError(t, l.say1("one"))
	for range 3 {
		assert.Equal(t, "ratelimited", wait("chat.postMessage"), "in the storm")
	}
	assert.True(t, l.raw("auth.test", nil)["ok"] == true, "the storm holds other methods up")
	l.clock.add(limitedFor)
	l.team.Faults.Set(Faults{faultLimited: {Every: 100}}) // else the next storm begins at once
	assert.NoError(t, l.say1("two"), "after the storm")
}

func TestSlowTakesTheTimeOfTheTeam(t *testing.T) {
	var p pauses
	l := newFixture(t, func(c *Config) {
		c.Faults, c.Pause = Faults{faultSlow: {Every: 2, Lasts: 400 * time.Millisecond}}, p.add
	})
	for range 4 {
		require.NoError(t, l.say1("hello"))
	}
	for range 2 {
		require.NoError(t, l.mention("hello"))
	}
	assert.Equal(t, []time.Duration{400 * time.Millisecond, 400 * time.Millisecond, 400 * time.Millisecond}, p.all)
}

func TestSlowTakesRealTimeElse(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultSlow: {Every: 1, Lasts: 30 * time.Millisecond}} })
	began := time.Now()
	require.NoError(t, l.say1("hello"))
	assert.GreaterOrEqual(t, time.Since(began), time.Duration(30*time.Millisecond), "it took")
}

func TestTraceShowsWhatWasNotDone(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultFailed: {Every: 1}} })
	var seen []Call
	l.team.OnCall(func(c Call) { seen = append(seen, c) })
	_ = l.say1("hello")
	l.team.Faults.Set(Faults{faultRefused: {Every: 1}})
	_ = l.say1("hello")
	l.team.OnCall(nil)
	if len(seen) != 2 || seen[0].Status != http.StatusServiceUnavailable || seen[0].OK || seen[0].Args["text"] != "hello" || seen[1].Status != 0 {
		data, _ := json.Marshal(seen)
		t.Errorf("got %s", data)
	}
}

// Opening a socket is spared: a client then waits in real time.
func TestSocketsOpenInAnyStorm(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Faults = Faults{faultRefused: {Every: 1}} })
	l.plug()
}
