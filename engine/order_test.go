package engine

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A spot is an item of the naive order: what is known of it, and what becomes
// of it.
type spot struct {
	at    Point // medians
	lean  Point
	doubt bool // evidence split, or thin
	zone  Zone
	layer int
}

func (s spot) rated() bool { return !math.IsNaN(s.at.Importance) && !math.IsNaN(s.at.Evidence) }

// fine are the values that tie less often than medians.
func (s spot) fine() Point {
	return Point{s.at.Importance + s.lean.Importance/1000, s.at.Evidence + s.lean.Evidence/1000}
}

// The naive twin of arranger says the rule as it is written down: fine values as
// numbers, cuts as medians of those, layers peeled zone by zone, everything
// compared. Items stand in the natural order of their ids; NaN is no value. It
// fills in zone and layer, and returns the order.
func naiveOrder(spots []spot) []int {
	naiveZones(spots)
	for _, zone := range zones {
		var members []Point
		var which []int
		for i, s := range spots {
			if s.zone == zone {
				members, which = append(members, s.at), append(which, i)
			}
		}
		for k, layer := range naiveLayers(members) {
			spots[which[k]].layer = layer
		}
	}
	order := places(len(spots))
	slices.SortStableFunc(order, func(a, b int) int { return compareSpots(spots[a], spots[b]) })
	return order
}

func naiveZones(spots []spot) {
	var importance, evidence []float64
	for _, s := range spots {
		if s.rated() {
			importance, evidence = append(importance, s.fine().Importance), append(evidence, s.fine().Evidence)
		}
	}
	cut := Point{float64(median(importance)), float64(median(evidence))}
	first := 0
	for i := range spots {
		s := &spots[i]
		if !s.rated() {
			continue
		}
		important := s.at.Importance >= 6.5 || s.at.Importance >= 3.5 && s.fine().Importance >= cut.Importance-1e-9
		little := s.doubt || s.at.Evidence < 3.5 || s.at.Evidence < 6.5 && s.fine().Evidence <= cut.Evidence+1e-9
		switch {
		case important && little:
			s.zone = TestFirst
			first++
		case important:
			s.zone = Next
		case little:
			s.zone = Watch
		default:
			s.zone = Later
		}
	}
	if first == 0 {
		naivePromotion(spots)
	}
}

func naivePromotion(spots []spot) {
	var members []Point
	var which []int
	for i, s := range spots {
		if s.zone == Next && s.at.Evidence < 6.5 {
			members, which = append(members, s.at), append(which, i)
		}
	}
	for k, layer := range naiveLayers(members) {
		if layer == 1 {
			spots[which[k]].zone = TestFirst
		}
	}
}

func compareSpots(a, b spot) int {
	if a.zone == "" || b.zone == "" {
		return cmp.Compare(zonePlace(a.zone), zonePlace(b.zone))
	}
	return cmp.Or(
		cmp.Compare(zonePlace(a.zone), zonePlace(b.zone)),
		cmp.Compare(a.layer, b.layer),
		compareFine(b.fine().Importance, a.fine().Importance),
		compareFine(a.fine().Evidence, b.fine().Evidence))
}

func compareFine(a, b float64) int {
	if math.Abs(a-b) <= 1e-9 {
		return 0
	}
	return cmp.Compare(a, b)
}

func zonePlace(z Zone) int {
	if i := slices.Index(zones[:], z); i >= 0 {
		return i
	}
	return len(zones)
}

// drawSpots makes items with medians in halves, gaps, ties and doubts.
func drawSpots(t *rapid.T, least, most int) []spot {
	value := rapid.OneOf(
		rapid.Map(rapid.IntRange(2, 18), func(v int) float64 { return float64(v) / 2 }),
		rapid.Map(rapid.IntRange(8, 12), func(v int) float64 { return float64(v) / 2 }),
		rapid.Just(math.NaN()))
	lean := rapid.Map(rapid.IntRange(-3, 3), func(v int) float64 { return float64(v) / 7 })
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) spot {
		return spot{at: Point{value.Draw(t, "importance"), value.Draw(t, "evidence")},
			lean:  Point{lean.Draw(t, "lean of importance"), lean.Draw(t, "lean of evidence")},
			doubt: rapid.IntRange(0, 4).Draw(t, "doubt") == 0}
	}), least, most).Draw(t, "items")
}

func TestOrderAgainstItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spots := drawSpots(t, 0, 30)
		a := arrangeMedians(spots)
		checkArranged(t, a, naiveOrder(spots), spots)
	})
}

// Values that are no medians of ratings, as levelled ones are, lean nowhere.
func TestOrderOfLevelledValuesAgainstItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spots := drawSpots(t, 0, 30)
		shift := rapid.Map(rapid.IntRange(-40, 40), func(v int) float64 { return float64(v) / 64 })
		for i := range spots {
			s := &spots[i]
			s.lean = Point{}
			s.at = Point{s.at.Importance + shift.Draw(t, "importance"), s.at.Evidence + shift.Draw(t, "evidence")}
		}
		want := naiveOrder(spots)
		checkArranged(t, arrangeValues(spots), want, spots)
		x, y := figuresOf(spots)
		plain := newArranger(readingOf(x), readingOf(y), doubtsOf(spots))
		plain.arrange()
		checkArranged(t, plain, want, spots)
	})
}

func arrangeMedians(spots []spot) *arranger {
	importance, evidence := medianReading(len(spots)), medianReading(len(spots))
	for i, s := range spots {
		importance.level[i], evidence.level[i] = levelOf(s.at.Importance), levelOf(s.at.Evidence)
		importance.fine[i] = fineLevel(importance.level[i], s.lean.Importance)
		evidence.fine[i] = fineLevel(evidence.level[i], s.lean.Evidence)
	}
	a := newArranger(importance, evidence, doubtsOf(spots))
	a.arrange()
	return a
}

func levelOf(median float64) int32 {
	if math.IsNaN(median) {
		return 0
	}
	return int32(2 * median)
}

func figuresOf(spots []spot) (importance, evidence []Figure) {
	for _, s := range spots {
		importance, evidence = append(importance, Figure(s.at.Importance)), append(evidence, Figure(s.at.Evidence))
	}
	return importance, evidence
}

// arrangeValues goes by any values, and by how the spots lean.
func arrangeValues(spots []spot) *arranger {
	x, y := figuresOf(spots)
	importance, evidence := readingOf(x), readingOf(y)
	importance.bits, evidence.bits = leanBits, leanBits
	importance.fine, evidence.fine = make([]int32, len(spots)), make([]int32, len(spots))
	for i, s := range spots {
		importance.fine[i] = fineLevel(importance.level[i], s.lean.Importance)
		evidence.fine[i] = fineLevel(evidence.level[i], s.lean.Evidence)
	}
	a := newArranger(importance, evidence, doubtsOf(spots))
	a.arrange()
	return a
}

func doubtsOf(spots []spot) []bool {
	doubts := make([]bool, len(spots))
	for i, s := range spots {
		doubts[i] = s.doubt
	}
	return doubts
}

func checkArranged(t require.TestingT, a *arranger, order []int, spots []spot) {
	for rank, i := range a.order {
		require.Equal(t, int(i), order[rank], "order = %v, want %v", a.order, order)
		ranked := rank < a.rated
		require.Equal(t, spots[i].zone != "", ranked, "item %d ranked in zone %q", i, spots[i].zone)
		if ranked {
			require.Equal(t, spots[i].zone, zones[a.zone(i)], "zone of item %d", i)
			require.Equal(t, spots[i].layer, int(a.layer(i))+1, "layer of item %d", i)
		}
	}
}

// An arranger is used thousands of times; nothing may be left over.
func TestAnArrangerCanBeUsedAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.IntRange(1, 12).Draw(t, "number of items")
		used := arrangeMedians(drawSpots(t, items, items))
		for range 3 {
			fresh := arrangeMedians(drawSpots(t, items, items))
			copy(used.importance.level, fresh.importance.level)
			copy(used.importance.fine, fresh.importance.fine)
			copy(used.evidence.level, fresh.evidence.level)
			copy(used.evidence.fine, fresh.evidence.fine)
			copy(used.doubt, fresh.doubt)
			used.arrange()
			require.Equal(t, fresh.order, used.order, "order when fresh, and when used again")
			for _, i := range fresh.order[:fresh.rated] {
				require.Equal(t, fresh.key[i], used.key[i], "place of %d when fresh, and when used again", i)
			}
		}
	})
}

// What "ordinal" promises: the thirds of the scale keep their meaning, and any
// recoding inside them that keeps the order of the medians keeps zones, layers
// and order.
func TestOrderDoesNotChangeWhenAScaleIsRecodedInsideItsThirds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spots := drawSpots(t, 0, 40)
		x, y := drawRecodingOfThirds(t, "importance"), drawRecodingOfThirds(t, "evidence")
		recoded := slices.Clone(spots)
		for i, s := range spots {
			recoded[i].at = Point{x(s.at.Importance), y(s.at.Evidence)}
		}
		a := arrangeValues(recoded)
		checkArranged(t, a, naiveOrder(spots), spots)
	})
}

// drawRecodingOfThirds maps medians to any rising numbers below 3.5, from there
// to 6.5, and above.
func drawRecodingOfThirds(t *rapid.T, name string) func(float64) float64 {
	rises := drawRecoding(t, name)
	return func(median float64) float64 {
		switch low, high := rises(3.5), rises(6.5); {
		case math.IsNaN(median):
			return median
		case median < middleThird:
			return 3.5 - (low - rises(median))
		case median >= upperThird:
			return 6.5 + (rises(median) - high)
		default:
			return 3.5 + 3*(rises(median)-low)/(high-low)
		}
	}
}

// Each row shows one rule on a map whose cuts are 5 and 5 unless said otherwise.
func TestZonesByTheirRules(t *testing.T) {
	// Three about the middle hold both cuts at 5 whatever the fourth is.
	middle := func(s spot) []spot {
		five := spot{at: Point{5, 5}}
		return []spot{five, five, five, s}
	}
	for _, row := range []struct {
		rule  string
		spots []spot
		want  Zone // of the last one
	}{
		{"important and little known", middle(spot{at: Point{8, 2}}), TestFirst},
		{"important and known", middle(spot{at: Point{8, 8}}), Next},
		{"less important, little known", middle(spot{at: Point{2, 2}}), Watch},
		{"less important, known", middle(spot{at: Point{2, 8}}), Later},
		{"importance of 6.5 is important above any cut", []spot{{at: Point{9, 2}}, {at: Point{9, 2}}, {at: Point{6.5, 2}}}, TestFirst},
		{"importance below 3.5 is not, on any cut", []spot{{at: Point{1, 9}}, {at: Point{1, 9}}, {at: Point{3, 2}}}, Watch},
		{"on the cut of importance is important", middle(spot{at: Point{5, 2}}), TestFirst},
		{"on it by its lean too", []spot{{at: Point{5, 2}}, {at: Point{5, 2}, lean: Point{-0.2, 0}}, {at: Point{5, 2}, lean: Point{0.2, 0}}}, TestFirst},
		{"below it by its lean is not", []spot{{at: Point{5, 2}}, {at: Point{5, 2}, lean: Point{0.2, 0}}, {at: Point{5, 2}, lean: Point{-0.2, 0}}}, Watch},
		{"on the cut of evidence is little", middle(spot{at: Point{8, 5}}), TestFirst},
		{"above it by its lean is not", []spot{{at: Point{8, 5}}, {at: Point{8, 5}, lean: Point{0, -0.2}}, {at: Point{8, 5}, lean: Point{0, 0.2}}}, Next},
		{"evidence below 3.5 is little above any cut", []spot{{at: Point{8, 1}}, {at: Point{8, 1}}, {at: Point{8, 3}}}, TestFirst},
		{"evidence of 6.5 is not little on any cut", []spot{{at: Point{8, 9}}, {at: Point{8, 9}}, {at: Point{8, 6.5}}}, Next},
		{"unless nobody can lean on it", []spot{{at: Point{8, 9}}, {at: Point{8, 9}}, {at: Point{8, 8}, doubt: true}}, TestFirst},
		{"the first layer of what is not well known is promoted", []spot{{at: Point{2, 2}}, {at: Point{2, 2}}, {at: Point{8, 5}}}, TestFirst},
		{"and the second layer is not", []spot{{at: Point{2, 2}}, {at: Point{2, 2}}, {at: Point{2, 2}}, {at: Point{8, 5}}, {at: Point{7, 5}}}, Next},
		{"nor what is well known", []spot{{at: Point{2, 2}}, {at: Point{2, 2}}, {at: Point{8, 7}}}, Next},
		{"all alike are tested first", []spot{{at: Point{5, 5}}, {at: Point{5, 5}}}, TestFirst},
	} {
		naiveOrder(row.spots)
		last := len(row.spots) - 1
		assert.Equal(t, row.want, row.spots[last].zone, "%s (the twin)", row.rule)
		assert.Equal(t, row.want, zones[arrangeMedians(row.spots).zone(int32(last))], row.rule)
	}
}

// The twin works out a whole table by sorting and comparing.
func naiveSpots(t Table, asked int) []spot {
	if asked == 0 {
		asked = len(t.Raters)
	}
	spots := make([]spot, len(t.IDs))
	for i, c := range naturalOrder(t.IDs) {
		importance, evidence := sortedRatings(t.Importance, c), sortedRatings(t.Evidence, c)
		s := &spots[i]
		s.at = Point{Quantile(importance, 0.5), Quantile(evidence, 0.5)}
		s.lean = Point{naiveLean(importance), naiveLean(evidence)}
		few := min(len(importance), len(evidence))
		low, high := Quantile(evidence, 0.3), Quantile(evidence, 0.7)
		split := high-low > 2.35+1.5*math.Abs(5-(low+high)/2)+1e-9 || Quantile(evidence, 0.75)-Quantile(evidence, 0.25) > 4
		s.doubt = split || few < 3 || 2*few < asked
	}
	return spots
}

func sortedRatings(rows [][]Rating, column int) []float64 {
	var values []float64
	for _, row := range rows {
		if row[column] != 0 {
			values = append(values, float64(row[column]))
		}
	}
	slices.Sort(values)
	return values
}

func naiveLean(sorted []float64) float64 {
	lean, middle := 0.0, Quantile(sorted, 0.5)
	for _, v := range sorted {
		lean += float64(cmp.Compare(v, middle))
	}
	return lean / float64(len(sorted))
}

func TestTestOrderVectors(t *testing.T) {
	eachVector(t, "test_order", func(t *testing.T, c vectorCase) {
		var in struct {
			Ratings map[string]map[string][2]*Rating
		}
		var want struct {
			Order []string
			Zone  map[string]Zone
			Layer map[string]Place
			Known map[string]bool
			Thin  map[string]bool
		}
		c.read(t, &in, &want)
		var table Table
		for rater, ballot := range in.Ratings {
			if table.IDs == nil {
				for id := range ballot {
					table.IDs = append(table.IDs, id)
				}
			}
			table.Raters = append(table.Raters, rater)
			var rows [2][]Rating
			for _, id := range table.IDs {
				for scale, r := range ballot[id] {
					if r == nil {
						r = new(Rating)
					}
					rows[scale] = append(rows[scale], *r)
				}
			}
			table.Importance, table.Evidence = append(table.Importance, rows[0]), append(table.Evidence, rows[1])
		}
		got := Score(table, Options{Draws: 1})
		assert.Equal(t, want.Order, got.Order[:len(want.Order)], "order of the rated")
		for _, a := range got.Assumptions {
			assert.Equal(t, want.Zone[a.ID], a.Zone, "zone of %s", a.ID)
			assert.Equal(t, want.Layer[a.ID], a.Layer, "layer of %s", a.ID)
			assert.Equal(t, want.Known[a.ID], a.Known, "known of %s", a.ID)
			assert.Equal(t, want.Thin[a.ID], a.Thin, "thin of %s", a.ID)
		}
	})
}

func TestLeanVectors(t *testing.T) {
	eachVector(t, "lean", func(t *testing.T, c vectorCase) {
		var in struct{ X []Rating }
		var want struct{ Median, Lean float64 }
		c.read(t, &in, &want)
		counts := CountRatings(in.X)
		s := counts.Spread()
		near(t, "median", float64(s.Median), want.Median, c.Tolerance)
		near(t, "lean", float64(s.Lean), want.Lean, c.Tolerance)
		rows := make([][]Rating, len(in.X))
		for i, r := range in.X {
			rows[i] = []Rating{r}
		}
		for name, tally := range map[string]tallier{"packed": newPackedTally(rows), "wide": newWideTally(rows)} {
			out := medianReading(1)
			weights := make([]int32, len(rows))
			for i := range weights {
				weights[i] = 1
			}
			tally.set(0, weights)
			tally.tally([]reading{out})
			assert.Equal(t, fineLevel(int32(2*want.Median), want.Lean), out.fine[0], "%s fine level", name)
		}
	})
}

func TestZoneOfEarlierMaps(t *testing.T) {
	cut := Cut{Importance: 6, Evidence: 4.5}
	for _, test := range []struct {
		rule                 string
		importance, evidence Figure
		want                 Zone
	}{
		{"important, little evidence", 8, 2, TestFirst},
		{"important, much evidence", 8, 7, RelyOn},
		{"less important, little evidence", 3, 2, Watch},
		{"less important, much evidence", 3, 7, Leave},
		{"on the cut of importance is important", 6, 2, TestFirst},
		{"on the cut of evidence is evidence", 8, 4.5, RelyOn},
		{"on both cuts", 6, 4.5, RelyOn},
		{"without a value there is no zone", Undefined(), 4, ""},
	} {
		assert.Equal(t, test.want, cut.Zone(test.importance, test.evidence), "%s: zone of (%v, %v)", test.rule, test.importance, test.evidence)
	}
	assert.Equal(t, Zone(""), (Cut{Undefined(), Undefined()}).Zone(5, 5), "zone on a map without cuts")
}

// Whatever the map, rated as it was an assumption stays where it was; its zone
// says little or known, in doubt or not, as in the whole table.
func TestRezone(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	for range 500 {
		table := anyTable(rng)
		r := Score(table, Options{Draws: 1})
		for _, a := range r.Assumptions {
			assert.Equal(t, a.Zone, r.Rezone(a, a.Evidence), "%s, rated as it was", a.ID)
			if a.Zone != "" && !a.Thin {
				a.Zone = "" // as if only now somebody could judge its evidence
				assert.Equal(t, a.Importance.Median >= 6.5 || a.Importance.Median >= 3.5 && a.Importance.fine() >= r.fineCut().Importance-1e-9,
					slices.Contains([]Zone{TestFirst, Next}, r.Rezone(a, a.Evidence)), "importance of %s", a.ID)
			}
		}
	}
	// Evidence cut 4: A1 (8, 2), A2 (8, 8), A3 (2, 4).
	r := Score(Table{Raters: []string{"a", "b", "c"}, IDs: []string{"A1", "A2", "A3"},
		Importance: [][]Rating{{8, 8, 2}, {8, 8, 2}, {8, 8, 2}}, Evidence: [][]Rating{{2, 8, 4}, {2, 8, 4}, {2, 8, 4}}}, Options{})
	for _, row := range []struct {
		rule     string
		id       int
		evidence []Rating
		want     Zone
	}{
		{"little moves to known", 0, []Rating{7, 7, 8}, Next},
		{"above the cut of the map", 0, []Rating{5, 5, 5}, Next},
		{"on the cut of the map", 0, []Rating{4, 4, 4}, TestFirst},
		{"known, and now split", 1, []Rating{1, 1, 8, 9}, TestFirst},
		{"less important, now known", 2, []Rating{8, 8, 8}, Later},
		{"nobody rated", 0, nil, ""},
	} {
		counts := CountRatings(row.evidence)
		assert.Equal(t, row.want, r.Rezone(r.Assumptions[row.id], counts.Spread()), row.rule)
	}
}

// A new release of the rule keeps the names on maps that were made before it.
func TestZonesOfAMap(t *testing.T) {
	assert.Equal(t, []Zone{TestFirst, Next, Watch, Later}, Result{}.Zones())
	earlier := Result{Assumptions: []AssumptionScore{{Zone: TestFirst}, {Zone: Leave}}}
	assert.Equal(t, []Zone{TestFirst, RelyOn, Watch, Leave}, earlier.Zones())
}

// Many items of one point are sorted in another way than few: here against the library,
// whose stable sort keeps those that lean alike in the order of their ids.
func TestTiesOfOnePointAgainstSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 300).Draw(t, "items")
		steps := rapid.SampledFrom([]int{1, 3, 1000}).Draw(t, "leans")
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		importance, evidence := medianReading(n), medianReading(n)
		items := make([]int32, n)
		for i := range items {
			items[i] = int32(i)
			importance.fine[i] = fineLevel(11, float64(random.IntN(2*steps+1)-steps)/float64(steps))
			evidence.fine[i] = fineLevel(6, float64(random.IntN(2*steps+1)-steps)/float64(steps))
		}
		want := slices.Clone(items)
		slices.SortStableFunc(want, func(i, j int32) int {
			return cmp.Or(cmp.Compare(importance.fine[j], importance.fine[i]), cmp.Compare(evidence.fine[i], evidence.fine[j]))
		})
		newArranger(importance, evidence, make([]bool, n)).settleTies(items)
		assert.Equal(t, want, items)
	})
}
