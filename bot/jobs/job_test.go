package jobs

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestAdviceKeepsTheError(t *testing.T) {
	t.Parallel()
	for _, err := range []error{Retry(errStorm, time.Second), Drop(errStorm), NotYet(errStorm), Retry(errStorm, -time.Second)} {
		assert.ErrorIs(t, err, errStorm, "does not stand for")
		assert.Equal(t, errStorm.Error(), err.Error(), "does not stand for")
	}
	assert.NoError(t, Retry(nil, time.Second), "advice about no error is an error")
	assert.NoError(t, NotYet(nil), "advice about no error is an error")
	assert.NoError(t, Drop(nil), "advice about no error is an error")
}

func TestJudge(t *testing.T) {
	t.Parallel()
	p := Policy{Tries: 3, MaxDefer: time.Hour}.withDefaults()
	tests := []struct {
		name     string
		err      error
		waited   time.Duration
		failures int
		want     outcome
		pause    time.Duration
	}{
		{"no error", nil, 0, 0, succeeded, 0},
		{"no error, after failures", nil, 0, 2, succeeded, 0},
		{"a first failure", errStorm, 0, 0, failed, time.Second},
		{"a second failure", errStorm, 0, 1, failed, 2 * time.Second},
		{"a third failure, the last", errStorm, 0, 2, exhausted, 0},
		{"asked for time", Retry(errStorm, time.Minute), 0, 0, postponed, time.Minute},
		{"asked for time in the last try", Retry(errStorm, time.Minute), time.Hour, 2, postponed, time.Minute},
		{"asked for time for too long", Retry(errStorm, time.Minute), time.Hour + 1, 0, failed, time.Second},
		{"asked for time for too long, the last", Retry(errStorm, time.Minute), time.Hour + 1, 2, exhausted, 0},
		{"asked for less than no time", Retry(errStorm, -time.Minute), 0, 0, postponed, 0},
		{"not there yet", NotYet(errStorm), 0, 0, postponed, time.Second},
		{"not there for five minutes", NotYet(errStorm), 5 * time.Minute, 0, postponed, 30 * time.Second},
		{"not there for an hour", NotYet(errStorm), time.Hour, 2, postponed, time.Minute},
		{"not there for too long", NotYet(errStorm), time.Hour + 1, 0, failed, time.Second},
		{"dropped", Drop(errStorm), 0, 0, dropped, 0},
		{"dropped, wrapped", fmt.Errorf("post: %w", Drop(errStorm)), 0, 0, dropped, 0},
		{"dropped by one, asked for time by another", Drop(Retry(errStorm, time.Minute)), 0, 0, dropped, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, pause := p.outcomeOf(tt.err, tt.waited, tt.failures)
			assert.Equal(t, tt.want, got, "outcomeOf = %v after %v, want %v after", got, pause, tt.want)
			assert.Equal(t, tt.pause, pause, "outcomeOf = %v after %v, want %v after", got, pause, tt.want)
		})
	}
}

func TestDoubling(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]time.Duration{
		1: time.Second, 2: 2 * time.Second, 10: 512 * time.Second, 11: 15 * time.Minute, 70: 15 * time.Minute,
	} {
		assert.Equal(t, want, doubling(n), "doubling(%d)", n)
	}
}
