package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestCompareIDs(t *testing.T) {
	for _, test := range []struct {
		rule   string
		sorted []string
	}{
		{"numbers count", []string{"A1", "A2", "A10", "B1"}},
		{"the shorter of two that begin alike comes first", []string{"", "A", "A1", "A1a", "AA"}},
		{"numbers in several places", []string{"1.2", "1.10", "2.1"}},
		{"leading zeros decide last", []string{"A02", "A2", "A02b", "A2c", "A3"}},
		{"numbers longer than any integer", []string{"A99999999999999999999", "A100000000000000000000", "A100000000000000000001"}},
		{"zero is a number", []string{"A", "A0", "A00", "A1"}},
		{"other scripts go by their bytes", []string{"A", "É", "Ω1", "Ω2", "Ω10"}},
	} {
		for i, a := range test.sorted {
			for j, b := range test.sorted {
				got, want := CompareIDs(a, b), sign(i-j)
				assert.Equal(t, want, sign(got), "%s: CompareIDs(%q, %q) = %d", test.rule, a, b, got)
			}
		}
	}
}

func sign(n int) int { return min(1, max(-1, n)) }

// Whatever the ids are, the order must not depend on where they stood before.
func TestCompareIDsIsATotalOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.StringMatching(`[a01\x00é]{0,6}`)
		a, b, c := id.Draw(t, "a"), id.Draw(t, "b"), id.Draw(t, "c")
		assert.Equal(t, (a == b), (CompareIDs(a, b) == 0), "CompareIDs(%q, %q) = 0 must mean that they are equal", a, b)
		assert.Equal(t, -CompareIDs(b, a), CompareIDs(a, b), "CompareIDs of %q and %q is not the reverse of the other way round", a, b)
		s := []string{a, b, c}
		slices.SortFunc(s, CompareIDs)
		assert.False(t, CompareIDs(s[0], s[1]) > 0 || CompareIDs(s[1], s[2]) > 0 || CompareIDs(s[0], s[2]) > 0, "no order among %q", s)
	})
}
