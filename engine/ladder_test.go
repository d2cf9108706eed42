package engine

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestLadder(t *testing.T) {
	for _, row := range []struct {
		rule           string
		votes          []int
		median, q1, q3 float64
		level          int
		half           bool
		counted        int
	}{
		{"one vote decides", []int{1}, 1, 1, 1, 1, false, 1},
		{"the middle of three", []int{2, -1, 0}, 0, -0.5, 1, 0, false, 3},
		{"two neighbours: the narrower", []int{1, 0}, 0.5, 0.25, 0.75, 0, true, 2},
		{"two neighbours below the original: the narrower", []int{-1, 0}, -0.5, -0.75, -0.25, -1, true, 2},
		{"two ends meet in the middle", []int{2, -2}, 0, -1, 1, 0, false, 2},
		{"four with a half", []int{-2, -1, 0, 2}, -0.5, -1.25, 0.5, -1, true, 4},
		{"all of one mind", []int{-2, -2, -2, -2}, -2, -2, -2, -2, false, 4},
		{"votes off the ladder are not counted", []int{1, 7, -3}, 1, 1, 1, 1, false, 1},
	} {
		t.Run(row.rule, func(t *testing.T) {
			want := LadderLevel{Median: Figure(row.median), Q1: Figure(row.q1), Q3: Figure(row.q3),
				IQR: Figure(row.q3 - row.q1), Level: row.level, HalfStep: row.half, N: row.counted}
			assert.Equal(t, want, Ladder(row.votes), "Ladder(%v)", row.votes)
		})
	}
}

func TestLadderWithoutVotesKeepsTheOriginal(t *testing.T) {
	got := Ladder(nil)
	assert.Equal(t, 0, got.Level, "Ladder(nil) = %+v, want level 0 and no figures", got)
	assert.Equal(t, 0, got.N, "Ladder(nil) = %+v, want level 0 and no figures", got)
	assert.False(t, got.HalfStep, "Ladder(nil) = %+v, want level 0 and no figures", got)
	assert.False(t, got.Median.Defined(), "Ladder(nil) = %+v, want level 0 and no figures", got)
	assert.False(t, got.IQR.Defined(), "Ladder(nil) = %+v, want level 0 and no figures", got)
	data, err := json.Marshal(got)
	assert.NoError(t, err, "JSON %s", data)
	assert.Equal(t, `{"median":null,"q1":null,"q3":null,"iqr":null,"level":0,"half_step":false,"n":0}`, string(data), "JSON %s", data)
}

// The naive twin walks rung by rung: the level is the lowest rung that at
// least half of the votes lie on or below.
func TestLadderAgreesWithCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		votes := rapid.SliceOfN(rapid.IntRange(-2, 2), 1, 40).Draw(t, "votes")
		want, below := 3, 0
		for rung := -2; rung <= 2; rung++ {
			for _, v := range votes {
				if v == rung {
					below++
				}
			}
			if want == 3 && 2*below >= len(votes) {
				want = rung
			}
		}
		got := Ladder(votes)
		// Votes that skip a rung put an even median between it and the next
		// full one: 0 and 2 meet at 1, a whole rung that nobody chose.
		require.False(t, got.Level != want && !(2*countUpTo(votes, want) == len(votes) && got.Level > want), "Ladder(%v).Level = %d, by counting %d", votes, got.Level, want)
		d := float64(got.Median) - float64(got.Level)
		require.Equal(t, (d == 0.5), got.HalfStep, "Ladder(%v): median %v, level %d, half step", votes, got.Median, got.Level)
		require.False(t, d != 0 && d != 0.5, "Ladder(%v): median %v, level %d, half step", votes, got.Median, got.Level)
		slices.Reverse(votes)
		require.Equal(t, got, Ladder(votes), "in another order")
	})
}

func countUpTo(votes []int, rung int) int {
	n := 0
	for _, v := range votes {
		if v <= rung {
			n++
		}
	}
	return n
}

func TestLadderStaysOnTheLadder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		got := Ladder(rapid.SliceOf(rapid.Int()).Draw(t, "votes"))
		require.GreaterOrEqual(t, got.Level, LadderNarrowest, "%+v leaves the ladder", got)
		require.LessOrEqual(t, got.Level, LadderBroadest, "%+v leaves the ladder", got)
		require.False(t, math.IsInf(float64(got.IQR), 0), "%+v leaves the ladder", got)
	})
}
