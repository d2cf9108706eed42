package chart

import (
	"fmt"
	"image"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"soundings/engine"
)

// rated is a table of so many assumptions, of which every fourth has the same
// ratings.
func rated(n int) engine.Result {
	t := engine.Table{Raters: []string{"a", "b", "c", "d"}}
	for range t.Raters {
		t.Importance, t.Evidence = append(t.Importance, nil), append(t.Evidence, nil)
	}
	for i := range n {
		t.IDs, t.Statements = append(t.IDs, fmt.Sprintf("A%d", i+1)), append(t.Statements, fmt.Sprintf("Belief %d <holds> & more.", i+1))
		for r := range t.Raters {
			t.Importance[r] = append(t.Importance[r], engine.Rating(1+(i/4*3+r)%9))
			t.Evidence[r] = append(t.Evidence[r], engine.Rating(1+(i/4*5+r)%9))
		}
	}
	return engine.Score(t, engine.Options{Seed: 1})
}

// Labels of 40 assumptions cover neither one another nor the names of zones, and
// what stands on one dot stands in one box.
func TestNoLabelCoversAnother(t *testing.T) {
	r := rated(40)
	f := field{draw.NewCanvas(vgimg.New(mapWidth, mapHeight), mapWidth, mapHeight)}
	boxes := layOut(f, inTestOrder(r), r.Zones(), nil)
	require.Less(t, len(boxes), 20, "boxes of 40 assumptions on ten dots, each in at most two zones")
	var ids int
	for i, b := range boxes {
		assert.True(t, inside(b.area, f.Rectangle), b.text)
		ids += strings.Count(b.text, "A")
		for _, o := range boxes[:i] {
			assert.Zero(t, overlap(b.area, []vg.Rectangle{o.area}), "%s and %s", b.text, o.text)
		}
		for _, name := range zoneNames(f.Rectangle, r.Zones()) {
			assert.Zero(t, overlap(b.area, []vg.Rectangle{nameArea(name)}), "%s and %s", b.text, name.text)
		}
	}
	assert.Equal(t, 40, ids)
}

// Spans on one line that touch lie side by side; others stay on their line.
func TestLanes(t *testing.T) {
	got := lanes([]whisker{{3, 1, 4}, {3, 2, 5}, {3, 6, 7}, {3, 4, 6}, {4, 1, 9}})
	assert.Equal(t, []vg.Length{0, -3, 0, 3, 0}, got)
}

// The first three are told in words, and whatever was typed is text.
func TestThePictureSaysTheFirstInWords(t *testing.T) {
	r := rated(12)
	svg, err := Draw(Picture{Title: "Bikes & <boats>", Result: r}, "svg")
	require.NoError(t, err)
	text := string(svg)
	assert.Contains(t, text, "Bikes &amp; &lt;boats&gt;")
	n := 0
	for _, a := range inTestOrder(r)[:3] {
		if a.Zone == engine.TestFirst {
			assert.Contains(t, text, fmt.Sprintf("%d. %s: Belief %s &lt;holds&gt; &amp; more.", a.Rank, a.ID, a.ID[1:]))
			n++
		}
	}
	require.NotZero(t, n)
	_, err = Draw(Picture{Result: engine.Result{}}, "png")
	require.NoError(t, err, "a map of nothing")
}

func TestWrappedTextFits(t *testing.T) {
	style := mapFont(sentenceSize, "")
	for _, text := range []string{"", "short", strings.Repeat("word ", 60), strings.Repeat("x", 300), "a " + strings.Repeat("y", 200) + " z"} {
		lines := wrapped(style, text, 200)
		assert.LessOrEqual(t, len(lines), sentencesMost)
		for _, line := range lines {
			assert.LessOrEqual(t, float64(style.Width(line)), 200.0, line)
		}
	}
}

// The file holds one value a pixel, so nothing drawn may have a colour, or let the
// paper shine through.
func TestAllThatIsDrawnIsGrey(t *testing.T) {
	r := rated(14)
	p := Picture{Title: "Bicycles on the ferry", Result: r, Plan: engine.Plan{TestFirst: 2, Weeks: []engine.PlanWeek{{Week: 1, Done: 1, Share: 0.5}}}}
	c := vgimg.New(mapWidth, mapHeight+300)
	p.compose(draw.New(c))
	drawn, is := c.Image().(*image.RGBA)
	require.True(t, is)
	grey, is := greys(drawn).(*image.Gray)
	require.True(t, is)
	var other int
	for i, y := range grey.Pix {
		if [4]byte(drawn.Pix[4*i:]) != [4]byte{y, y, y, 255} {
			other++
		}
	}
	require.Zero(t, other, "pixels that are not grey, of %d", len(grey.Pix))
}

func BenchmarkDrawPNG(b *testing.B) {
	p := Picture{Title: "Bicycles on the ferry", Result: rated(14)}
	for b.Loop() {
		_, err := Draw(p, "png")
		require.NoError(b, err)
	}
}

// What moved is drawn from then to now, side by side where two would lie on each other,
// and no label covers its end; what is new has a place and no rank.
func TestWhatMovedIsDrawn(t *testing.T) {
	r := rated(8)
	at := inTestOrder(r)[0]
	on, there := float64(at.Importance.Median), float64(at.Evidence.Median)
	since := Since{Ways: []Way{{"A1", on, there, 9}, {"A2", on, 9, there}, {"A3", on + 1, 4, 2}}, New: []engine.AssumptionScore{{ID: "A9", Zone: engine.TestFirst, Importance: at.Importance, Evidence: at.Evidence}}}
	f := field{draw.NewCanvas(vgimg.New(mapWidth, mapHeight), mapWidth, mapHeight)}
	arrows := arrowsOf(f, since.Ways)
	require.Len(t, arrows, 3)
	assert.Equal(t, f.x(there), arrows[0].from.X)
	assert.Equal(t, f.x(9), arrows[0].to.X)
	assert.Equal(t, f.y(on), arrows[0].from.Y)
	assert.NotEqual(t, arrows[0].from.Y, arrows[1].from.Y, "they would lie on each other")
	for _, b := range layOut(f, append(inTestOrder(r), since.New...), r.Zones(), arrows) {
		for _, a := range arrows {
			assert.Zero(t, overlap(b.area, []vg.Rectangle{a.area()}), "%s on the head of an arrow", b.text)
		}
	}
	assert.LessOrEqual(t, float64(frameFont(13, 0, 0).Width(frameTitleMoved)), float64(mapWidth-14))
	still, err := Draw(Picture{Result: r, Since: Since{New: since.New}}, "svg")
	require.NoError(t, err)
	moved, err := Draw(Picture{Result: r, Since: since}, "svg")
	require.NoError(t, err)
	assert.Contains(t, string(moved), "A9 new")
	assert.Contains(t, string(moved), "A3 from 4 to 2. New on the map: A9.")
	assert.NotContains(t, string(still), "moved since")
	assert.Equal(t, strings.Count(string(still), "<path")+2*len(since.Ways), strings.Count(string(moved), "<path"), "a line and a head each")
}
