package engine

import (
	"strings"
	"unicode"
)

// Letters of a word that tell it from others; what follows is mostly
// inflection. Cutting words short is a plain stemmer that does fairly well in
// many European languages (McNamee P. & Mayfield J. 2004, Information
// Retrieval 7, 73-97, from memory, for stretches of 4 or 5 letters).
const (
	stemLetters   = 6
	stemSyllables = 2 // Hangul: nouns are mostly two syllables, then particles
)

// stem cuts the inflection off a word, roughly: English endings by rule, and
// then whatever is beyond the first letters.
func stem(w word) []rune {
	switch {
	case w.kind == wordSyllables:
		return w.runes[:min(len(w.runes), stemSyllables)]
	case w.kind != wordLetters:
		return w.runes
	case unicode.Is(unicode.Arabic, w.runes[0]):
		return bareArabic(w.runes)
	}
	s := w.runes
	if unicode.Is(unicode.Latin, s[0]) {
		s = bareLatin(s)
	}
	return s[:min(len(s), stemLetters)]
}

// latinEndings are cut off where three letters remain, the first that fits,
// and replaced by what follows the colon.
var latinEndings = []struct{ end, mend string }{
	{"ies", "i"}, {"sses", "ss"}, {"ches", "ch"}, {"shes", "sh"}, {"xes", "x"},
	{"ing", ""}, {"ied", "i"}, {"ed", ""}, {"er", ""}, {"en", ""}, {"es", ""},
	{"ss", "ss"}, {"us", "us"}, {"is", "is"}, {"s", ""}, {"y", "i"}, {"e", ""},
}

// bareLatin cuts the endings of English words, and the commonest of its
// neighbours, then one of two equal letters at the end: planned, plan.
func bareLatin(s []rune) []rune {
	const least = 3
	for _, e := range latinEndings {
		cut := len(s) - len(e.end)
		if cut >= least && strings.HasSuffix(string(s), e.end) {
			s = append(s[:cut:cut], []rune(e.mend)...)
			break
		}
	}
	if n := len(s); n > least && s[n-1] == s[n-2] {
		s = s[:n-1]
	}
	return s
}

// bareArabic cuts the article off, and all beyond the first letters.
func bareArabic(s []rune) []rune {
	if len(s) > 4 && s[0] == 'ا' && s[1] == 'ل' {
		s = s[2:]
	}
	return s[:min(len(s), stemLetters)]
}
