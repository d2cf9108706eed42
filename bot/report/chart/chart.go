package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

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

// Draw draws the map: evidence to the right, importance upwards, the cuts
// dashed, the quartiles as whiskers; and below it the weeks of the plan where
// there are any. format is png or svg.
func Draw(r engine.Result, plan engine.Plan, format string) ([]byte, error) {
	height := mapHeight
	if len(plan.Weeks) > 0 {
		height += weeksHeight
	}
	var out bytes.Buffer
	switch format {
	case "png":
		c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(mapWidth, height), vgimg.UseDPI(mapDPI))}
		compose(draw.New(c), r, plan)
		if _, err := c.WriteTo(&out); err != nil {
			return nil, fmt.Errorf("draw the map: %w", err)
		}
		return out.Bytes(), nil
	case "svg":
		c := vgsvg.New(mapWidth, height)
		compose(draw.New(c), r, plan)
		if _, err := c.WriteTo(&out); err != nil {
			return nil, fmt.Errorf("draw the map: %w", err)
		}
		return describedSVG(out.Bytes(), Describe(r)), nil
	}
	return nil, fmt.Errorf("draw the map: there is no format %q; png and svg are known", format)
}

// compose puts the parts of the picture in their places.
func compose(c draw.Canvas, r engine.Result, plan engine.Plan) {
	p := newMapPlot()
	p.Add(zonePlotter{r.Cut}, whiskerPlotter{onMap(r)}, labelPlotter{onMap(r)})
	if len(plan.Weeks) == 0 {
		p.Draw(inMargins(c))
		return
	}
	c.SetColor(paper)
	c.Fill(c.Rectangle.Path())
	p.Draw(inMargins(draw.Crop(c, 0, 0, weeksHeight, 0)))
	drawWeeks(inMargins(draw.Crop(c, 0, 0, 0, -(c.Max.Y-c.Min.Y-weeksHeight))), plan)
}

// inMargins keeps the picture off the edges of a screen.
func inMargins(c draw.Canvas) draw.Canvas {
	const margin = 7
	return draw.Crop(c, margin, -margin, margin, -margin)
}

// describedSVG puts a title into the picture for those who cannot see it.
func describedSVG(svg []byte, alt string) []byte {
	at := bytes.Index(svg, []byte("<svg"))
	end := bytes.IndexByte(svg[at:], '>')
	if at < 0 || end < 0 {
		return svg
	}
	escaped := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(alt)
	head := append([]byte{}, svg[:at+end]...)
	head = append(head, []byte(` role="img"><title>`+escaped+`</title>`)...)
	return append(head, svg[at+end+1:]...)
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
	faint    = color.Gray{Y: 0x8a}
	pale     = color.Gray{Y: 0xc8}
	firstBox = color.Gray{Y: 0xec}
	paper    = color.Gray{Y: 0xff}
)

func mapFont(size vg.Length, weight string) text.Style {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
	if weight == "bold" {
		f.Weight = 2 // as golang.org/x/image/font.WeightBold
	}
	return text.Style{Color: ink, Font: f, Handler: plot.DefaultTextHandler}
}

func newMapPlot() *plot.Plot {
	p := plot.New()
	p.Title.Text = "Grey lines: the middle half of the ratings.  ↔ split   ? few ratings"
	p.Title.TextStyle.Font = mapFont(13, "").Font
	p.Title.Padding = 6
	p.X.Label.Text, p.Y.Label.Text = "evidence: how solid is what we know?", "importance: how bad if we are wrong?"
	for _, axis := range []*plot.Axis{&p.X, &p.Y} {
		axis.Min, axis.Max = 0.5, 9.5
		axis.Label.TextStyle.Font = mapFont(15, "").Font
		axis.Tick.Label.Font = mapFont(14, "").Font
		axis.Tick.Marker = wholeTicks{}
		axis.Padding = 0
	}
	return p
}

// wholeTicks marks the nine ratings.
type wholeTicks struct{}

func (wholeTicks) Ticks(_, _ float64) []plot.Tick {
	var ticks []plot.Tick
	for v := 1; v <= 9; v++ {
		ticks = append(ticks, plot.Tick{Value: float64(v), Label: fmt.Sprint(v)})
	}
	return ticks
}

// zonePlotter draws the four zones and their names.
type zonePlotter struct{ cut engine.Cut }

func (z zonePlotter) Plot(c draw.Canvas, p *plot.Plot) {
	if !z.cut.Importance.Defined() || !z.cut.Evidence.Defined() {
		return
	}
	x, y := p.Transforms(&c)
	cutX, cutY := x(float64(z.cut.Evidence)), y(float64(z.cut.Importance))
	c.FillPolygon(firstBox, []vg.Point{{X: c.Min.X, Y: cutY}, {X: cutX, Y: cutY}, {X: cutX, Y: c.Max.Y}, {X: c.Min.X, Y: c.Max.Y}})
	dashed := draw.LineStyle{Color: faint, Width: 1, Dashes: []vg.Length{5, 4}}
	c.StrokeLine2(dashed, cutX, c.Min.Y, cutX, c.Max.Y)
	c.StrokeLine2(dashed, c.Min.X, cutY, c.Max.X, cutY)
	for _, name := range zoneNames(c.Rectangle) {
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
func zoneNames(area vg.Rectangle) []zoneName {
	const in = 5
	left, right, low, high := area.Min.X+in, area.Max.X-in, area.Min.Y+in, area.Max.Y-in
	return []zoneName{
		{"test first", vg.Point{X: left, Y: high}, text.XLeft, text.YTop},
		{"rely on", vg.Point{X: right, Y: high}, text.XRight, text.YTop},
		{"watch", vg.Point{X: left, Y: low}, text.XLeft, text.YBottom},
		{"leave", vg.Point{X: right, Y: low}, text.XRight, text.YBottom},
	}
}

// whiskerPlotter draws, for each assumption, the span of the middle half of
// its ratings in both directions.
type whiskerPlotter struct{ all []engine.AssumptionScore }

func (w whiskerPlotter) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	thin := draw.LineStyle{Color: pale, Width: 1.5}
	for _, a := range w.all {
		e, i := a.Evidence, a.Importance
		c.StrokeLine2(thin, x(float64(e.Q1)), y(float64(i.Median)), x(float64(e.Q3)), y(float64(i.Median)))
		c.StrokeLine2(thin, x(float64(e.Median)), y(float64(i.Q1)), x(float64(e.Median)), y(float64(i.Q3)))
	}
}
