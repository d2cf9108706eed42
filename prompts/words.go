package prompts

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"soundings/flows/hints"

	"golang.org/x/text/unicode/norm"
)

// partOfWord tells what words consist of.
func partOfWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsMark(r) || unicode.IsDigit(r) }

// wordsOf are the words of a text in lower case. Everything but letters, marks and digits parts words; what is not
// seen does not.
func wordsOf(text string) []string {
	return strings.FieldsFunc(without(norm.NFC.String(text), unicode.Cf), func(r rune) bool { return !partOfWord(r) })
}

// folded is a text without accents, points, and letters dressed up as others,
// so that none of these hides a word.
func folded(text string) string { return without(norm.NFKD.String(text), unicode.Mn, unicode.Cf) }

func without(text string, dropped ...*unicode.RangeTable) string {
	return strings.Map(func(r rune) rune {
		if unicode.In(r, dropped...) {
			return -1
		}
		return unicode.ToLower(r)
	}, text)
}

// packed is a text without what parts its words, for scripts without spaces.
func packed(text string) string { return strings.Join(wordsOf(text), "") }

// runningScripts write without spaces between words.
var runningScripts = []*unicode.RangeTable{
	unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar,
}

func running(word string) bool {
	return strings.ContainsFunc(word, func(r rune) bool { return unicode.In(r, runningScripts...) })
}

// meanings are the words of a text, each once, that have so many letters: the
// shorter ones mostly carry grammar. Words with letters beyond ASCII count from
// three on, and where no spaces part words, pairs of letters stand in for them.
func meanings(text string, letters int) []string {
	var out []string
	for _, w := range wordsOf(text) {
		runes := []rune(w)
		switch {
		case running(w):
			for i := range len(runes) - 1 {
				out = append(out, string(runes[i:i+2]))
			}
		case len(runes) >= letters, len(runes) > 2 && len(w) > len(runes):
			out = append(out, w)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// akin tells whether two words have a stem in common: they start with the
// same letters, and differ only in what may be an ending. Four letters make a
// stem, two in Korean, where a letter is a syllable.
func akin(a, b string) bool {
	if a == b {
		return true
	}
	ar, br := []rune(a), []rune(b)
	same, stem := 0, 4
	if unicode.Is(unicode.Hangul, ar[0]) {
		stem = 2
	}
	for same < min(len(ar), len(br)) && ar[same] == br[same] {
		same++
	}
	return same >= stem && 5*same >= 3*max(len(ar), len(br))
}

// share is the part, 0 to 1, of some words that have their like among others.
func share(words, others []string) float64 {
	if len(words) == 0 {
		return 0
	}
	found := 0
	for _, w := range words {
		if slices.ContainsFunc(others, func(o string) bool { return akin(w, o) }) {
			found++
		}
	}
	return float64(found) / float64(len(words))
}

// quotedLetters are what a quotation has at least. It counts where the words
// of a script are not told apart, and each letter is a word.
const quotedLetters = 12

// quotes tells whether so many words in a row of a text also stand in another,
// and in none of those that everybody may quote.
func quotes(text, other string, n int, free ...string) bool {
	words, theirs, ours := lettered(text), strings.Join(lettered(other), " ")+" ", strings.Join(lettered(strings.Join(free, " ")), " ")+" "
	for i := range words {
		run, letters := "", 0
		for j, w := range words[i:] {
			run, letters = run+w+" ", letters+utf8.RuneCountInString(w)
			if j+1 >= n && letters >= quotedLetters {
				if strings.Contains(" "+theirs, " "+run) && !strings.Contains(" "+ours, " "+run) {
					return true
				}
				break
			}
		}
	}
	return false
}

// lettered are the words of a text, and each letter of a script without
// spaces by itself.
func lettered(text string) (out []string) {
	for _, w := range wordsOf(text) {
		if running(w) {
			out = append(out, strings.Split(w, "")...)
		} else {
			out = append(out, w)
		}
	}
	return out
}

// sameLanguage tells whether a text seems to be in the language of the
// original. It knows no language: a text in the same script and alphabet that
// has a word of the material, or is like it, passes.
func sameLanguage(text, original, about string) bool {
	return !otherScript(text, original) && !otherAlphabet(text, original) &&
		(share(lettered(text), lettered(about)) > 0 || hints.Similarity(text, about) >= likeness)
}

// otherScript finds letters of a script that the original has not. Latin ones
// are taken anywhere: names and units are written so.
func otherScript(text, original string) bool {
	known := scriptsOf(original)
	for name := range scriptsOf(text) {
		if !known[name] && name != "Latin" {
			return true
		}
	}
	return false
}

// scriptsOf names the scripts of a text; kana are one.
func scriptsOf(text string) map[string]bool {
	all := map[string]bool{}
	for name, table := range unicode.Scripts {
		if strings.ContainsFunc(text, func(r rune) bool { return unicode.IsLetter(r) && unicode.Is(table, r) }) {
			all[strings.Replace(name, "Katakana", "Hiragana", 1)] = true
		}
	}
	return all
}

// apart are letters by which alphabets of one script are told: whoever has one
// of a row has none of the other.
var apart = [][2]string{{"іїєґ", "ыэёъ"}, {"ыэёъ", "іїєґ"}}

// otherAlphabet finds a text in another alphabet than the original's, such as
// Ukrainian for Russian.
func otherAlphabet(text, original string) bool {
	return slices.ContainsFunc(apart, func(row [2]string) bool {
		return strings.ContainsAny(strings.ToLower(text), row[0]) && strings.ContainsAny(strings.ToLower(original), row[1])
	})
}
