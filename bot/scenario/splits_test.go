package scenario

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The scenarios are told around what splits and what a second round settles.
// These checks work it out the plain way, from sorted lists, so that they
// stand beside the engine's figures and not on them. Percentiles: Hyndman &
// Fan 1996, type 7. Disagreement: the IPRAS rule of the RAND/UCLA manual,
// MR-1269, as worked through in BMJ Open 2012;2:e001431, table 1.

// A plainSpread is the part of a score that five.expected.json holds.
type plainSpread struct {
	N            int     `json:"n"`
	Median       float64 `json:"median"`
	Q1           float64 `json:"q1"`
	Q3           float64 `json:"q3"`
	IQR          float64 `json:"iqr"`
	IPRLow       float64 `json:"ipr_low"`
	IPRHigh      float64 `json:"ipr_high"`
	IPRAS        float64 `json:"ipras"`
	Disagreement bool    `json:"disagreement"`
	Agreement    string  `json:"agreement"`
}

func plainSpreadOf(ratings []int) plainSpread {
	sorted := slices.Sorted(slices.Values(ratings))
	at := func(p float64) float64 {
		h := float64(len(sorted)-1) * p
		low := int(math.Floor(h + 1e-9))
		high := min(low+1, len(sorted)-1)
		return float64(sorted[low]) + (h-float64(low))*float64(sorted[high]-sorted[low])
	}
	s := plainSpread{N: len(sorted), Median: at(0.5), Q1: at(0.25), Q3: at(0.75), IPRLow: at(0.3), IPRHigh: at(0.7), Agreement: "mixed"}
	s.IQR = s.Q3 - s.Q1
	s.IPRAS = 2.35 + 1.5*math.Abs(5-(s.IPRLow+s.IPRHigh)/2)
	s.Disagreement = s.IPRHigh-s.IPRLow > s.IPRAS+1e-9
	switch {
	case s.Disagreement || s.IQR > 4:
		s.Agreement = "split"
	case s.IQR <= 2:
		s.Agreement = "close"
	}
	return s
}

// near compares two spreads, figures to within rounding.
func (s plainSpread) near(o plainSpread) bool {
	a := []float64{s.Median, s.Q1, s.Q3, s.IQR, s.IPRLow, s.IPRHigh, s.IPRAS}
	b := []float64{o.Median, o.Q1, o.Q3, o.IQR, o.IPRLow, o.IPRHigh, o.IPRAS}
	for i := range a {
		if math.Abs(a[i]-b[i]) > 1e-9 {
			return false
		}
	}
	return s.N == o.N && s.Disagreement == o.Disagreement && s.Agreement == o.Agreement
}

// latestRatings is round 1 with what round 2 changed.
func latestRatings(r Ratings) map[string]map[string]Pair {
	out := map[string]map[string]Pair{}
	for _, round := range []map[string]map[string]Pair{r.Round1, r.Round2} {
		for person, ballot := range round {
			if out[person] == nil {
				out[person] = map[string]Pair{}
			}
			maps.Copy(out[person], ballot)
		}
	}
	return out
}

func spreadsOf(ballots map[string]map[string]Pair, id string) (importance, evidence plainSpread) {
	var i, e []int
	for _, ballot := range ballots {
		if r := ballot[id]; r.Importance > 0 {
			i = append(i, r.Importance)
		}
		if r := ballot[id]; r.Evidence > 0 {
			e = append(e, r.Evidence)
		}
	}
	return plainSpreadOf(i), plainSpreadOf(e)
}

func splitIn(s *Scenario, ballots map[string]map[string]Pair) []string {
	var ids []string
	for _, a := range s.Assumptions {
		i, e := spreadsOf(ballots, a.ID)
		if i.Agreement == "split" || e.Agreement == "split" {
			ids = append(ids, a.ID)
		}
	}
	return ids
}

func TestScenarioSplits(t *testing.T) {
	for _, c := range []struct {
		file          string
		first, second []string
	}{
		{"ferry.yaml", []string{"A5", "A9", "A14"}, []string{"A14"}},
		{"five.yaml", []string{"A3"}, nil},
	} {
		s := mustParse(t, c.file)
		got := splitIn(s, s.Ratings.Round1)
		assert.Equal(t, c.first, got, "%s, round 1: got %v split", c.file, got)
		got = splitIn(s, latestRatings(s.Ratings))
		assert.Equal(t, c.second, got, "%s, round 2: got %v split", c.file, got)
	}
}

func TestFiveExpectedFollowsFromItsRatings(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(scenarios, "five.expected.json"))
	require.NoError(t, err)
	var expected struct {
		Score struct {
			Assumptions []struct {
				ID         string      `json:"id"`
				Importance plainSpread `json:"importance"`
				Evidence   plainSpread `json:"evidence"`
			} `json:"assumptions"`
		} `json:"score"`
	}
	require.NoError(t, json.Unmarshal(data, &expected))
	s := mustParse(t, "five.yaml")
	got, want := len(expected.Score.Assumptions), len(s.Assumptions)
	require.Equal(t, want, got, "got %d assumptions", got)
	for _, want := range expected.Score.Assumptions {
		i, e := spreadsOf(latestRatings(s.Ratings), want.ID)
		assert.True(t, i.near(want.Importance), "%s importance: got %+v, want %+v", want.ID, i, want.Importance)
		assert.True(t, e.near(want.Evidence), "%s evidence: got %+v, want %+v", want.ID, e, want.Evidence)
	}
}
