package report

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// The files of a kickoff tell of three ratings no more than the median, also
// where an older release counted them and kept the quartiles.
func TestFilesGiveNoSingleRatingAway(t *testing.T) {
	three := engine.Score(engine.Table{IDs: []string{"A1"}, Statements: []string{"People look at their phones."}, Raters: []string{"a", "b", "c"},
		Importance: [][]engine.Rating{{2}, {5}, {9}}, Evidence: [][]engine.Rating{{1}, {4}, {8}}}, engine.Options{Asked: 3, Seed: 1})
	require.True(t, three.Assumptions[0].Importance.Q1.Defined())
	k := flows.WithZones(state.Kickoff{Assumptions: []state.Assumption{{ID: "A1", Text: "People look at their phones."}},
		Rounds: []state.Round{{N: 1, IDs: []string{"A1"}, Result: &three}}}, new(zones.Cache))
	files, err := Files(k)
	require.NoError(t, err)
	for _, f := range files {
		switch f.Name {
		case "kickoff.json":
			var got struct {
				Score struct {
					Assumptions []struct{ Importance, Evidence map[string]any }
				}
			}
			require.NoError(t, json.Unmarshal(f.Data, &got))
			for _, spread := range []map[string]any{got.Score.Assumptions[0].Importance, got.Score.Assumptions[0].Evidence} {
				for _, figure := range []string{"q1", "q3", "iqr", "ipr_low", "ipr_high", "ipras"} {
					value, there := spread[figure]
					assert.True(t, there && value == nil, "%s is %v", figure, value)
				}
				assert.NotNil(t, spread["median"])
			}
		case "assumptions.csv":
			assert.Contains(t, string(f.Data), ",5,,4,,", "medians without their ranges")
		case "summary.md":
			assert.Contains(t, string(f.Data), "5 (median of 3 ratings)")
		case "summary.html":
			assert.Contains(t, string(f.Data), `<td data-is="importance">5</td><td data-is="evidence">4</td>`, "medians without their ranges")
		case "map.svg":
			assert.NotContains(t, strings.ToLower(string(f.Data)), "nan")
		}
	}
}

// Evidence that few rated anew at a check-in has no figure in any file, nor an arrow on the
// map, also where an older release kept it; from four raters on it has.
func TestFilesGiveNoRatingOfACheckinAway(t *testing.T) {
	score := engine.Score(engine.Table{IDs: []string{"A1"}, Statements: []string{"People look at their phones."}, Raters: []string{"a", "b", "c", "d"},
		Importance: [][]engine.Rating{{2}, {5}, {9}, {4}}, Evidence: [][]engine.Rating{{1}, {4}, {8}, {3}}}, engine.Options{Asked: 4, Seed: 1})
	for raters := 1; raters <= state.FewestRaters; raters++ {
		k := flows.WithZones(state.Kickoff{Assumptions: []state.Assumption{{ID: "A1", Text: "People look at their phones."}},
			Rounds: []state.Round{{N: 1, IDs: []string{"A1"}, Result: &score}}}, new(zones.Cache))
		k.Underway.Checkins = []state.Checkin{{N: 1, Moved: []state.Move{{Assumption: "A1", From: 3.5, To: 7.25, Raters: raters, ZoneFrom: engine.TestFirst, ZoneTo: engine.Next}}}}
		files, err := Files(k)
		require.NoError(t, err)
		told := raters == state.FewestRaters
		for _, f := range files {
			switch f.Name {
			case "summary.md", "kickoff.json", "map.svg":
				assert.Equal(t, told, strings.Contains(string(f.Data), "7.25"), "%s, rated by %d", f.Name, raters)
			default:
				assert.False(t, !told && strings.Contains(string(f.Data), "7.25"), "%s, rated by %d", f.Name, raters)
			}
		}
		assert.Equal(t, told, strings.HasSuffix(MovedMapText(k, 1), "A1 from 3.5 to 7.25."), MovedMapText(k, 1))
		picture, err := MovedFile(k, 1)
		require.NoError(t, err)
		assert.Equal(t, MovedMapText(k, 1), picture.Alt)
		before, err := MovedFile(k, 0)
		require.NoError(t, err)
		assert.NotContains(t, before.Alt, "moved since", "nothing had moved before the check-in")
	}
}

// Nor have votes of few, on the weeks, on what was thought beforehand, and on confidence;
// nor the votes of a check-in that is still open.
func TestFilesGiveNoVoteAway(t *testing.T) {
	for voters := 1; voters <= state.FewestRaters; voters++ {
		for _, open := range []bool{false, true} {
			k := flows.WithZones(state.Kickoff{Timebox: state.Timebox{Weeks: 4, Median: 7.25, IQR: 0, Voters: voters,
				Outlook: &state.Outlook{Worth: 6.25, Worths: voters}}}, new(zones.Cache))
			c := state.Checkin{N: 1, Counted: &state.CheckinConfidence{Median: 5.75, Voters: voters}}
			if !open {
				c.Closed = time.Unix(1e9, 0)
			}
			k.Underway.Checkins = []state.Checkin{c}
			files, err := Files(k)
			require.NoError(t, err)
			told := voters == state.FewestRaters
			for _, f := range files {
				for _, figure := range []struct {
					says string
					told bool
				}{{"7.25", told}, {"6.25", told}, {"5.75", told && !open}} {
					has := strings.Contains(string(f.Data), figure.says)
					if f.Name == "summary.md" || f.Name == "kickoff.json" {
						assert.Equal(t, figure.told, has, "%s in %s, %d voters, open %t", figure.says, f.Name, voters, open)
					} else {
						assert.False(t, has && !figure.told, "%s in %s, %d voters, open %t", figure.says, f.Name, voters, open)
					}
				}
			}
		}
	}
}
