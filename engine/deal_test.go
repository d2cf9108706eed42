package engine

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestDealIsEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		assumptions, people, each := rapid.IntRange(1, 60).Draw(t, "assumptions"), rapid.IntRange(0, 30).Draw(t, "people"), rapid.IntRange(1, 20).Draw(t, "each")
		dealt := Deal(assumptions, people, each)
		require.Len(t, dealt, people)
		times := make([]int, assumptions)
		for _, ballot := range dealt {
			assert.Len(t, ballot, min(each, assumptions))
			assert.True(t, slices.IsSorted(ballot))
			assert.Len(t, slices.Compact(slices.Clone(ballot)), len(ballot), "something twice on one ballot")
			for _, a := range ballot {
				times[a]++
			}
		}
		assert.LessOrEqual(t, slices.Max(times)-slices.Min(times), 1, "times %v", times)
		assert.Equal(t, dealt, Deal(assumptions, people, each), "the same numbers, another deal")
	})
}

// With 12 people and 40 assumptions every assumption should meet many others:
// of 39 a deal in one round-robin, 15 by 15, reaches far fewer.
func TestDealSpreadsPairs(t *testing.T) {
	dealt := Deal(40, 12, 15)
	robin := make([][]int, 12)
	for i := range 12 * 15 {
		robin[i/15] = append(robin[i/15], i%40)
	}
	assert.Greater(t, fewestMet(dealt, 40), fewestMet(robin, 40))
	assert.GreaterOrEqual(t, fewestMet(dealt, 40), 26)
}

// fewestMet is with how many others the one that meets fewest shares a ballot.
func fewestMet(dealt [][]int, assumptions int) int {
	met := make([]map[int]bool, assumptions)
	for _, ballot := range dealt {
		for _, a := range ballot {
			if met[a] == nil {
				met[a] = map[int]bool{}
			}
			for _, b := range ballot {
				met[a][b] = true
			}
		}
	}
	fewest := assumptions
	for _, m := range met {
		fewest = min(fewest, len(m)-1)
	}
	return fewest
}

func TestParseList(t *testing.T) {
	list, err := ParseList("f", strings.NewReader("Assumption;statement;rater;x\nA1;The ramp is steep;ana;\n;;bo;\nA2;;;1\nA1;The ramp is steep;cy;\n"))
	require.NoError(t, err)
	assert.Equal(t, List{Raters: []string{"ana", "bo", "cy"}, IDs: []string{"A1", "A2"}, Statements: []string{"The ramp is steep", ""}}, list)
	for _, row := range []struct{ in, want string }{
		{"statement\nx\n", "f:1: the header lacks the column assumption; the first line must name the column assumption, and may name statement, rater and others"},
		{"assumption\n", "f:1: there is no assumption below the header; each line below it names one"},
		{"assumption,statement\nA1,x\nA1,y\n", "f:3: the statement of \"A1\" differs from the one on line 2; an assumption has one statement, the same wherever it stands"},
		{"assumption,statement\n,x\n", "f:2: the name of the assumption is missing; each line names a rater and an assumption"},
	} {
		_, err := ParseList("f", strings.NewReader(row.in))
		assert.EqualError(t, err, row.want)
	}
}
