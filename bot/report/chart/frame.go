package chart

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The frame of the map is drawn here, and not by the library's Plot: that
// brings along all the formats it knows (PDF, EPS, TeX) and twelve fonts, each
// parsed whenever the program starts.

// typeface reads the font of the map when it is first needed. There is none of
// half weight, so a picture of pixels shows that as the regular one; what shows
// an SVG may know better.
var typeface = sync.OnceValue(func() text.Handler {
	face, err := opentype.Parse(liberationsansregular.TTF)
	if err != nil {
		panic(fmt.Sprintf("chart: the font cannot be read: %v", err)) // it is part of the program
	}
	return text.Plain{Fonts: font.NewCache(font.Collection{{Font: sans, Face: face}})}
})

var sans = font.Font{Typeface: "Liberation", Variant: "Sans"}

func mapFont(size vg.Length, weight string) text.Style {
	f := font.From(sans, size)
	if weight == "bold" {
		f.Weight = xfont.WeightSemiBold
	}
	return text.Style{Color: ink, Font: f, Handler: typeface()}
}

// A field is where ratings are drawn: evidence to the right, importance
// upwards.
type field struct{ draw.Canvas }

// The scales go from 1 to 9, and leave room for a dot at their ends.
const (
	scaleLow  = 0.5
	scaleHigh = 9.5
)

func (f field) x(evidence float64) vg.Length {
	return f.X((evidence - scaleLow) / (scaleHigh - scaleLow))
}
func (f field) y(importance float64) vg.Length {
	return f.Y((importance - scaleLow) / (scaleHigh - scaleLow))
}

const (
	frameTitle      = "Black: test first.  Lines: where half of the ratings lie.  ↔ split  ? few"
	frameTitleMoved = "Black: test first.  Lines: half of the ratings.  ↔ split  ? few  → moved since"
	evidenceLabel   = "evidence: how solid is what we know?"
	importanceLabel = "importance: how bad if we are wrong?"

	titlePad   = vg.Length(6)
	tickLength = vg.Length(8)
)

var axisLine = draw.LineStyle{Color: color.Black, Width: 0.5}

// drawFrame draws the title and the axes, and returns the field that is left
// for the ratings.
func drawFrame(c draw.Canvas, says string) field {
	title := frameFont(13, text.XCenter, text.YTop)
	c.FillText(title, vg.Point{X: c.Center().X, Y: c.Max.Y + descent(title)}, says)
	c.Max.Y -= title.Rectangle(says).Size().Y + titlePad

	label := frameFont(15, text.XCenter, text.YBottom)
	across, up := frameFont(14, text.XCenter, text.YTop), frameFont(14, text.XRight, text.YCenter)
	digit := up.Rectangle("9").Size() // every digit is as large as every other
	left := descent(label) + label.Height(importanceLabel) + digit.X + label.Width(" ") + tickLength + axisLine.Width/2
	low := label.Height(evidenceLabel) + tickLength + digit.Y + axisLine.Width/2
	f := field{draw.Crop(c, left, 0, low, 0)}

	c.FillText(label, vg.Point{X: f.Center().X, Y: c.Min.Y + descent(label)}, evidenceLabel)
	y := c.Min.Y + label.Height(evidenceLabel) + digit.Y
	for rating := range ratings {
		c.FillText(across, vg.Point{X: f.x(rating), Y: y + descent(across)}, strconv.Itoa(int(rating)))
	}
	for rating := range ratings {
		c.StrokeLine2(axisLine, f.x(rating), y, f.x(rating), y+tickLength)
	}
	c.StrokeLine2(axisLine, f.Min.X, y+tickLength, f.Max.X, y+tickLength)

	upwards := label
	upwards.Rotation = math.Pi / 2
	x := c.Min.X + label.Height(importanceLabel)
	c.FillText(upwards, vg.Point{X: x - descent(label), Y: f.Center().Y}, importanceLabel)
	x += descent(label) + digit.X
	for rating := range ratings {
		c.FillText(up, vg.Point{X: x, Y: f.y(rating) + descent(up)}, strconv.Itoa(int(rating)))
	}
	x += up.Width(" ")
	for rating := range ratings {
		c.StrokeLine2(axisLine, x, f.y(rating), x+tickLength, f.y(rating))
	}
	c.StrokeLine2(axisLine, x+tickLength, f.Min.Y, x+tickLength, f.Max.Y)
	return f
}

// ratings are those that have a mark on the axes.
func ratings(yield func(float64) bool) {
	for rating := 1.0; rating <= 9 && yield(rating); rating++ {
	}
}

func frameFont(size vg.Length, across text.XAlignment, up text.YAlignment) text.Style {
	style := mapFont(size, "")
	style.Color, style.XAlign, style.YAlign = color.Black, across, up
	return style
}

func descent(style text.Style) vg.Length { return style.FontExtents().Descent }
