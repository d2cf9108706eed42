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
		`id statement importance evidence zone layer rank top3 rank_low rank_high levelled_importance levelled_evidence levelled_rank thin`,
		`n median q1 q3 iqr ipr_low ipr_high ipras disagreement agreement`,
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
// gaps, recoding the ratings recodes the medians. Then zones, layers, order,
// and the ranks in the resamples stay; levelled values need not.
func TestRecodingTheScaleChangesNoRank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raters := 2*rapid.IntRange(0, 4).Draw(t, "pairs of raters") + 1
		assumptions := rapid.IntRange(1, 10).Draw(t, "assumptions")
		used := rapid.IntRange(1, 9).Draw(t, "ratings in use")
		row := rapid.SliceOfN(rapid.Map(rapid.IntRange(1, used), func(v int) Rating { return Rating(v) }), assumptions, assumptions)
		table := randomTable(raters, assumptions, 0)
		table.Importance = rapid.SliceOfN(row, raters, raters).Draw(t, "importance")
		table.Evidence = rapid.SliceOfN(row, raters, raters).Draw(t, "evidence")
		recoded := table
		recoded.Importance = recode(table.Importance, drawRising(t, used, "recoded importance"))
		recoded.Evidence = recode(table.Evidence, drawRising(t, used, "recoded evidence"))
		got, want := asText(t, onlyOrdinal(Score(recoded, Options{Draws: 50}))), asText(t, onlyOrdinal(Score(table, Options{Draws: 50})))
		assert.Equal(t, want, got, "recoded:\n%s\nbefore", got)
	})
}

// drawRising picks n of the ratings, in order: rating r becomes the r-th.
func drawRising(t *rapid.T, n int, name string) []Rating {
	picked := rapid.Permutation([]Rating{1, 2, 3, 4, 5, 6, 7, 8, 9}).Draw(t, name)[:n]
	picked = slices.Clone(picked)
	slices.Sort(picked)
	return picked
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

func TestScoreAgainstTheNaiveOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		result := Score(table, Options{Draws: 1})
		natural := naturalOrder(table.IDs)
		var medians, levelled []Point
		for _, c := range natural {
			a := result.Assumptions[c]
			medians = append(medians, Point{float64(a.Importance.Median), float64(a.Evidence.Median)})
			levelled = append(levelled, Point{float64(a.LevelledImportance), float64(a.LevelledEvidence)})
		}
		order, spots := naiveOrder(medians)
		levelledOrder, _ := naiveOrder(levelled)
		for rank, i := range order {
			a := result.Assumptions[natural[i]]
			require.Equal(t, a.ID, result.Order[rank], "order = %v, want %s at rank %d", result.Order, a.ID, rank+1)
			assert.False(t, a.Zone != spots[i].zone || int(a.Layer) != spots[i].layer, "%s in %q, layer %d, want %q, layer %d", a.ID, a.Zone, a.Layer, spots[i].zone, spots[i].layer)
			ranked := a.Zone != ""
			assert.Equal(t, (a.Rank == Place(rank+1)), ranked, "rank of %s = %d at place %d, ranked", a.ID, a.Rank, rank+1)
			assert.False(t, !ranked && a.Rank != 0, "rank of %s = %d at place %d, ranked", a.ID, a.Rank, rank+1)
		}
		for rank, i := range levelledOrder {
			a := result.Assumptions[natural[i]]
			assert.False(t, a.LevelledRank != Place(rank+1) && a.Zone != "", "levelled rank of %s = %d, want %d", a.ID, a.LevelledRank, rank+1)
		}
	})
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
