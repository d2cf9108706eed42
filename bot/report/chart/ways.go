package chart

import (
	"fmt"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"soundings/bot/words"
	"soundings/engine"
)

// Since is what has changed since the map was made.
type Since struct {
	Ways []Way
	New  []engine.AssumptionScore // came later, and have a place on it without a rank
}

// A Way is how far the evidence of an assumption has moved since the map was made.
type Way struct {
	ID         string
	Importance float64 // where it stands on that scale
	From, To   float64 // evidence then and now, from 1 to 9
}

// An arrow is a way as it is drawn, from left to right or back.
type arrow struct {
	id       string
	from, to vg.Point
	name     vg.Point // the middle of its name, beyond the head
}

const (
	headLength = vg.Length(9)
	headHalf   = vg.Length(4)
)

// arrowsOf puts each way at its height. Those that would lie on one another are drawn
// side by side.
func arrowsOf(f field, ways []Way) []arrow {
	spans, out := make([]whisker, len(ways)), make([]arrow, len(ways))
	for i, w := range ways {
		spans[i] = whisker{w.Importance, min(w.From, w.To), max(w.From, w.To)}
	}
	for i, lane := range lanes(spans) {
		w, y := ways[i], f.y(ways[i].Importance)+4*lane
		a := arrow{id: words.Clip(w.ID, 8), from: vg.Point{X: f.x(w.From), Y: y}, to: vg.Point{X: f.x(w.To), Y: y}}
		beyond := arrowFont().Width(a.id)/2 + 3
		if a.to.X < a.from.X {
			beyond = -beyond
		}
		a.name = vg.Point{X: a.to.X + beyond, Y: y}
		out[i] = a
	}
	return out
}

// area is what a label should not cover: the head, and the name.
func (a arrow) area() vg.Rectangle {
	wide := 2*max(a.name.X-a.to.X, a.to.X-a.name.X) + 2*headLength
	return around(a.to, wide, max(2*headHalf, arrowFont().Height(a.id)))
}

// arrowFont is that of the names: an arrow may pass over the dots of others.
func arrowFont() text.Style {
	style := mapFont(11, "")
	style.XAlign, style.YAlign = text.XCenter, text.YCenter
	return style
}

// drawArrows draws them dark and thin, with a head: so they are told from the spans of
// ratings in grey tones as well.
func drawArrows(c draw.Canvas, arrows []arrow) {
	for _, a := range arrows {
		back := headLength
		if a.to.X < a.from.X {
			back = -headLength
		}
		c.StrokeLine2(draw.LineStyle{Color: ink, Width: 1.4}, a.from.X, a.from.Y, a.to.X-back, a.to.Y)
		c.FillText(arrowFont(), a.name, a.id)
		c.FillPolygon(ink, []vg.Point{a.to, {X: a.to.X - back, Y: a.to.Y + headHalf}, {X: a.to.X - back, Y: a.to.Y - headHalf}})
	}
}

// Describe says the same in words; nothing where nothing has changed.
func (s Since) Describe() string {
	var ways, came []string
	for _, w := range s.Ways {
		ways = append(ways, fmt.Sprintf("%s from %g to %g", w.ID, w.From, w.To))
	}
	for _, a := range s.New {
		came = append(came, a.ID)
	}
	text := ""
	if len(ways) > 0 {
		text += " Evidence that has moved since: " + words.Listed(ways, 12) + "."
	}
	if len(came) > 0 {
		text += " New on the map: " + words.Listed(came, 12) + "."
	}
	return text
}
