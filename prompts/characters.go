package prompts

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
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
	return !piledUp(runes) && !mixedWord(text) && !strayMarks(text, sent) && !shouts(text) &&
		!looksCoded(text) && !markup.MatchString(text)
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

// disguised tells letters that stand for others: wide Latin, mathematical,
// letter-like, phonetic and raised ones, and marks that are not seen. The two
// modifier letters that pass are apostrophes in several languages.
func disguised(r rune) bool {
	switch {
	case r == 'ʻ', r == 'ʼ':
		return false
	case r >= 'Ａ' && r <= 'ｚ', r >= 0x1d400 && r <= 0x1d7ff, r >= 0x2100 && r <= 0x214f,
		r >= 0x1d00 && r <= 0x1dbf, r >= 0x02b0 && r <= 0x02ff, r >= 0x0250 && r <= 0x02af,
		r >= 0xfe00 && r <= 0xfe0f, r >= 0xe0000 && r <= 0xe01ef, r == 0x034f, r == 0x115f, r == 0x1160, r == 0x3164, r == 0xffa0:
		return true
	}
	return false
}

// joins tells a joiner where it is spelling: between letters of Arabic and of
// Indic scripts.
func joins(runes []rune, i int) bool {
	if runes[i] != '\u200c' && runes[i] != '\u200d' || i == 0 || i == len(runes)-1 {
		return false
	}
	return joining(runes[i-1]) && joining(runes[i+1])
}

func joining(r rune) bool {
	return unicode.In(r, unicode.Arabic, unicode.Devanagari, unicode.Bengali, unicode.Gujarati, unicode.Gurmukhi,
		unicode.Kannada, unicode.Malayalam, unicode.Oriya, unicode.Sinhala, unicode.Tamil, unicode.Telugu)
}

// mostMarks is how many marks in a row a letter carries in any spelling.
const mostMarks = 3

// piledUp finds letters under a heap of marks.
func piledUp(runes []rune) bool {
	marks := 0
	for _, r := range runes {
		if !unicode.IsMark(r) {
			marks = 0
		} else if marks++; marks > mostMarks {
			return true
		}
	}
	return false
}

// strayMarks finds marks that are combined with Latin, Greek or Cyrillic
// letters where nobody wrote that way: they hide a word from a list of words.
func strayMarks(text string, sent []string) bool {
	combining := func(r rune) bool { return r >= 0x0300 && r <= 0x036f }
	return strings.ContainsFunc(text, combining) && !strings.ContainsFunc(strings.Join(sent, ""), combining)
}

// mixedWord finds a word of letters that look alike in several alphabets.
func mixedWord(text string) bool {
	alike := []*unicode.RangeTable{unicode.Latin, unicode.Greek, unicode.Cyrillic, unicode.Armenian, unicode.Cherokee}
	return slices.ContainsFunc(wordsOf(text), func(w string) bool {
		kinds := 0
		for _, alphabet := range alike {
			if strings.ContainsFunc(w, func(r rune) bool { return unicode.Is(alphabet, r) }) {
				kinds++
			}
		}
		return kinds > 1
	})
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

// looksCoded finds words that are no words: keys, ids, encoded text.
func looksCoded(text string) bool {
	return slices.ContainsFunc(wordsOf(text), func(w string) bool {
		n := len([]rune(w))
		return !running(w) && (n > longestWord || n >= 10 && coded.MatchString(w))
	})
}

// markup is what chat platforms turn into something else: names of emoji
// between colons, commands after a slash, character references.
var markup = regexp.MustCompile(`:[\p{L}\p{Nd}+-]+:|(?:^|\s)/\p{L}|&#?[\p{L}\p{Nd}]+;|//`)
