package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
	"soundings/flows/state"
)

// foreseen is a test of nine people's expectation beside one that three spoke of.
func foreseen() state.Kickoff {
	k := ended()
	k.Foresight = map[int]state.Foresight{
		1: {Counted: &state.Expected{N: 9, Median: 70, IQR: 20, Of: []int{0, 1, 2, 4, 2},
			Rings: map[state.Ring]state.RingsExpected{state.Core: {N: 5, Median: 90}, state.Consulted: {N: 4, Median: 50}}}},
		2: {Counted: &state.Expected{N: 3, Median: 50, IQR: engine.Undefined()}},
	}
	return k
}

func TestForesightStandsBesideTheResult(t *testing.T) {
	k := foreseen()
	assert.Equal(t, "The group expected about 70% (9 answers; core team 90%, consulted 50%). It was 11%.", ForesightText(k, 1))
	assert.Equal(t, "3 people said what they expected, too few to show it. It is 67% so far.", ForesightText(k, 2))
	assert.Empty(t, ForesightText(k, 3), "nobody said anything")
	k.Backlog.Tests[0].PassShare, k.Backlog.Tests[0].Size, k.Backlog.Tests[0].YesNo = 0, 0, true
	k.Underway.Checkins[0].Results[0] = state.TestResult{Test: 1, K: 0, N: 1, Rule: state.ByPlan, Entry: 1}
	assert.Equal(t, "The group thought a yes likely (9 answers; core team very likely, consulted as likely as not). It was a no.", ForesightText(k, 1))
	k.Backlog.Tests[0].YesNo, k.Backlog.Tests[0].Bound = false, state.Bound{Unit: "minutes", At: 15, AtMost: true}
	k.Foresight[1].Counted.Rings = nil
	assert.Equal(t, "The group thought at most 15 minutes likely (9 answers). It was not so.", ForesightText(k, 1))
}

func TestAnEarlierReportSaysNothingOfForesight(t *testing.T) {
	k := foreseen()
	first := k.Underway.Checkins[0].Results[0]
	assert.NotEmpty(t, ForesightBeside(k, first))
	k.Underway.Checkins[0].Results = append(k.Underway.Checkins[0].Results, state.TestResult{Test: 1, K: 2, N: 4, Rule: state.ByPlan, Entry: 3})
	assert.Empty(t, ForesightBeside(k, first))
}

// By hand: expected 70%, it was 1 of 9, so 0.7-0.1111 is 59 points and its square 0.35;
// half would have missed by 0.3889, squared 0.15. Each by themselves: once 0.3-0.1111,
// twice 0.5-, four times 0.7-, twice 0.9-0.1111, squared and averaged 0.33. The test
// that is not done counts nowhere.
func TestGuessText(t *testing.T) {
	k := foreseen()
	assert.Equal(t, "What we expected of 1 test was 59 percentage points off.", GuessText(k))
	assert.Equal(t, "Answers about one test lay some 20 percentage points apart. Brier score 0.35: 0 is without a mistake, always to expect half gives 0.15, one person alone 0.33.", GuessScore(k))
	k.Backlog.Tests[1].Size = 3
	assert.Contains(t, GuessText(k), "What we expected of 1 test was 59", "what three expected is told nowhere")
	k.Foresight[2].Counted.N = 4
	assert.Contains(t, GuessText(k), "What we expected of 2 tests was 38 percentage points off on average. Nearest: A2 (expected 50%, it was 67%). Farthest off: A1 (expected 70%, it was 11%).")
	k.Foresight = nil
	assert.Empty(t, GuessText(k)+GuessScore(k))
}
