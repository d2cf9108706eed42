package chart

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"soundings/bot/words"
	"soundings/engine"
)

// A box is the label of all that share a dot.
type box struct {
	text  string // in lines
	first bool   // they are tested first
	dot   vg.Point
	area  vg.Rectangle
}

// sideBySide is how many ids stand on a line of a label.
const sideBySide = 3

const (
	dotRadius  = vg.Length(3.5)
	boxPadX    = vg.Length(4)
	boxPadY    = vg.Length(2.5)
	labelSize  = vg.Length(13)
	splitMark  = " ↔"
	thinMark   = " ?"
	searchStep = vg.Length(4)
)

// drawLabels draws a dot where assumptions stand and their ids in a box nearby.
// Medians fall on few places, so many share one: what stands on one dot stands in
// one box. Boxes are moved until none covers another, with a line back to their
// dot.
func drawLabels(f field, all []engine.AssumptionScore, zones []engine.Zone, arrows []arrow) {
	boxes := layOut(f, all, zones, arrows)
	c := f.Canvas
	for _, b := range boxes {
		c.StrokeLine2(draw.LineStyle{Color: faint, Width: 0.8}, b.dot.X, b.dot.Y, middle(b.area).X, middle(b.area).Y)
	}
	for _, b := range boxes {
		drawDot(c, b)
	}
	for _, b := range boxes {
		drawBox(c, b)
	}
}

// layOut places the boxes in test order: the first assumptions get the best
// places. Nothing is random, so the same map gives the same picture.
func layOut(c field, all []engine.AssumptionScore, zones []engine.Zone, arrows []arrow) []box {
	boxes := boxesOf(c, all)
	taken := make([]vg.Rectangle, 0, 2*len(boxes))
	for _, b := range boxes {
		taken = append(taken, around(b.dot, 2*dotRadius, 2*dotRadius))
	}
	for _, name := range zoneNames(c.Rectangle, zones) {
		taken = append(taken, nameArea(name))
	}
	for _, a := range arrows {
		taken = append(taken, a.area())
	}
	style := mapFont(labelSize, "bold")
	for i := range boxes {
		w, h := style.Width(boxes[i].text)+2*boxPadX, style.Height(boxes[i].text)+2*boxPadY
		boxes[i].area = freePlace(boxes[i].dot, w, h, c.Rectangle, taken)
		taken = append(taken, boxes[i].area)
	}
	return boxes
}

// boxesOf gathers what stands on one dot and comes first, or does not.
func boxesOf(c field, all []engine.AssumptionScore) []box {
	var boxes []box
	count := map[box]int{}
	for _, a := range all {
		key := box{first: a.Zone == engine.TestFirst, dot: vg.Point{X: c.x(float64(a.Evidence.Median)), Y: c.y(float64(a.Importance.Median))}}
		at := slices.IndexFunc(boxes, func(b box) bool { return b.first == key.first && b.dot == key.dot })
		if at < 0 {
			at, boxes = len(boxes), append(boxes, key)
		}
		switch n := count[key]; {
		case n == 0:
		case n%sideBySide == 0:
			boxes[at].text += "\n"
		default:
			boxes[at].text += "   "
		}
		boxes[at].text += labelText(a)
		count[key]++
	}
	return boxes
}

func nameArea(n zoneName) vg.Rectangle {
	style := mapFont(14, "bold")
	style.XAlign, style.YAlign = n.across, n.up
	r := style.Rectangle(n.text)
	return vg.Rectangle{Min: r.Min.Add(n.at), Max: r.Max.Add(n.at)}
}

func labelText(a engine.AssumptionScore) string {
	text := words.Clip(a.ID, 8)
	switch {
	case a.Rank == 0: // it came after the map was made
		text += " new"
	case a.Zone == engine.TestFirst:
		text = fmt.Sprintf("%d. %s", a.Rank, text)
	}
	if a.Importance.Agreement == engine.Split || a.Evidence.Agreement == engine.Split {
		text += splitMark
	}
	if a.Thin {
		text += thinMark
	}
	return text
}

// freePlace looks for the nearest place for a box of w by h around its dot,
// in rings that grow. When the map is full it settles for the least overlap.
func freePlace(dot vg.Point, w, h vg.Length, within vg.Rectangle, taken []vg.Rectangle) vg.Rectangle {
	var best vg.Rectangle
	least := math.Inf(1)
	const turns = 24
	rings := 45
	if len(taken) > 300 {
		rings = 6 // a map so full is read in the list; it must not take a minute
	}
	for ring := range rings {
		reach := searchStep * vg.Length(ring)
		for turn := range turns {
			angle := 2 * math.Pi * (float64(turn)/turns + 0.125)
			at := vg.Point{X: dot.X + (w/2+dotRadius+2+reach)*vg.Length(math.Cos(angle)), Y: dot.Y + (h/2+dotRadius+2+reach)*vg.Length(math.Sin(angle))}
			r := around(at, w, h)
			if !inside(r, within) {
				continue
			}
			covered := overlap(r, taken)
			if covered == 0 {
				return r
			}
			if covered < least {
				best, least = r, covered
			}
		}
	}
	return best
}

func around(at vg.Point, w, h vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: at.X - w/2, Y: at.Y - h/2}, Max: vg.Point{X: at.X + w/2, Y: at.Y + h/2}}
}

func inside(r, within vg.Rectangle) bool {
	return r.Min.X >= within.Min.X && r.Max.X <= within.Max.X && r.Min.Y >= within.Min.Y && r.Max.Y <= within.Max.Y
}

// overlap is the area of r that others cover.
func overlap(r vg.Rectangle, others []vg.Rectangle) float64 {
	total := 0.0
	for _, o := range others {
		w := min(r.Max.X, o.Max.X) - max(r.Min.X, o.Min.X)
		h := min(r.Max.Y, o.Max.Y) - max(r.Min.Y, o.Min.Y)
		if w > 0 && h > 0 {
			total += float64(w) * float64(h)
		}
	}
	return total
}

func middle(r vg.Rectangle) vg.Point {
	return vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: (r.Min.Y + r.Max.Y) / 2}
}

// drawDot fills the dots of what comes first, and leaves the others open.
func drawDot(c draw.Canvas, b box) {
	glyph := draw.GlyphStyle{Color: ink, Radius: dotRadius, Shape: draw.CircleGlyph{}}
	if !b.first {
		c.DrawGlyph(draw.GlyphStyle{Color: paper, Radius: dotRadius, Shape: draw.CircleGlyph{}}, b.dot)
		glyph.Shape = draw.RingGlyph{}
	}
	c.DrawGlyph(glyph, b.dot)
}

// drawBox writes what comes first in white on dark, the others dark on white.
func drawBox(c draw.Canvas, b box) {
	outline := corners(b.area.Min.X, b.area.Min.Y, b.area.Max.X, b.area.Max.Y)
	front, back, edge := ink, paper, ink
	if b.first {
		front, back, edge = paper, ink, paper
	}
	c.FillPolygon(back, outline[:4])
	c.StrokeLines(draw.LineStyle{Color: edge, Width: 1}, outline)
	style := mapFont(labelSize, "bold")
	style.XAlign, style.YAlign, style.Color = -0.5, -0.5, front
	c.FillText(style, middle(b.area), b.text)
}
