package prompts

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// punctuation that a plain sentence may hold, of all scripts. What is missing
// does work somewhere: it mentions, links, marks up, or commands.
const punctuation = `.,;:!?'"()-–—/%&+` + "’‘‚“”„«»‹›…‑·¿¡€£$¥₹°№‰×−" + "。、，．：；！？（）「」『』《》〈〉【】・〜％" + "؟،؛۔٪" + "।॥" + "׳״־" + "՝՛։՞" + "።፣፤"

// spaces that a plain sentence may hold: the ordinary one, those that keep
// French punctuation on the line, and the wide one.
const spaces = " \u00a0\u202f\u3000"

// ordinaryCharacters tells whether a text is letters, digits and ordinary
// punctuation, each as it seems: no control characters, no change of writing
// direction, nothing unseen, no letters dressed up as others, no code.
func ordinaryCharacters(text string, sent []string) bool {
	runes := []rune(text)
	for i, r := range runes {
		if !ordinary(r) && !joins(runes, i) {
			return false
		}
	}
	return !piledUp.MatchString(text) && !markup.MatchString(text) && !strayMarks(text, sent) && !shouts(text) &&
		!slices.ContainsFunc(strings.FieldsFunc(text, func(r rune) bool { return !partOfWord(r) }), strange)
}

func ordinary(r rune) bool {
	switch {
	case disguised(r):
		return false
	case unicode.IsLetter(r), unicode.IsMark(r), unicode.IsDigit(r):
		return true
	}
	return strings.ContainsRune(punctuation, r) || strings.ContainsRune(spaces, r)
}

// phonetic letters look like others, and no spelling here needs them.
var phonetic = &unicode.RangeTable{R16: []unicode.Range16{{Lo: 0x0250, Hi: 0x02b9, Stride: 1}, {Lo: 0x02bd, Hi: 0x02ff, Stride: 1}, {Lo: 0x1d00, Hi: 0x1dbf, Stride: 1}}}

// disguised tells letters that stand for others, such as wide, mathematical,
// phonetic and raised ones, and marks that are not seen.
func disguised(r rune) bool {
	if unicode.In(r, phonetic, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point) {
		return true
	}
	return unicode.IsLetter(r) && norm.NFKD.String(string(r)) != norm.NFD.String(string(r))
}

// joins tells a joiner where it is spelling: between letters of Arabic and of
// Indic scripts.
func joins(runes []rune, i int) bool {
	if runes[i] != '\u200c' && runes[i] != '\u200d' || i == 0 || i == len(runes)-1 {
		return false
	}
	return unicode.In(runes[i-1], joining...) && unicode.In(runes[i+1], joining...)
}

var joining = []*unicode.RangeTable{unicode.Arabic, unicode.Devanagari, unicode.Bengali, unicode.Gujarati, unicode.Gurmukhi,
	unicode.Kannada, unicode.Malayalam, unicode.Oriya, unicode.Sinhala, unicode.Tamil, unicode.Telugu}

// piledUp finds letters under more marks than any spelling has.
var piledUp = regexp.MustCompile(`\p{M}{4}`)

// strayMarks finds marks that are combined with Latin, Greek or Cyrillic
// letters where nobody wrote that way.
func strayMarks(text string, sent []string) bool {
	combining := func(r rune) bool { return r >= 0x0300 && r <= 0x036f }
	return strings.ContainsFunc(text, combining) && !strings.ContainsFunc(strings.Join(sent, ""), combining)
}

// shouts tells whether most of a text is in capitals.
func shouts(text string) bool {
	upper, lower := 0, 0
	for _, r := range text {
		switch {
		case unicode.IsUpper(r):
			upper++
		case unicode.IsLower(r):
			lower++
		}
	}
	return upper > lower && upper >= 8
}

// longestWord is the longest that is taken for one, in letters. Compounds of
// German and Finnish stay below.
const longestWord = 45

// coded is letters and digits in one word of some length.
var coded = regexp.MustCompile(`^(?:\p{L}+\p{Nd}|\p{Nd}+\p{L})[\p{L}\p{Nd}]*$`)

// alike are alphabets with letters that look the same.
var alike = []*unicode.RangeTable{unicode.Latin, unicode.Greek, unicode.Cyrillic, unicode.Armenian, unicode.Cherokee}

// strange finds a word that is none: letters of several alphabets, a key, an
// id, or encoded text.
func strange(word string) bool {
	alphabets, n := 0, utf8.RuneCountInString(word)
	for _, a := range alike {
		if strings.ContainsFunc(word, func(r rune) bool { return unicode.Is(a, r) }) {
			alphabets++
		}
	}
	return alphabets > 1 || !running(word) && (n > longestWord || n >= 10 && coded.MatchString(word))
}

// markup is what chat platforms turn into something else: names of emoji
// between colons, commands after a slash, character references.
var markup = regexp.MustCompile(`:[\p{L}\p{Nd}+-]+:|(?:^|\s)/\p{L}|&#?[\p{L}\p{Nd}]+;|//`)
