package engine

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func readTable(t *testing.T, name string) Table {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "score", name))
	require.NoError(t, err)
	table, err := ParseTable(name, bytes.NewReader(data))
	require.NoError(t, err)
	return table
}

// Five raters, six assumptions, worked out by hand in testdata/score/README.md.
func TestScoreGolden(t *testing.T) {
	data, err := json.MarshalIndent(Score(readTable(t, "small.csv"), Options{Seed: 1}), "", "  ")
	require.NoError(t, err)
	golden, err := os.ReadFile(filepath.Join("..", "testdata", "score", "small.json"))
	require.NoError(t, err)
	var got, want any
	require.NoError(t, errors.Join(json.Unmarshal(data, &got), json.Unmarshal(golden, &want)))
	compareJSON(t, "score", got, want)
	if t.Failed() {
		t.Logf("score of small.csv:\n%s", data)
	}
}

// compareJSON allows for the last digits of a number: logarithms differ in
// them from processor to processor.
func compareJSON(t *testing.T, path string, got, want any) {
	t.Helper()
	switch want := want.(type) {
	case map[string]any:
		got, _ := got.(map[string]any)
		assert.Len(t, got, len(want), "%s has %d fields", path, len(got))
		for name := range want {
			compareJSON(t, path+"."+name, got[name], want[name])
		}
	case []any:
		got, _ := got.([]any)
		require.Len(t, got, len(want), "%s has %d elements", path, len(got))
		for i := range want {
			compareJSON(t, fmt.Sprintf("%s[%d]", path, i), got[i], want[i])
		}
	case float64:
		got, isNumber := got.(float64)
		assert.True(t, isNumber, "%s = %v, want %v", path, got, want)
		assert.False(t, math.Abs(got-want) > 1e-12*math.Abs(want), "%s = %v, want %v", path, got, want)
	default:
		assert.True(t, got == want, path)
	}
}

// The names that other programs read, in their order.
func TestScoreFieldNames(t *testing.T) {
	data, err := json.Marshal(Score(readTable(t, "small.csv"), Options{}))
	require.NoError(t, err)
	for _, names := range []string{
		`raters assumptions cut concordance order`,
		`id statement importance evidence zone known layer rank top3 rank_low rank_high levelled_importance levelled_evidence levelled_rank thin`,
		`n median q1 q3 lean iqr ipr_low ipr_high ipras disagreement agreement`,
		`w chi2 df p ballots left_out`,
	} {
		rest := string(data)
		for _, name := range strings.Fields(names) {
			var found bool
			_, rest, found = strings.Cut(rest, `"`+name+`":`)
			assert.True(t, found, "no field %q after those before it in %q", name, names)
		}
	}
}

func TestResultSurvivesJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want, err := json.Marshal(Score(drawTable(t), Options{Draws: 20}))
		require.NoError(t, err)
		var back Result
		require.NoError(t, json.Unmarshal(want, &back))
		got, err := json.Marshal(back)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(got, want), "read and written again:\n got %s\nwant", got)
	})
}

func TestWordsInJSON(t *testing.T) {
	for _, text := range []string{`null`, `"watch"`} {
		var z Zone
		require.NoError(t, json.Unmarshal([]byte(text), &z))
		got, _ := json.Marshal(z)
		assert.Equal(t, text, string(got), "zone %s read and written = %s", text, got)
	}
	a := Split
	assert.NoError(t, json.Unmarshal([]byte(`null`), &a), "agreement read from null = %q", a)
	assert.Equal(t, Agreement(""), a, "agreement read from null = %q", a)
	assert.Error(t, json.Unmarshal([]byte(`3`), &a), "a number is read as an agreement")
}

// asText is a result for comparing; NaN is not equal to itself.
func asText(t interface{ Fatal(...any) }, r Result) string {
	data, err := json.MarshalIndent(r, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// byID sorts what stands in the order of the table, to compare tables whose
// columns were shuffled.
func byID(r Result) Result {
	r.Assumptions = slices.Clone(r.Assumptions)
	slices.SortFunc(r.Assumptions, func(a, b AssumptionScore) int { return strings.Compare(a.ID, b.ID) })
	return r
}

func TestShufflingChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		o := Options{Seed: rapid.Uint64().Draw(t, "seed"), Draws: 50}
		raters := rapid.Permutation(places(len(table.Raters))).Draw(t, "raters")
		assumptions := rapid.Permutation(places(len(table.IDs))).Draw(t, "assumptions")
		got, want := asText(t, byID(Score(shuffled(table, raters, assumptions), o))), asText(t, byID(Score(table, o)))
		assert.Equal(t, want, got, "after shuffling:\n%s\nbefore", got)
	})
}

func shuffled(t Table, raters, assumptions []int) Table {
	var s Table
	for _, a := range assumptions {
		s.IDs, s.Statements = append(s.IDs, t.IDs[a]), append(s.Statements, t.Statements[a])
	}
	for _, r := range raters {
		s.Raters = append(s.Raters, t.Raters[r])
		s.Importance = append(s.Importance, pick(t.Importance[r], assumptions))
		s.Evidence = append(s.Evidence, pick(t.Evidence[r], assumptions))
	}
	return s
}

func TestAnAbstainerChangesOnlyTheCounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		// Without a number of people asked, the abstainer would be one more
		// who was asked, and could make figures thin.
		o := Options{Asked: rapid.IntRange(1, 12).Draw(t, "asked"), Draws: 50}
		want := Score(table, o)
		place := rapid.IntRange(0, len(table.Raters)).Draw(t, "place")
		nothing := make([]Rating, len(table.IDs))
		table.Raters = slices.Insert(slices.Clone(table.Raters), place, "nobody")
		table.Importance = slices.Insert(slices.Clone(table.Importance), place, nothing)
		table.Evidence = slices.Insert(slices.Clone(table.Evidence), place, nothing)
		got := Score(table, o)
		assert.Equal(t, want.Raters+1, got.Raters, "raters")
		got.Raters--
		got.Concordance.Importance.LeftOut--
		got.Concordance.Evidence.LeftOut--
		assert.Equal(t, asText(t, want), asText(t, got), "without and with an abstainer")
	})
}

// Where every median is a rating, as it is with an odd number of raters and no
// gaps, recoding the ratings inside the thirds of the scale recodes the
// medians. Then zones, layers, order, and the ranks in the resamples stay,
// unless the recoding makes or ends a split; levelled values need not.
func TestRecodingTheScaleInsideItsThirdsChangesNoRank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raters := 2*rapid.IntRange(1, 4).Draw(t, "pairs of raters") + 1
		assumptions := rapid.IntRange(1, 10).Draw(t, "assumptions")
		table, recoded := randomTable(raters, assumptions, 0), randomTable(raters, assumptions, 0)
		rows := func(used []Rating, name string) [][]Rating {
			row := rapid.SliceOfN(rapid.SampledFrom(used), assumptions, assumptions)
			return rapid.SliceOfN(row, raters, raters).Draw(t, name)
		}
		used, to := drawInThirds(t, "importance")
		table.Importance = rows(used, "importance")
		recoded.Importance = recode(table.Importance, to)
		used, to = drawInThirds(t, "evidence")
		table.Evidence = rows(used, "evidence")
		recoded.Evidence = recode(table.Evidence, to)
		before, after := Score(table, Options{Draws: 50}), Score(recoded, Options{Draws: 50})
		for i := range before.Assumptions {
			if (before.Assumptions[i].Evidence.Agreement == Split) != (after.Assumptions[i].Evidence.Agreement == Split) {
				t.Skip("another split")
			}
		}
		got, want := asText(t, onlyOrdinal(after)), asText(t, onlyOrdinal(before))
		assert.Equal(t, want, got, "recoded:\n%s\nbefore", got)
	})
}

// drawInThirds picks two ratings of each third, and what they become: two of
// the same third.
func drawInThirds(t *rapid.T, name string) (used, to []Rating) {
	to = make([]Rating, 9)
	for _, third := range [][]Rating{{1, 2, 3}, {4, 5, 6}, {7, 8, 9}} {
		from, into := drawTwo(t, third, name), drawTwo(t, third, name+" recoded")
		for i, r := range from {
			used, to[r-1] = append(used, r), into[i]
		}
	}
	return used, to
}

func drawTwo(t *rapid.T, third []Rating, name string) []Rating {
	left := rapid.SampledFrom(third).Draw(t, name+" leaves out")
	return slices.DeleteFunc(slices.Clone(third), func(r Rating) bool { return r == left })
}

func recode(rows [][]Rating, to []Rating) [][]Rating {
	recoded := make([][]Rating, len(rows))
	for i, row := range rows {
		for _, r := range row {
			recoded[i] = append(recoded[i], to[r-1])
		}
	}
	return recoded
}

// onlyOrdinal leaves what depends on the order of ratings alone.
func onlyOrdinal(r Result) Result {
	r.Cut = Cut{}
	r.Assumptions = slices.Clone(r.Assumptions)
	for i := range r.Assumptions {
		a := &r.Assumptions[i]
		*a = AssumptionScore{ID: a.ID, Zone: a.Zone, Layer: a.Layer, Rank: a.Rank,
			Top3: a.Top3, RankLow: a.RankLow, RankHigh: a.RankHigh}
	}
	return r
}

// Ten thousand tables, each put into order by the twin from its ratings.
func TestScoreAgainstTheNaiveOrder(t *testing.T) {
	tables := 10_000
	if testing.Short() {
		tables = 1000
	}
	rng := rand.New(rand.NewPCG(7, 8))
	for n := range tables {
		table, asked := anyTable(rng), rng.IntN(3)*rng.IntN(12)
		result := Score(table, Options{Draws: 1, Asked: asked})
		natural := naturalOrder(table.IDs)
		spots := naiveSpots(table, asked)
		levelled := slices.Clone(spots)
		for i, c := range natural {
			a := result.Assumptions[c]
			levelled[i].lean, levelled[i].at = Point{}, Point{float64(a.LevelledImportance), float64(a.LevelledEvidence)}
		}
		order, levelledOrder := naiveOrder(spots), naiveOrder(levelled)
		for rank, i := range order {
			a, s := result.Assumptions[natural[i]], spots[i]
			require.Equal(t, a.ID, result.Order[rank], "table %d: rank %d", n, rank+1)
			require.Equal(t, s.zone, a.Zone, "table %d: zone of %s", n, a.ID)
			require.Equal(t, s.layer, int(a.Layer), "table %d: layer of %s", n, a.ID)
			require.Equal(t, s.zone != "", a.Rank == Place(rank+1), "table %d: rank of %s", n, a.ID)
			require.Equal(t, s.at.Evidence >= 6.5 && !s.doubt, a.Known, "table %d: known of %s", n, a.ID)
		}
		for rank, i := range levelledOrder {
			a := result.Assumptions[natural[i]]
			require.True(t, a.LevelledRank == Place(rank+1) || a.Zone == "", "table %d: levelled rank of %s = %d, want %d", n, a.ID, a.LevelledRank, rank+1)
		}
	}
}

// anyTable has up to 9 raters and 12 assumptions, and is of one of several
// kinds: quiet, loud, all guesses, with gaps.
func anyTable(rng *rand.Rand) Table {
	table := randomTable(1+rng.IntN(9), 1+rng.IntN(12), 0)
	gaps := []float64{0, 0.1, 0.6}[rng.IntN(3)]
	for _, rows := range [][][]Rating{table.Importance, table.Evidence} {
		low := 1 + rng.IntN(9)
		high := low + rng.IntN(10-low)
		for _, row := range rows {
			for i := range row {
				row[i] = Rating(low + rng.IntN(high-low+1))
				if rng.Float64() < gaps {
					row[i] = 0
				}
			}
		}
	}
	return table
}

func TestUnratedAssumptionsStandLast(t *testing.T) {
	r := Score(Table{
		Raters:     []string{"ana", "bo"},
		IDs:        []string{"A10", "A9", "A2", "A1"},
		Importance: [][]Rating{{0, 9, 5, 1}, {0, 9, 6, 2}},
		Evidence:   [][]Rating{{3, 0, 5, 9}, {3, 0, 4, 8}},
	}, Options{})
	assert.Equal(t, []string{"A2", "A1", "A9", "A10"}, r.Order, "order")
	assert.Equal(t, (Cut{Importance: 3.5, Evidence: 6.5}), r.Cut, "cut")
	for _, a := range r.Assumptions[:2] {
		assert.Equal(t, Zone(""), a.Zone, "%s is off the map, and yet has a place on it: %+v", a.ID, a)
		assert.Equal(t, Place(0), a.Layer, "%s is off the map, and yet has a place on it: %+v", a.ID, a)
		assert.Equal(t, Place(0), a.Rank, "%s is off the map, and yet has a place on it: %+v", a.ID, a)
		assert.False(t, a.Top3.Defined(), "%s is off the map, and yet has a place on it: %+v", a.ID, a)
		assert.Equal(t, Place(0), a.RankLow, "%s is off the map, and yet has a place on it: %+v", a.ID, a)
		assert.Equal(t, Place(0), a.RankHigh, "%s is off the map, and yet has a place on it: %+v", a.ID, a)
		assert.Equal(t, Place(0), a.LevelledRank, "%s is off the map, and yet has a place on it: %+v", a.ID, a)
	}
	assert.False(t, r.Assumptions[0].LevelledImportance.Defined() || !r.Assumptions[0].LevelledEvidence.Defined(), "levelled values of A10 = %v, %v, want the second alone", r.Assumptions[0].LevelledImportance, r.Assumptions[0].LevelledEvidence)
}

func TestScoreOfNothing(t *testing.T) {
	for rule, table := range map[string]Table{
		"no table at all":        {},
		"nobody rates":           {IDs: []string{"A1"}},
		"nothing to rate":        {Raters: []string{"ana"}, Importance: [][]Rating{{}}, Evidence: [][]Rating{{}}},
		"everybody abstains":     {Raters: []string{"ana"}, IDs: []string{"A1"}, Importance: [][]Rating{{0}}, Evidence: [][]Rating{{0}}},
		"only one scale is used": {Raters: []string{"ana"}, IDs: []string{"A1"}, Importance: [][]Rating{{7}}, Evidence: [][]Rating{{0}}},
	} {
		r := Score(table, Options{})
		data, err := json.Marshal(r)
		require.NoError(t, err, rule)
		assert.False(t, r.Cut.Importance.Defined(), "%s: %s", rule, data)
		assert.Len(t, r.Order, len(table.IDs), "%s: %s", rule, data)
		assert.Len(t, r.Assumptions, len(table.IDs), "%s: %s", rule, data)
		assert.NotContains(t, string(data), `"assumptions":null`, "%s: null in place of an empty list: %s", rule, data)
		assert.NotContains(t, string(data), `"order":null`, "%s: null in place of an empty list: %s", rule, data)
	}
}

func TestThinGoesByThoseAsked(t *testing.T) {
	table := randomTable(6, 2, 0)
	assert.False(t, Score(table, Options{}).Assumptions[0].Thin, "six of six ratings are thin")
	assert.True(t, Score(table, Options{Asked: 13}).Assumptions[0].Thin, "six ratings of thirteen people asked are not thin")
	for rater := range 4 {
		table.Evidence[rater][0] = 0
	}
	r := Score(table, Options{})
	assert.False(t, !r.Assumptions[0].Thin || r.Assumptions[1].Thin, "two ratings of evidence must make A1 thin, and A1 alone")
	table = randomTable(9, 1, 0)
	for rater := range 5 {
		table.Importance[rater][0] = 0
	}
	assert.True(t, Score(table, Options{}).Assumptions[0].Thin, "four ratings of nine raters are not thin when nobody says how many were asked")
}

func TestScoreLeavesItsTableAlone(t *testing.T) {
	table, same := randomTable(9, 9, 0.3), randomTable(9, 9, 0.3)
	Score(table, Options{Draws: 10})
	assert.Equal(t, same, table, "Score has changed its table")
}

func TestTheSeedDecides(t *testing.T) {
	table := randomTable(12, 12, 0.1)
	shares := func(seed uint64) (s []Figure) {
		for _, a := range Score(table, Options{Seed: seed, Draws: 500}).Assumptions {
			s = append(s, a.Top3)
		}
		return s
	}
	a, b := shares(1), shares(1)
	assert.Equal(t, b, a, "the same seed gives %v and", a)
	a, b = shares(1), shares(2)
	assert.False(t, slices.Equal(a, b), "two seeds give the same shares: %v", a)
}

// Two raters of one name are told apart by what they rated.
func TestNamesakes(t *testing.T) {
	table := randomTable(6, 9, 0.1)
	for i := range table.Raters {
		table.Raters[i] = "ana"
	}
	table.Evidence[1], table.Evidence[2], table.Importance[3] = table.Evidence[0], table.Evidence[0], table.Importance[0]
	table.Statements = make([]string, 9)
	want := asText(t, Score(table, Options{Draws: 200}))
	rng := rand.New(rand.NewPCG(5, 6))
	for range 6 {
		got := asText(t, Score(shuffled(table, rng.Perm(6), places(9)), Options{Draws: 200}))
		assert.Equal(t, want, got, "shuffled namesakes:\n%s\nwant", got)
	}
}

func TestATableThatDoesNotFitPanics(t *testing.T) {
	for rule, table := range map[string]Table{
		"a row is missing":   {Raters: []string{"ana"}, IDs: []string{"A1"}, Importance: [][]Rating{{1}}},
		"a row is too short": {Raters: []string{"ana"}, IDs: []string{"A1"}, Importance: [][]Rating{{1}}, Evidence: [][]Rating{{}}},
		"a rating of ten":    {Raters: []string{"ana"}, IDs: []string{"A1"}, Importance: [][]Rating{{10}}, Evidence: [][]Rating{{1}}},
		"a rating of -1":     {Raters: []string{"ana"}, IDs: []string{"A1"}, Importance: [][]Rating{{1}}, Evidence: [][]Rating{{-1}}},
	} {
		func() {
			defer func() {
				assert.NotNil(t, recover(), "%s: Score does not panic", rule)
			}()
			Score(table, Options{})
		}()
	}
}

// All alike, or all but one in ten, from six ratings on.
func TestFlatBallotsAreCounted(t *testing.T) {
	row := func(ratings ...Rating) []Rating { return append(ratings, make([]Rating, 12-len(ratings))...) }
	table := randomTable(0, 12, 0)
	for name, ballot := range map[string][]Rating{
		"six alike": row(9, 9, 9, 9, 9, 9), "five alike": row(9, 9, 9, 9, 9), "one of six differs": row(9, 9, 9, 9, 9, 8),
		"one of ten differs": row(4, 4, 4, 4, 4, 4, 4, 4, 4, 5), "two of ten differ": row(4, 4, 4, 4, 4, 4, 4, 4, 3, 5), "nothing": row(),
	} {
		table.Raters = append(table.Raters, name)
		table.Importance = append(table.Importance, ballot)
		table.Evidence = append(table.Evidence, row(1, 2, 3, 4, 5, 6, 7))
	}
	assert.Equal(t, Flat{Importance: 2}, Score(table, Options{Draws: 10}).Flat)
}
