// Package chart draws the map of the assumptions as a picture, and says in
// words what it shows. It knows results of engine, no kickoff and no platform.
//
// Start from two functions:
//
//	Draw      the map as PNG or SVG, with the plan below it where there is one
//	Describe  the same in words, for those who cannot see it
package chart

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"slices"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"soundings/bot/words"
	"soundings/engine"
)

// The map is drawn tall, for phones: at 360 pixels wide its smallest letters
// are still 11 pixels high. Shapes and words carry everything that grey tones
// show, so that it reads without colour.
const (
	mapWidth  = vg.Length(540) // points
	mapHeight = vg.Length(640)
	mapDPI    = 96
)

// A Picture is what is drawn: the map of a result, with the weeks of a plan
// below it where there are any.
type Picture struct {
	Title  string // what it is the map of; empty for none
	Result engine.Result
	Plan   engine.Plan
	Since  Since
}

// Draw draws the map: evidence to the right, importance upwards, the cuts
// dashed, the quartiles as whiskers, and below it the first assumptions in
// words. format is png or svg.
func Draw(p Picture, format string) ([]byte, error) {
	height := mapHeight + p.titleHeight() + sentencesHeight(p.Result) + p.weeksHeight()
	var out bytes.Buffer
	switch format {
	case "png":
		c := vgimg.NewWith(vgimg.UseWH(mapWidth, height), vgimg.UseDPI(mapDPI))
		p.compose(draw.New(c))
		// the best compression takes twice as long and saves 3 in 100 bytes
		if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&out, greys(c.Image())); err != nil {
			return nil, fmt.Errorf("draw the map: %w", err)
		}
		return out.Bytes(), nil
	case "svg":
		c := vgsvg.New(mapWidth, height)
		c.SetColor(paper)
		c.Fill(draw.New(c).Rectangle.Path())
		p.compose(draw.New(c))
		if _, err := c.WriteTo(&out); err != nil {
			return nil, fmt.Errorf("draw the map: %w", err)
		}
		return describedSVG(out.Bytes(), Describe(p.Result)+p.Since.Describe()), nil
	default:
		return nil, fmt.Errorf("draw the map: there is no format %q; png and svg are known", format)
	}
}

// greys is the picture as a quarter of the data: all that is drawn is grey, and
// encodes three times as fast. The picture is the RGBA that the canvas makes.
func greys(drawn image.Image) image.Image {
	all, isRGBA := drawn.(*image.RGBA)
	if !isRGBA {
		return drawn
	}
	out := image.NewGray(all.Rect)
	for i := range out.Pix {
		out.Pix[i] = all.Pix[4*i]
	}
	return out
}

// titleHeight and weeksHeight are the strips above and below the map.
func (p Picture) titleHeight() vg.Length {
	if p.Title == "" {
		return 0
	}
	return 24
}

func (p Picture) weeksHeight() vg.Length {
	if len(p.Plan.Weeks) == 0 {
		return 0
	}
	return weeksHeight
}

// compose puts the parts of the picture in their places.
func (p Picture) compose(c draw.Canvas) {
	if p.Title != "" {
		style := mapFont(16, "bold")
		style.XAlign, style.YAlign = text.XCenter, text.YTop
		c.FillText(style, vg.Point{X: c.Center().X, Y: c.Max.Y - 5}, cut(style, words.HarmlessLine(p.Title), mapWidth-30))
	}
	weeks, below := p.weeksHeight(), sentencesHeight(p.Result)
	drawMap(inMargins(draw.Crop(c, 0, 0, weeks+below, -p.titleHeight())), p.Result, p.Since)
	drawSentences(draw.Crop(c, 15, -15, weeks, -p.titleHeight()-mapHeight), p.Result)
	if weeks > 0 {
		drawWeeks(inMargins(draw.Crop(c, 0, 0, 0, weeks-(c.Max.Y-c.Min.Y))), p.Plan)
	}
}

func drawMap(c draw.Canvas, r engine.Result, since Since) {
	title := frameTitle
	if len(since.Ways) > 0 {
		title = frameTitleMoved
	}
	f := drawFrame(c, title)
	drawZones(f, r.Cut, r.Zones())
	drawWhiskers(f, onMap(r))
	arrows := arrowsOf(f, since.Ways)
	drawArrows(f.Canvas, arrows)
	drawLabels(f, append(inTestOrder(r), since.New...), r.Zones(), arrows)
}

// inMargins keeps the picture off the edges of a screen.
func inMargins(c draw.Canvas) draw.Canvas {
	const margin = 7
	return draw.Crop(c, margin, -margin, margin, -margin)
}

// describedSVG puts a title into the picture for those who cannot see it.
func describedSVG(svg []byte, alt string) []byte {
	start := bytes.Index(svg, []byte("<svg"))
	end := start + bytes.IndexByte(svg[start:], '>')
	escaped := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(alt)
	return slices.Concat(svg[:end], []byte(` role="img"><title>`+escaped+`</title>`), svg[end+1:])
}

// inTestOrder are the assumptions that have a place on the map, the first first.
func inTestOrder(r engine.Result) []engine.AssumptionScore {
	all := onMap(r)
	slices.SortFunc(all, func(a, b engine.AssumptionScore) int { return int(a.Rank) - int(b.Rank) })
	return all
}

// onMap are the assumptions that have a place on the map.
func onMap(r engine.Result) []engine.AssumptionScore {
	var out []engine.AssumptionScore
	for _, a := range r.Assumptions {
		if a.Rank > 0 {
			out = append(out, a)
		}
	}
	return out
}

var (
	ink      = color.Gray{Y: 0x1a}
	faint    = color.Gray{Y: 0x66} // on firstBox still 4.8:1
	pale     = color.Gray{Y: 0x94} // 3:1 on paper, as WCAG 2 asks of what is no text
	firstBox = color.Gray{Y: 0xec}
	paper    = color.Gray{Y: 0xff}
)

// drawZones draws the four zones, in test order, and their names.
func drawZones(c field, cut engine.Cut, zones []engine.Zone) {
	if !cut.Importance.Defined() || !cut.Evidence.Defined() {
		return
	}
	cutX, cutY := c.x(float64(cut.Evidence)), c.y(float64(cut.Importance))
	c.FillPolygon(firstBox, []vg.Point{{X: c.Min.X, Y: cutY}, {X: cutX, Y: cutY}, {X: cutX, Y: c.Max.Y}, {X: c.Min.X, Y: c.Max.Y}})
	dashed := draw.LineStyle{Color: faint, Width: 1, Dashes: []vg.Length{5, 4}}
	c.StrokeLine2(dashed, cutX, c.Min.Y, cutX, c.Max.Y)
	c.StrokeLine2(dashed, c.Min.X, cutY, c.Max.X, cutY)
	for _, name := range zoneNames(c.Rectangle, zones) {
		style := mapFont(14, "bold")
		style.Color, style.XAlign, style.YAlign = faint, name.across, name.up
		c.FillText(style, name.at, name.text)
	}
}

type zoneName struct {
	text   string
	at     vg.Point
	across text.XAlignment
	up     text.YAlignment
}

// zoneNames puts each zone's name into its corner of the map.
func zoneNames(area vg.Rectangle, zones []engine.Zone) []zoneName {
	const in = 5
	left, right, low, high := area.Min.X+in, area.Max.X-in, area.Min.Y+in, area.Max.Y-in
	return []zoneName{
		{words.ZoneText(zones[0]), vg.Point{X: left, Y: high}, text.XLeft, text.YTop},
		{words.ZoneText(zones[1]), vg.Point{X: right, Y: high}, text.XRight, text.YTop},
		{words.ZoneText(zones[2]), vg.Point{X: left, Y: low}, text.XLeft, text.YBottom},
		{words.ZoneText(zones[3]), vg.Point{X: right, Y: low}, text.XRight, text.YBottom},
	}
}

// A whisker is the middle half of the ratings of one assumption on one scale,
// at its median on the other.
type whisker struct{ at, from, to float64 }

// drawWhiskers draws, for each assumption, the span of the middle half of its
// ratings in both directions. Spans that would lie on one another are drawn side
// by side.
func drawWhiskers(c field, all []engine.AssumptionScore) {
	var across, up []whisker
	for _, a := range all {
		e, i := a.Evidence, a.Importance
		if e.Q1.Defined() && e.Q3 > e.Q1 { // undefined: few have rated, and the span would give their ratings away
			across = append(across, whisker{float64(i.Median), float64(e.Q1), float64(e.Q3)})
		}
		if i.Q1.Defined() && i.Q3 > i.Q1 {
			up = append(up, whisker{float64(e.Median), float64(i.Q1), float64(i.Q3)})
		}
	}
	const cap = vg.Length(2.5)
	thin := draw.LineStyle{Color: pale, Width: 1.2}
	for i, lane := range lanes(across) {
		w := across[i]
		y := c.y(w.at) + lane
		c.StrokeLine2(thin, c.x(w.from), y, c.x(w.to), y)
		c.StrokeLine2(thin, c.x(w.from), y-cap, c.x(w.from), y+cap)
		c.StrokeLine2(thin, c.x(w.to), y-cap, c.x(w.to), y+cap)
	}
	for i, lane := range lanes(up) {
		w := up[i]
		x := c.x(w.at) + lane
		c.StrokeLine2(thin, x, c.y(w.from), x, c.y(w.to))
		c.StrokeLine2(thin, x-cap, c.y(w.from), x+cap, c.y(w.from))
		c.StrokeLine2(thin, x-cap, c.y(w.to), x+cap, c.y(w.to))
	}
}

// lanes says how far from its line each whisker is drawn: those that touch on
// one line lie side by side, to both sides of it in turn.
func lanes(all []whisker) []vg.Length {
	const apart = vg.Length(3)
	number, out := make([]int, len(all)), make([]vg.Length, len(all))
	for i, w := range all {
		for j := 0; j < i; j++ {
			if o := all[j]; o.at == w.at && number[j] == number[i] && w.from <= o.to && o.from <= w.to {
				number[i]++
				j = -1 // the next lane may be taken as well
			}
		}
		side := vg.Length(1 - 2*(number[i]%2))
		out[i] = side * apart * vg.Length((number[i]+1)/2)
	}
	return out
}

// Describe says in words what the map shows, and what has moved on it.
func (p Picture) Describe() string { return Describe(p.Result) + p.Since.Describe() }

// Describe says in words what the map shows, for those who cannot see it.
// It names no more than a screen reader's listener can keep in mind.
func Describe(r engine.Result) string {
	all := onMap(r)
	if len(all) == 0 {
		return "An empty map: nothing was rated on both scales."
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Map of %s. Evidence rises to the right, importance upwards. ", words.Count(len(all), "assumption", "assumptions"))
	for _, z := range r.Zones() {
		ids := words.InZone(r, z)
		if len(ids) == 0 {
			fmt.Fprintf(&b, "%s: none. ", words.SentenceCase(words.ZoneText(z)))
			continue
		}
		fmt.Fprintf(&b, "%s: %s. ", words.SentenceCase(words.ZoneText(z)), words.Listed(ids, 12))
	}
	b.WriteString("A double arrow marks views that are split, a question mark few ratings.")
	return b.String()
}

// weeksHeight is the strip below the map on which the plan is drawn.
const weeksHeight = vg.Length(170)

// weeksMost is how many weeks fit side by side and still be read.
const weeksMost = 12

// drawWeeks draws, week by week, how many of the assumptions to test first
// would have a first result: a column for each, with its figures above, and below
// what the week adds of the risk.
func drawWeeks(c draw.Canvas, p engine.Plan) {
	title := mapFont(14, "")
	title.XAlign, title.YAlign = text.XCenter, text.YTop
	c.FillText(title, vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Max.Y}, "first results by week; below each, how much of the risk it tests")
	weeks := p.Weeks[:min(len(p.Weeks), weeksMost)]
	const gap, label = 10, 20
	width := min((c.Max.X-c.Min.X-gap)/vg.Length(len(weeks))-gap, 70)
	left := (c.Min.X + c.Max.X - (width+gap)*vg.Length(len(weeks)) + gap) / 2
	low, high := c.Min.Y+2*label, c.Max.Y-2*label-4
	for i, w := range weeks {
		x := left + (width+gap)*vg.Length(i)
		top := low + (high-low)*vg.Length(w.Share)
		c.StrokeLines(draw.LineStyle{Color: faint, Width: 1}, corners(x, low, x+width, high))
		if w.Done > 0 {
			c.FillPolygon(ink, corners(x, low, x+width, top)[:4])
		}
		weekLabel(c, x+width/2, low-3, text.YTop, fmt.Sprintf("week %d", w.Week), width)
		weekLabel(c, x+width/2, low-3-label, text.YTop, fmt.Sprintf("%d%%", words.WeekRisk(p, w.Week)), width)
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
