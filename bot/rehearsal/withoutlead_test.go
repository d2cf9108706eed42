package rehearsal_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// A lead who chose beforehand that the others rate alone gives no rating: the map is
// that of a script in which the lead has none, whatever the script has them think, and
// the result, the summary and the file for programs say so.
func TestTheLeadsRatingsCanBeLeftOut(t *testing.T) {
	t.Parallel()
	type file struct {
		NotRating []string        `json:"not_rating"`
		Score     json.RawMessage `json:"score"`
	}
	play := func(change func(*scenario.Scenario)) (channel, summary string, f file) {
		s := readScenario(t, "short.yaml")
		change(s)
		p := run(t, rehearsal.PlayConfig{Scenario: s})
		files := filesOf(t, p)
		require.NoError(t, json.Unmarshal(files["kickoff.json"], &f))
		return p.Transcript(), string(files["summary.md"]), f
	}
	const said = "As the lead, Ada chose beforehand not to rate."
	channel, summary, without := play(func(s *scenario.Scenario) { s.WithoutLead = true })
	assert.Equal(t, []string{"Ada"}, without.NotRating)
	assert.Contains(t, string(without.Score), `"raters": 2,`)
	assert.Equal(t, 2, strings.Count(channel, said), "the result says so, and the summary")
	assert.Equal(t, 1, strings.Count(summary, said), "the file of the summary says so")
	assert.Contains(t, channel, "2 of 2 rated")

	_, _, other := play(func(s *scenario.Scenario) {
		s.WithoutLead = true
		s.Ratings.Round1["ada"] = map[string]scenario.Pair{"A1": {Importance: 1, Evidence: 9}, "A2": {Importance: 1, Evidence: 9}, "A3": {Importance: 1, Evidence: 9}}
	})
	assert.JSONEq(t, string(without.Score), string(other.Score), "whatever the lead thinks")

	channel, summary, with := play(func(*scenario.Scenario) {})
	assert.Empty(t, with.NotRating)
	assert.Contains(t, string(with.Score), `"raters": 3,`)
	assert.NotContains(t, channel+summary, "chose beforehand")
}

// At a check-in such a lead rates no evidence either, and reports and votes like the others.
func TestTheLeadsRatingsAreLeftOutAtCheckins(t *testing.T) {
	t.Parallel()
	type file struct {
		Underway struct {
			Checkins []struct {
				Results    []struct{ Test int }
				Moved      []struct{ Raters int }
				Confidence struct{ N int }
			}
		}
	}
	for without, raters := range map[bool]int{false: 2, true: 1} {
		s := readScenario(t, "five.yaml")
		s.WithoutLead = without
		var f file
		require.NoError(t, json.Unmarshal(filesOf(t, run(t, rehearsal.PlayConfig{Scenario: s}))["kickoff.json"], &f))
		require.NotEmpty(t, f.Underway.Checkins)
		for _, c := range f.Underway.Checkins {
			require.NotEmpty(t, c.Moved)
			assert.Equal(t, raters, c.Moved[0].Raters, "lena, who leads, and marco")
			assert.NotEmpty(t, c.Results)
			assert.Equal(t, 2, c.Confidence.N)
		}
	}
}
