package journal_test

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

func greet(t *testing.T, f fixture, team, channel string, want bool) {
	t.Helper()
	first, err := f.Index.Greet(t.Context(), team, channel)
	must(t, "greet", err)
	assert.Equal(t, want, first, "Greet(%s, %s)", team, channel)
}

func greetedOnce(t *testing.T, f fixture) {
	var first atomic.Int32
	together(16, func(int) {
		won, err := f.Index.Greet(t.Context(), "T1", "C1")
		assert.NoError(t, err, "Greet")
		if won {
			first.Add(1)
		}
	})
	assert.Equal(t, int32(1), first.Load(), "of 16 were first")
	greet(t, f, "T1", "C2", true)
	greet(t, f, "T2", "C1", true)
	must(t, "take back", f.Index.Ungreet(t.Context(), "T1", "C1"))
	greet(t, f, "T1", "C1", true)
	greet(t, f, "T1", "C1", false)
	_, err := f.Index.Greet(t.Context(), "T1", "")
	assert.Error(t, err, "a channel without a name was greeted")
}
