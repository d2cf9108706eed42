package engine

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestLayersVectors(t *testing.T) {
	eachVector(t, "pareto_layers", func(t *testing.T, c vectorCase) {
		var in struct {
			X          []float64 `json:"criterion_1"`
			Y          []float64 `json:"criterion_2"`
			Directions [2]string
		}
		var want struct{ Layer []int }
		c.read(t, &in, &want)
		// Importance is better when higher, evidence when lower.
		points := pointsOf(turned(in.X, in.Directions[0] == "min"), turned(in.Y, in.Directions[1] == "max"))
		assert.Equal(t, want.Layer, Layers(points), "layers")
	})
}

func TestLayersInvarianceVectors(t *testing.T) {
	eachVector(t, "pareto_layers_invariance", func(t *testing.T, c vectorCase) {
		var in struct {
			X0 []float64 `json:"criterion_1"`
			Y0 []float64 `json:"criterion_2"`
			X1 []float64 `json:"recoded_1"`
			Y1 []float64 `json:"recoded_2"`
		}
		var want struct {
			Before []int `json:"layer"`
			After  []int `json:"layer_after_recoding"`
		}
		c.read(t, &in, &want)
		before, after := Layers(pointsOf(in.X0, turned(in.Y0, true))), Layers(pointsOf(in.X1, turned(in.Y1, true)))
		assert.Equal(t, want.Before, before, "layers before and after")
		assert.Equal(t, want.After, after, "layers before and after")
	})
}

func turned(values []float64, turn bool) []float64 {
	out := slices.Clone(values)
	for i := range out {
		if turn {
			out[i] = -out[i]
		}
	}
	return out
}

func pointsOf(importance, evidence []float64) []Point {
	points := make([]Point, len(importance))
	for i := range points {
		points[i] = Point{importance[i], evidence[i]}
	}
	return points
}

// The naive twin peels layer by layer and compares every pair, as the
// definition says.
func naiveLayers(points []Point) []int {
	layers := make([]int, len(points))
	for layer, left := 1, len(points); left > 0; layer++ {
		var peeled []int
		for i := range points {
			if layers[i] == 0 && !dominatedByAny(points, layers, i) {
				peeled = append(peeled, i)
			}
		}
		for _, i := range peeled {
			layers[i] = layer
		}
		left -= len(peeled)
	}
	return layers
}

func dominatedByAny(points []Point, layers []int, i int) bool {
	p := points[i]
	for j, q := range points {
		if layers[j] == 0 && q != p && q.Importance >= p.Importance && q.Evidence <= p.Evidence {
			return true
		}
	}
	return false
}

func drawPoints(t *rapid.T) []Point {
	halves := rapid.Map(rapid.IntRange(2, 18), func(v int) float64 { return float64(v) / 2 })
	value := rapid.OneOf(halves, rapid.Float64Range(-10, 10))
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Point {
		return Point{value.Draw(t, "importance"), value.Draw(t, "evidence")}
	}), 0, 40).Draw(t, "points")
}

func TestLayersAgainstTheirTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := drawPoints(t)
		assert.True(t, slices.Equal(Layers(points), naiveLayers(points)), "layers of %v", points)
	})
}

// A recoding maps the medians 1, 1.5, …, 9 to any rising numbers.
func drawRecoding(t *rapid.T, name string) func(median float64) float64 {
	steps := rapid.SliceOfN(rapid.Float64Range(0.01, 50), 18, 18).Draw(t, name)
	return func(median float64) float64 {
		sum := -100.0
		for _, step := range steps[:int(2*median)-1] {
			sum += step
		}
		return sum
	}
}

func TestLayersDoNotChangeWhenAScaleIsRecoded(t *testing.T) {
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
		assert.True(t, slices.Equal(Layers(recoded), Layers(points)), "layers of %v recoded to %v", points, recoded)
	})
}

// A Point is a place on the map. Both values must be numbers.
type Point struct{ Importance, Evidence float64 }

// Layers gives the non-dominated layer of every point, counted from 1, by the
// front that production code uses.
func Layers(points []Point) []int {
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return comparePoints(points[a], points[b]) })

	layers := make([]int, len(points))
	var f front[float64]
	for place, i := range order {
		if place > 0 && points[i] == points[order[place-1]] {
			layers[i] = layers[order[place-1]]
			continue
		}
		layers[i] = 1 + f.add(points[i].Evidence)
	}
	return layers
}

// comparePoints puts the more important first and, among equally important
// points, the one with less evidence. No point is then dominated by a later
// one.
func comparePoints(a, b Point) int {
	return cmp.Or(cmp.Compare(b.Importance, a.Importance), cmp.Compare(a.Evidence, b.Evidence))
}
