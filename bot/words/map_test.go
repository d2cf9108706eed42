package words_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/words"
	"soundings/engine"
)

// tableOf rates assumptions by name: each row holds the ratings of all raters.
func tableOf(ids []string, importance, evidence [][]engine.Rating) engine.Table {
	t := engine.Table{IDs: ids}
	for rater := range importance[0] {
		var x, y []engine.Rating
		for a := range ids {
			x, y = append(x, importance[a][rater]), append(y, evidence[a][rater])
		}
		t.Raters = append(t.Raters, string(rune('a'+rater)))
		t.Importance, t.Evidence = append(t.Importance, x), append(t.Evidence, y)
	}
	return t
}

func scoreOf(ids []string, importance, evidence [][]engine.Rating) engine.Result {
	return engine.Score(tableOf(ids, importance, evidence), engine.Options{Seed: 1})
}

type rows = [][]engine.Rating

var low = []engine.Rating{2, 2, 2, 2, 2}

func TestTieText(t *testing.T) {
	for _, c := range []struct {
		rule                 string
		importance, evidence rows // of A1 and A6
		id                   int
		want                 string
	}{
		{"above the median", rows{{7, 7, 7, 8, 9}, {5, 7, 7, 7, 8}}, rows{low, low}, 0,
			"Same medians as A6; more people put A1 above 7 than below."},
		{"the other below it", rows{{6, 7, 7, 7, 8}, {5, 5, 7, 7, 8}}, rows{low, low}, 0,
			"Same medians as A6; more people put A6 below 7 than above."},
		{"both above", rows{{7, 7, 7, 8, 9}, {7, 7, 7, 7, 8}}, rows{low, low}, 0,
			"Same medians as A6; more people put A1 above 7 than below, by a wider margin."},
		{"by the evidence", rows{{7, 7, 7, 7, 7}, {7, 7, 7, 7, 7}}, rows{{1, 2, 2, 2, 2}, low}, 0,
			"Same medians as A6; on evidence more people put A1 below 2 than above."},
		{"nothing tells them apart", rows{low, low}, rows{low, low}, 0, ""},
		{"and they come first", rows{{8, 8, 8, 8, 8}, {8, 8, 8, 8, 8}}, rows{low, low}, 0,
			"The ratings do not tell it from A6: talk about which comes first."},
		{"the last one has nobody behind it", rows{{8, 8, 8, 8, 8}, {8, 8, 8, 8, 8}}, rows{low, low}, 1, ""},
		{"other medians", rows{{8, 8, 8, 8, 8}, {7, 7, 7, 7, 7}}, rows{low, low}, 0, ""},
		{"on the cut of importance", rows{{5, 5, 5, 5, 6}, {4, 5, 5, 5, 5}}, rows{low, low}, 0,
			"Same medians as A6; more people put A1 above 5 than below."},
		{"on the cut of evidence", rows{{8, 8, 8, 8, 8}, {8, 8, 8, 8, 9}}, rows{{4, 5, 5, 5, 5}, {5, 5, 5, 5, 6}}, 0,
			"Same medians as A6; on evidence more people put A1 below 5 than above."},
		{"a split decided, not the lean", rows{{7, 7, 7, 7, 7}, {7, 7, 7, 7, 8}}, rows{{1, 1, 8, 9, 9}, {8, 8, 8, 8, 8}}, 0, ""},
	} {
		r := scoreOf([]string{"A1", "A6"}, c.importance, c.evidence)
		assert.Equal(t, c.want, words.TieText(r, r.Assumptions[c.id]), c.rule)
	}
}

func TestFirstText(t *testing.T) {
	high := []engine.Rating{8, 8, 8, 8, 8}
	for _, c := range []struct {
		rule                 string
		importance, evidence rows
		want                 string
	}{
		{"nothing told apart", rows{high, high, high}, rows{low, low, low},
			"The ratings tell nothing apart: all 3 got the same figures. Talk about which of them would hurt most if we are wrong; until then they stand in the order of the list."},
		{"all known", rows{high, low}, rows{high, high}, "What is important here is well known, so nothing has to be tested before the rest."},
		{"nothing important", rows{low, {1, 1, 1, 1, 1}}, rows{low, low}, "Nothing is important and at the same time little known, so nothing has to be tested before the rest."},
		{"one", rows{high, low}, rows{low, low}, "1 of 2 assumptions comes first: A1."},
		{"most of it", rows{high, high, high, high, high, {7, 7, 7, 7, 7}, low}, rows{low, low, low, low, low, low, low},
			"6 of 7 assumptions are important and little known. Begin with the first five: A1, A2, A3, A4, A5. Then: A6."},
	} {
		ids := []string{"A1", "A2", "A3", "A4", "A5", "A6", "A7"}[:len(c.importance)]
		assert.Equal(t, c.want, words.FirstText(scoreOf(ids, c.importance, c.evidence)), c.rule)
	}
}

func TestFirmText(t *testing.T) {
	place := func(id string, rank engine.Place, top3 engine.Figure) engine.AssumptionScore {
		return engine.AssumptionScore{ID: id, Rank: rank, Top3: top3}
	}
	order := []string{"A1", "A2", "A3", "A4", "A5"}
	for want, shares := range map[string][5]engine.Figure{
		"A1, A2 and A3 are safely the first three.":                                   {1, 1, 0.95, 0.05, 0},
		"A1 is safely among the first three; A2, A3 and A4 could change places.":      {1, 0.8, 0.8, 0.3, 0.1},
		"A1 and A2 are safely among the first three; A3 and A4 could change places.":  {1, 0.9, 0.5, 0.6, 0},
		"None of the first three is safe: A1, A2, A3, A4 and A5 could change places.": {0.6, 0.6, 0.6, 0.6, 0.6},
	} {
		r := engine.Result{Order: order}
		for i, id := range order {
			r.Assumptions = append(r.Assumptions, place(id, engine.Place(i+1), shares[i]))
		}
		assert.Equal(t, want, words.FirmText(r))
	}
	assert.Empty(t, words.FirmText(engine.Result{Order: order[:3], Assumptions: []engine.AssumptionScore{place("A1", 1, 1), place("A2", 2, 1), place("A3", 3, 1)}}),
		"three are all there is")
}

func TestStrictText(t *testing.T) {
	r := engine.Result{Order: []string{"A1", "A2", "A3"}, Assumptions: []engine.AssumptionScore{
		{ID: "A1", Rank: 1, LevelledRank: 2, Zone: engine.TestFirst}, {ID: "A2", Rank: 2, LevelledRank: 3, Zone: engine.TestFirst}, {ID: "A3", Rank: 3, LevelledRank: 1, Zone: engine.Next}}}
	assert.Equal(t, "If we allow for strict and generous raters, A3 joins the first 2: talk about it.", words.StrictText(r))
	r.Assumptions[1].LevelledRank, r.Assumptions[2].LevelledRank = 1, 3
	assert.Empty(t, words.StrictText(r), "a change within the first is no news")
}

func TestCantSayText(t *testing.T) {
	of := func(importance, evidence int) engine.AssumptionScore {
		return engine.AssumptionScore{Importance: engine.Spread{N: importance}, Evidence: engine.Spread{N: evidence}}
	}
	assert.Empty(t, words.CantSayText(of(9, 9), 9))
	assert.Equal(t, "4 of 9 can't say.", words.CantSayText(of(5, 5), 9))
	assert.Equal(t, "On evidence 1 of 9 can't say.", words.CantSayText(of(9, 8), 9))
	assert.Equal(t, "On importance 1 of 9 can't say.", words.CantSayText(of(8, 9), 9))
	assert.Equal(t, "On importance 1 of 9 can't say, on evidence 3.", words.CantSayText(of(8, 6), 9))
}

func TestAgreementText(t *testing.T) {
	c := engine.Concordances{Importance: engine.Concordance{W: 0.72, Ballots: 8, LeftOut: 1}, Evidence: engine.Concordance{W: 0.2, Ballots: 1}}
	assert.Equal(t, "On the order of all of them people largely agree on importance (8 complete ballots, 1 left out), and hardly agree on evidence (1 complete ballot).",
		words.AgreementText(c))
	assert.Empty(t, words.AgreementText(engine.Concordances{Importance: engine.Concordance{W: engine.Undefined()}, Evidence: engine.Concordance{W: engine.Undefined()}}))
}

func TestFlatTextCountsAndNamesNobody(t *testing.T) {
	assert.Empty(t, words.FlatText(engine.Result{Raters: 8}))
	assert.Equal(t, "Some gave nearly everything the same number: 2 of 8 on importance. Such ballots count, and say little of the order.",
		words.FlatText(engine.Result{Raters: 8, Flat: engine.Flat{Importance: 2}}))
	assert.Equal(t, "Some gave nearly everything the same number: 1 of 8 on importance and 3 of 8 on evidence. Such ballots count, and say little of the order.",
		words.FlatText(engine.Result{Raters: 8, Flat: engine.Flat{Importance: 1, Evidence: 3}}))
}
