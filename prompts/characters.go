package prompts

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// What a plain sentence may hold beside letters, digits and punctuation: signs
// of measures and money, the ordinary space, those that keep French
// punctuation on the line, and the wide one.
const ordinarySigns = "+°№×− \u00a0\u202f\u3000"

// Punctuation that does work somewhere: it mentions, links, marks up, or commands.
const workingMarks = `@#*_\[]{}` + "†‡§¶※"

// phonetic letters look like others, and no spelling here needs them.
var phonetic = &unicode.RangeTable{R16: []unicode.Range16{{Lo: 0x0250, Hi: 0x02b9, Stride: 1}, {Lo: 0x02bd, Hi: 0x02ff, Stride: 1}, {Lo: 0x1d00, Hi: 0x1dbf, Stride: 1}}}

// combining marks stand on Latin, Greek or Cyrillic letters; they pass only
// where somebody wrote that way.
var combining = regexp.MustCompile(`[\x{300}-\x{36f}]`)

// isStrange tells whether a text holds anything but letters, digits and
// ordinary punctuation, each as it seems: a control character, a change of
// writing direction, something unseen, letters dressed up as others, or code.
func (w wording) isStrange() bool {
	runes := []rune(w.text)
	for i, r := range runes {
		if !ordinary(r) && !joins(runes, i) {
			return true
		}
	}
	return combining.MatchString(w.text) && !combining.MatchString(strings.Join(w.sent(), "")) ||
		markup.MatchString(w.text) || unreadable.MatchString(w.text) || slices.ContainsFunc(strings.FieldsFunc(w.text, notOfWord), isMixed)
}

// ordinary is no letter that stands for another, such as wide, mathematical
// and raised ones, no mark that is not seen, and no sign that does work.
func ordinary(r rune) bool {
	plain := norm.NFKD.String(string(r))
	switch {
	case unicode.In(r, phonetic, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point), strings.ContainsAny(plain, workingMarks):
		return false
	case unicode.IsLetter(r):
		return plain == norm.NFD.String(string(r))
	}
	return unicode.In(r, unicode.M, unicode.Nd, unicode.P, unicode.Sc) || strings.ContainsRune(ordinarySigns, r)
}

// joins tells a joiner where it is spelling: between letters of scripts that
// have no capitals.
func joins(runes []rune, i int) bool {
	return (runes[i] == '\u200c' || runes[i] == '\u200d') && i > 0 && i < len(runes)-1 &&
		unicode.In(runes[i-1], unicode.Lo, unicode.M) && unicode.Is(unicode.Lo, runes[i+1])
}

// markup is what chat platforms turn into something else: names of emoji
// between colons, commands after a slash, character references.
// unreadable is more marks, capitals or letters in a row than any spelling has
// (compounds of German and Finnish stay below), and words of letters and
// figures by turns, as in keys and ids.
var (
	markup     = regexp.MustCompile(`:[\p{L}\p{Nd}+-]+:|(?:^|\s)/\p{L}|&#?[\p{L}\p{Nd}]+;|//`)
	unreadable = regexp.MustCompile(`\p{M}{4}|(?:\p{Lu}\P{Ll}*){12}|[\p{Lu}\p{Ll}\p{Nd}]{46}|(?:[\p{Lu}\p{Ll}]+\p{Nd}+){2}`)
)

// isMixed finds a word with letters of several alphabets, which may look alike.
func isMixed(word string) bool { return !running(word) && len(scriptsOf(word)) > 1 }
