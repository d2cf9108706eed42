package chart

import (
	"fmt"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"soundings/engine"
)

// weeksHeight is the strip below the map on which the plan is drawn.
const weeksHeight = vg.Length(150)

// weeksMost is how many weeks fit side by side and still be read.
const weeksMost = 12

// drawWeeks draws, week by week, how many of the assumptions to test first
// would have a first result: a column for each, with its figures above.
func drawWeeks(c draw.Canvas, p engine.Plan) {
	title := mapFont(14, "")
	title.XAlign, title.YAlign = text.XCenter, text.YTop
	c.FillText(title, vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Max.Y}, "assumptions to test first with a first result, by week")
	weeks := p.Weeks[:min(len(p.Weeks), weeksMost)]
	const gap, label = 10, 20
	width := min((c.Max.X-c.Min.X-gap)/vg.Length(len(weeks))-gap, 70)
	left := (c.Min.X + c.Max.X - (width+gap)*vg.Length(len(weeks)) + gap) / 2
	low, high := c.Min.Y+label, c.Max.Y-2*label-4
	for i, w := range weeks {
		x := left + (width+gap)*vg.Length(i)
		top := low + (high-low)*vg.Length(w.Share)
		c.StrokeLines(draw.LineStyle{Color: faint, Width: 1}, corners(x, low, x+width, high))
		if w.Done > 0 {
			c.FillPolygon(ink, corners(x, low, x+width, top)[:4])
		}
		weekLabel(c, x+width/2, low-3, text.YTop, fmt.Sprintf("week %d", w.Week), width)
		weekLabel(c, x+width/2, high+3, text.YBottom, fmt.Sprintf("%d of %d", w.Done, p.TestFirst), width)
	}
}

// weekLabel writes small where columns are narrow.
func weekLabel(c draw.Canvas, x, y vg.Length, up text.YAlignment, label string, width vg.Length) {
	style := mapFont(13, "")
	if style.Width(label) > width+8 {
		style = mapFont(9, "")
	}
	style.XAlign, style.YAlign = text.XCenter, up
	c.FillText(style, vg.Point{X: x, Y: y}, label)
}

// corners is a box as a closed line.
func corners(left, low, right, high vg.Length) []vg.Point {
	return []vg.Point{{X: left, Y: low}, {X: right, Y: low}, {X: right, Y: high}, {X: left, Y: high}, {X: left, Y: low}}
}
