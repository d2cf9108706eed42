package chart

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"soundings/bot/words"
	"soundings/engine"
)

// Below the map stand the first assumptions in words, so that a picture that is
// passed on still says what its labels stand for.

const (
	mostSentences  = 3
	sentenceSize   = vg.Length(14)
	sentenceLine   = vg.Length(18)
	sentencesMost  = 2 // lines of each
	sentencesBelow = vg.Length(8)
)

// sentences are the lines that stand below the map of r.
func sentences(r engine.Result) []string {
	style := mapFont(sentenceSize, "")
	var lines []string
	for _, a := range inTestOrder(r) {
		if len(lines) >= mostSentences*sentencesMost || a.Rank > mostSentences || a.Zone != engine.TestFirst || a.Statement == "" {
			break
		}
		lines = append(lines, wrapped(style, fmt.Sprintf("%d. %s: %s", a.Rank, a.ID, words.HarmlessLine(a.Statement)), mapWidth-30)...)
	}
	return lines
}

func sentencesHeight(r engine.Result) vg.Length {
	n := len(sentences(r))
	if n == 0 {
		return 0
	}
	return vg.Length(n)*sentenceLine + sentencesBelow
}

func drawSentences(c draw.Canvas, r engine.Result) {
	style := mapFont(sentenceSize, "")
	style.XAlign, style.YAlign = text.XLeft, text.YTop
	y := c.Max.Y
	for _, line := range sentences(r) {
		c.FillText(style, vg.Point{X: c.Min.X, Y: y}, line)
		y -= sentenceLine
	}
}

// wrapped breaks a text into at most sentencesMost lines of a width, and cuts
// what is left.
func wrapped(style text.Style, all string, width vg.Length) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(all) {
		with := strings.TrimSpace(line + " " + word)
		switch {
		case style.Width(with) <= width:
			line = with
		case line == "" || len(lines) == sentencesMost-1:
			return append(lines, cut(style, with, width))
		default:
			lines, line = append(lines, line), cut(style, word, width)
		}
	}
	return append(lines, line)
}

// cut shortens a line until it fits.
func cut(style text.Style, line string, width vg.Length) string {
	if style.Width(line) <= width {
		return line
	}
	runes := []rune(line)
	for len(runes) > 0 && style.Width(string(runes)+"…") > width {
		runes = runes[:len(runes)-1]
	}
	return strings.TrimSpace(string(runes)) + "…"
}
