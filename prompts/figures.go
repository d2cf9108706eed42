package prompts

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// numberToCall is seven digits or more, with what people put between the
// digits of a telephone or account number. A million is written otherwise.
var numberToCall = regexp.MustCompile(`\p{Nd}(?:[ \-/()]{0,2}\p{Nd}){6,}`)

// figuresFit tells whether a text has only figures that people wrote, all of
// them where that matters, and no number to call.
func (r rules) figuresFit(text string) bool {
	known := figuresOf(strings.Join(r.sent, " "))
	has := figuresOf(text)
	if numberToCall.MatchString(text) || slices.ContainsFunc(has, func(f string) bool { return !slices.Contains(known, f) }) {
		return false
	}
	return !r.figures || !slices.ContainsFunc(figuresOf(strings.Join(r.original, " ")), func(f string) bool {
		return !slices.Contains(has, f)
	})
}

// figuresOf lists the runs of digits of a text; 1,140 is two of them.
func figuresOf(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsDigit(r) })
}
