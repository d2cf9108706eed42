package engine

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A spot is an item of the naive order: where it lies, and what becomes of it.
type spot struct {
	at    Point
	zone  Zone
	layer int
}

// The naive twin of arranger cuts with Cut.Zone, peels layers zone by zone, and
// sorts by comparing. Items stand in the natural order of their ids; NaN is no
// value. It returns the order, and the items with zone and layer.
func naiveOrder(points []Point) ([]int, []spot) {
	spots := make([]spot, len(points))
	cut := naiveCut(points)
	inZone := map[Zone][]int{}
	for i, p := range points {
		spots[i].at = p
		spots[i].zone = cut.Zone(Figure(p.Importance), Figure(p.Evidence))
		inZone[spots[i].zone] = append(inZone[spots[i].zone], i)
	}
	for _, zone := range zones {
		var members []Point
		for _, i := range inZone[zone] {
			members = append(members, points[i])
		}
		for k, layer := range naiveLayers(members) {
			spots[inZone[zone][k]].layer = layer
		}
	}
	order := places(len(points))
	slices.SortStableFunc(order, func(a, b int) int { return compareSpots(spots[a], spots[b]) })
	return order, spots
}

func compareSpots(a, b spot) int {
	if a.zone == "" || b.zone == "" {
		return cmp.Compare(zonePlace(a.zone), zonePlace(b.zone))
	}
	return cmp.Or(
		cmp.Compare(zonePlace(a.zone), zonePlace(b.zone)),
		cmp.Compare(a.layer, b.layer),
		cmp.Compare(b.at.Importance, a.at.Importance),
		cmp.Compare(a.at.Evidence, b.at.Evidence))
}

func zonePlace(z Zone) int {
	if i := slices.Index(zones[:], z); i >= 0 {
		return i
	}
	return len(zones)
}

func naiveCut(points []Point) Cut {
	var importance, evidence []float64
	for _, p := range points {
		if !math.IsNaN(p.Importance) && !math.IsNaN(p.Evidence) {
			importance, evidence = append(importance, p.Importance), append(evidence, p.Evidence)
		}
	}
	slices.Sort(importance)
	slices.Sort(evidence)
	return Cut{Figure(Quantile(importance, 0.5)), Figure(Quantile(evidence, 0.5))}
}

func TestOrderAgainstItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(
			rapid.Map(rapid.IntRange(2, 18), func(v int) float64 { return float64(v) / 2 }),
			rapid.Map(rapid.IntRange(0, 400), func(v int) float64 { return float64(v) / 64 }),
			rapid.Just(math.NaN()))
		points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Point {
			return Point{value.Draw(t, "importance"), value.Draw(t, "evidence")}
		}), 0, 30).Draw(t, "points")
		want, spots := naiveOrder(points)
		checkArranged(t, arrangePoints(points), want, spots)
	})
}

func arrangePoints(points []Point) *arranger {
	return arrangement(len(points), func(i int) (Figure, Figure) {
		return Figure(points[i].Importance), Figure(points[i].Evidence)
	})
}

func checkArranged(t *rapid.T, a *arranger, order []int, spots []spot) {
	t.Helper()
	for rank, i := range a.order {
		require.Equal(t, int(i), order[rank], "order = %v, want %v", a.order, order)
		switch ranked := rank < a.rated; {
		case ranked != (spots[i].zone != ""):
			t.Errorf("item %d ranked = %v in zone %q", i, ranked, spots[i].zone)
		case ranked && (zones[a.zone(i)] != spots[i].zone || int(a.layer(i))+1 != spots[i].layer):
			t.Errorf("item %d in %s, layer %d, want %s, layer %d", i, zones[a.zone(i)], a.layer(i)+1, spots[i].zone, spots[i].layer)
		}
	}
}

// An arranger is used thousands of times; nothing may be left over.
func TestAnArrangerCanBeUsedAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.IntRange(1, 12).Draw(t, "items")
		used := newArranger(items, topMedianLevel)
		level := rapid.SliceOfN(rapid.Int32Range(0, topMedianLevel), items, items)
		for range 3 {
			importance, evidence := level.Draw(t, "importance"), level.Draw(t, "evidence")
			fresh := newArranger(items, topMedianLevel)
			for _, a := range []*arranger{used, fresh} {
				copy(a.importance, importance)
				copy(a.evidence, evidence)
				a.arrange()
			}
			assert.True(t, slices.Equal(used.order, fresh.order), "order = %v when used again, %v when fresh", used.order, fresh.order)
		}
	})
}

// What "ordinal" promises: any recoding of the medians that keeps their order
// keeps zones, layers and order.
func TestOrderDoesNotChangeWhenAScaleIsRecoded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		median := rapid.Map(rapid.IntRange(2, 18), func(v int) float64 { return float64(v) / 2 })
		importance := rapid.SliceOfN(median, 1, 40).Draw(t, "importance")
		evidence := rapid.SliceOfN(median, len(importance), len(importance)).Draw(t, "evidence")
		x, y := drawRecoding(t, "recoded importance"), drawRecoding(t, "recoded evidence")
		points := pointsOf(importance, evidence)
		recoded := make([]Point, len(points))
		for i, p := range points {
			recoded[i] = Point{x(p.Importance), y(p.Evidence)}
		}
		order, spots := naiveOrder(points)
		checkArranged(t, arrangePoints(recoded), order, spots)
	})
}

func TestZone(t *testing.T) {
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
