package journal_test

import (
	"sync/atomic"
	"testing"
)

func greet(t *testing.T, f fixture, team, channel string, want bool) {
	t.Helper()
	first, err := f.Index.Greet(t.Context(), team, channel)
	must(t, "greet", err)
	if first != want {
		t.Errorf("Greet(%s, %s) = %v, want %v", team, channel, first, want)
	}
}

func greetedOnce(t *testing.T, f fixture) {
	var first atomic.Int32
	together(16, func(int) {
		won, err := f.Index.Greet(t.Context(), "T1", "C1")
		if err != nil {
			t.Errorf("Greet: %v", err)
		}
		if won {
			first.Add(1)
		}
	})
	if got := first.Load(); got != 1 {
		t.Errorf("%d of 16 were first, want 1", got)
	}
	greet(t, f, "T1", "C2", true)
	greet(t, f, "T2", "C1", true)
	must(t, "take back", f.Index.Ungreet(t.Context(), "T1", "C1"))
	greet(t, f, "T1", "C1", true)
	greet(t, f, "T1", "C1", false)
	if _, err := f.Index.Greet(t.Context(), "T1", ""); err == nil {
		t.Error("a channel without a name was greeted")
	}
}
