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
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func readTable(t *testing.T, name string) Table {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "score", name))
	if err != nil {
		t.Fatal(err)
	}
	table, err := ParseTable(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// Five raters, six assumptions, worked out by hand in testdata/score/README.md.
func TestScoreGolden(t *testing.T) {
	data, err := json.MarshalIndent(Score(readTable(t, "small.csv"), Options{Seed: 1}), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden, err := os.ReadFile(filepath.Join("..", "testdata", "score", "small.json"))
	if err != nil {
		t.Fatal(err)
	}
	var got, want any
	if err := errors.Join(json.Unmarshal(data, &got), json.Unmarshal(golden, &want)); err != nil {
		t.Fatal(err)
	}
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
		if len(got) != len(want) {
			t.Errorf("%s has %d fields, want %d", path, len(got), len(want))
		}
		for name := range want {
			compareJSON(t, path+"."+name, got[name], want[name])
		}
	case []any:
		got, _ := got.([]any)
		if len(got) != len(want) {
			t.Fatalf("%s has %d elements, want %d", path, len(got), len(want))
		}
		for i := range want {
			compareJSON(t, fmt.Sprintf("%s[%d]", path, i), got[i], want[i])
		}
	case float64:
		got, isNumber := got.(float64)
		if !isNumber || math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
	default:
		if got != want {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
	}
}

// The names that other programs read, in their order.
func TestScoreFieldNames(t *testing.T) {
	data, err := json.Marshal(Score(readTable(t, "small.csv"), Options{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, names := range []string{
		`raters assumptions cut concordance order`,
		`id statement importance evidence zone layer rank top3 rank_low rank_high levelled_importance levelled_evidence levelled_rank thin`,
		`n median q1 q3 iqr ipr_low ipr_high ipras disagreement agreement`,
		`w chi2 df p ballots left_out`,
	} {
		rest := string(data)
		for _, name := range strings.Fields(names) {
			var found bool
			if _, rest, found = strings.Cut(rest, `"`+name+`":`); !found {
				t.Errorf("no field %q after those before it in %q", name, names)
			}
		}
	}
}

func TestResultSurvivesJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want, err := json.Marshal(Score(drawTable(t), Options{Draws: 20}))
		if err != nil {
			t.Fatal(err)
		}
		var back Result
		if err := json.Unmarshal(want, &back); err != nil {
			t.Fatal(err)
		}
		got, err := json.Marshal(back)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("read and written again:\n got %s\nwant %s", got, want)
		}
	})
}

func TestWordsInJSON(t *testing.T) {
	for _, text := range []string{`null`, `"watch"`} {
		var z Zone
		if err := json.Unmarshal([]byte(text), &z); err != nil {
			t.Fatal(err)
		}
		if got, _ := json.Marshal(z); string(got) != text {
			t.Errorf("zone %s read and written = %s", text, got)
		}
	}
	a := Split
	if err := json.Unmarshal([]byte(`null`), &a); err != nil || a != "" {
		t.Errorf("agreement read from null = %q, %v, want none", a, err)
	}
	if err := json.Unmarshal([]byte(`3`), &a); err == nil {
		t.Error("a number is read as an agreement")
	}
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
		if got != want {
			t.Errorf("after shuffling:\n%s\nbefore:\n%s", got, want)
		}
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
		if got.Raters != want.Raters+1 {
			t.Errorf("raters = %d, want %d", got.Raters, want.Raters+1)
		}
		got.Raters--
		got.Concordance.Importance.LeftOut--
		got.Concordance.Evidence.LeftOut--
		if got, want := asText(t, got), asText(t, want); got != want {
			t.Errorf("with an abstainer:\n%s\nwithout:\n%s", got, want)
		}
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
		if got != want {
			t.Errorf("recoded:\n%s\nbefore:\n%s", got, want)
		}
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
			if result.Order[rank] != a.ID {
				t.Fatalf("order = %v, want %s at rank %d", result.Order, a.ID, rank+1)
			}
			if a.Zone != spots[i].zone || int(a.Layer) != spots[i].layer {
				t.Errorf("%s in %q, layer %d, want %q, layer %d", a.ID, a.Zone, a.Layer, spots[i].zone, spots[i].layer)
			}
			if ranked := a.Zone != ""; ranked != (a.Rank == Place(rank+1)) || !ranked && a.Rank != 0 {
				t.Errorf("rank of %s = %d at place %d, ranked %v", a.ID, a.Rank, rank+1, ranked)
			}
		}
		for rank, i := range levelledOrder {
			if a := result.Assumptions[natural[i]]; a.LevelledRank != Place(rank+1) && a.Zone != "" {
				t.Errorf("levelled rank of %s = %d, want %d", a.ID, a.LevelledRank, rank+1)
			}
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
	if want := []string{"A2", "A1", "A9", "A10"}; !slices.Equal(r.Order, want) {
		t.Errorf("order = %v, want %v", r.Order, want)
	}
	if r.Cut != (Cut{Importance: 3.5, Evidence: 6.5}) {
		t.Errorf("cut = %v, want the one of the ranked assumptions alone, 3.5 and 6.5", r.Cut)
	}
	for _, a := range r.Assumptions[:2] {
		if a.Zone != "" || a.Layer != 0 || a.Rank != 0 || a.Top3.Defined() || a.RankLow != 0 || a.RankHigh != 0 || a.LevelledRank != 0 {
			t.Errorf("%s is off the map, and yet has a place on it: %+v", a.ID, a)
		}
	}
	if r.Assumptions[0].LevelledImportance.Defined() || !r.Assumptions[0].LevelledEvidence.Defined() {
		t.Errorf("levelled values of A10 = %v, %v, want the second alone", r.Assumptions[0].LevelledImportance, r.Assumptions[0].LevelledEvidence)
	}
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
		if err != nil {
			t.Fatalf("%s: %v", rule, err)
		}
		if r.Cut.Importance.Defined() || len(r.Order) != len(table.IDs) || len(r.Assumptions) != len(table.IDs) {
			t.Errorf("%s: %s", rule, data)
		}
		if strings.Contains(string(data), `"assumptions":null`) || strings.Contains(string(data), `"order":null`) {
			t.Errorf("%s: null in place of an empty list: %s", rule, data)
		}
	}
}

func TestThinGoesByThoseAsked(t *testing.T) {
	table := randomTable(6, 2, 0)
	if r := Score(table, Options{}); r.Assumptions[0].Thin {
		t.Error("six of six ratings are thin")
	}
	if r := Score(table, Options{Asked: 13}); !r.Assumptions[0].Thin {
		t.Error("six ratings of thirteen people asked are not thin")
	}
	for rater := range 4 {
		table.Evidence[rater][0] = 0
	}
	if r := Score(table, Options{}); !r.Assumptions[0].Thin || r.Assumptions[1].Thin {
		t.Error("two ratings of evidence must make A1 thin, and A1 alone")
	}
	table = randomTable(9, 1, 0)
	for rater := range 5 {
		table.Importance[rater][0] = 0
	}
	if r := Score(table, Options{}); !r.Assumptions[0].Thin {
		t.Error("four ratings of nine raters are not thin when nobody says how many were asked")
	}
}

func TestScoreLeavesItsTableAlone(t *testing.T) {
	table, same := randomTable(9, 9, 0.3), randomTable(9, 9, 0.3)
	Score(table, Options{Draws: 10})
	if !reflect.DeepEqual(table, same) {
		t.Error("Score has changed its table")
	}
}

func TestTheSeedDecides(t *testing.T) {
	table := randomTable(12, 12, 0.1)
	shares := func(seed uint64) (s []Figure) {
		for _, a := range Score(table, Options{Seed: seed, Draws: 500}).Assumptions {
			s = append(s, a.Top3)
		}
		return s
	}
	if a, b := shares(1), shares(1); !slices.Equal(a, b) {
		t.Errorf("the same seed gives %v and %v", a, b)
	}
	if a, b := shares(1), shares(2); slices.Equal(a, b) {
		t.Errorf("two seeds give the same shares: %v", a)
	}
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
		if got := asText(t, Score(shuffled(table, rng.Perm(6), places(9)), Options{Draws: 200})); got != want {
			t.Errorf("shuffled namesakes:\n%s\nwant:\n%s", got, want)
		}
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
				if recover() == nil {
					t.Errorf("%s: Score does not panic", rule)
				}
			}()
			Score(table, Options{})
		}()
	}
}
