package engine

import (
	"slices"
	"unicode"
)

// unspaced are the scripts that are written without spaces between words.
var unspaced = []*unicode.RangeTable{unicode.Han, unicode.Hiragana, unicode.Katakana,
	unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar}

// A wordKind is how the letters of a word are to be read.
type wordKind int

const (
	wordLetters   wordKind = iota
	wordSyllables          // Hangul: spaced, a syllable to a letter
	wordRunning            // a stretch of a script without spaces
	wordNumber
)

// A word is a stretch of letters of one kind, folded.
type word struct {
	runes []rune
	kind  wordKind
}

func (w word) String() string { return string(w.runes) }

// words splits a folded sentence. Contractions are taken apart, so that "can't"
// reads as "can not", and figures are read as one number each.
func words(folded []rune) []word {
	var out []word
	for i := 0; i < len(folded); {
		kind, ok := kindOf(folded[i])
		if !ok {
			i++
			continue
		}
		end := wordEnd(folded, i, kind)
		out = appendWord(out, word{folded[i:end], kind})
		i = end
	}
	return out
}

// kindOf tells what kind of word r begins, if any.
func kindOf(r rune) (wordKind, bool) {
	switch {
	case unicode.IsDigit(r):
		return wordNumber, true
	case r <= unicode.MaxASCII:
		return wordLetters, unicode.IsLetter(r)
	case unicode.In(r, unspaced...) || r == 'ー':
		return wordRunning, true
	case unicode.Is(unicode.Hangul, r):
		return wordSyllables, true
	}
	return wordLetters, unicode.IsLetter(r) || unicode.IsMark(r)
}

// wordEnd finds the end of the word that begins at i. An apostrophe between
// letters, and a point or comma between digits, belong to the word.
func wordEnd(s []rune, i int, kind wordKind) int {
	for i++; i < len(s); i++ {
		if k, ok := kindOf(s[i]); ok && k == kind {
			continue
		}
		if i+1 == len(s) || !joins(s[i], kind) {
			return i
		}
		if k, ok := kindOf(s[i+1]); !ok || k != kind {
			return i
		}
	}
	return i
}

func joins(r rune, kind wordKind) bool {
	return kind == wordLetters && r == '\'' || kind == wordNumber && (r == '.' || r == ',')
}

// appendWord adds w, or the words that it stands for.
func appendWord(out []word, w word) []word {
	switch w.kind {
	case wordNumber:
		return append(out, word{plainNumber(w.runes), wordNumber})
	case wordLetters:
		return append(out, plainWords(w.runes)...)
	}
	return append(out, w)
}

// plainNumber drops the separators of thousands, which stand before three
// digits, and writes the decimal one as a point.
func plainNumber(s []rune) []rune {
	var out []rune
	for i, r := range s {
		switch {
		case unicode.IsDigit(r):
			out = append(out, r)
		case digitsFrom(s[i+1:]) != 3:
			out = append(out, '.')
		}
	}
	return out
}

func digitsFrom(s []rune) int {
	n := 0
	for n < len(s) && unicode.IsDigit(s[n]) {
		n++
	}
	return n
}

// contracted are English contractions as people type them on a phone, and
// number words, with what they stand for. Those with n't follow a rule.
var contracted = map[string][]string{
	"cannot": {"can", "not"}, "cant": {"can", "not"}, "can't": {"can", "not"},
	"wont": {"will", "not"}, "won't": {"will", "not"}, "shan't": {"shall", "not"},
	"dont": {"do", "not"}, "doesnt": {"does", "not"}, "didnt": {"did", "not"},
	"isnt": {"is", "not"}, "arent": {"are", "not"}, "wasnt": {"was", "not"},
	"werent": {"were", "not"}, "couldnt": {"could", "not"}, "wouldnt": {"would", "not"},
	"shouldnt": {"should", "not"}, "havent": {"have", "not"}, "hasnt": {"has", "not"},
	"two": {"2"}, "three": {"3"}, "four": {"4"}, "five": {"5"}, "six": {"6"},
	"seven": {"7"}, "eight": {"8"}, "nine": {"9"}, "ten": {"10"}, "eleven": {"11"},
	"twelve": {"12"}, "twenty": {"20"}, "thirty": {"30"}, "fifty": {"50"}, "hundred": {"100"},
}

// plainWords takes a contraction apart, and an elision: l'eau is l and eau.
func plainWords(w []rune) []word {
	if plain, ok := contracted[string(w)]; ok {
		var out []word
		for _, p := range plain {
			kind, _ := kindOf([]rune(p)[0])
			out = append(out, word{[]rune(p), kind})
		}
		return out
	}
	at := slices.Index(w, '\'')
	switch {
	case at < 0:
		return []word{{w, wordLetters}}
	case string(w[at:]) == "'t" && w[at-1] == 'n' && at > 1:
		return []word{{w[:at-1], wordLetters}, {[]rune("not"), wordLetters}}
	}
	return append([]word{{w[:at], wordLetters}}, plainWords(w[at+1:])...)
}
