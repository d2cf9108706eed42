package prompts

import (
	"maps"
	"slices"
	"strings"
	"unicode"
)

// spaced brings a text to lower-case words with one space between and around
// them, so that phrases can be looked up in it. Everything but letters, their
// marks and digits parts words; "don't" becomes "don t". Vowel points of
// Arabic and Hebrew are left out, since they are optional there.
func spaced(text string) string {
	var b strings.Builder
	b.WriteByte(' ')
	gap := true
	for _, r := range text {
		switch {
		case pointing(r):
		case unicode.IsLetter(r), unicode.IsMark(r), unicode.IsDigit(r):
			b.WriteRune(unicode.ToLower(r))
			gap = false
		case !gap:
			b.WriteByte(' ')
			gap = true
		}
	}
	if !gap {
		b.WriteByte(' ')
	}
	return b.String()
}

// pointing tells the optional marks of Hebrew and Arabic, and what is written
// without being seen.
func pointing(r rune) bool {
	return r >= 0x0591 && r <= 0x05c7 && unicode.IsMark(r) || r >= 0x064b && r <= 0x065f || r == 0x0640 ||
		unicode.Is(unicode.Cf, r)
}

func wordsOf(text string) []string { return strings.Fields(spaced(text)) }

// runningScripts write without spaces between words.
var runningScripts = []*unicode.RangeTable{
	unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar,
}

func running(word string) bool {
	return strings.ContainsFunc(word, func(r rune) bool { return unicode.In(r, runningScripts...) })
}

// meanings are the words of a text that say what it is about: not those of
// grammar, nor the very short. Where no spaces part words, pairs of letters
// stand in for them.
func meanings(text string) []string {
	var out []string
	for _, w := range wordsOf(text) {
		runes := []rune(w)
		switch {
		case running(w):
			for i := range len(runes) - 1 {
				out = append(out, string(runes[i:i+2]))
			}
		case len(runes) > 2 && !isGrammar(w):
			out = append(out, w)
		}
	}
	return out
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
	for same < min(len(ar), len(br)) && ar[same] == br[same] {
		same++
	}
	if unicode.Is(unicode.Hangul, ar[0]) {
		stem = 2
	}
	return same >= stem && 5*same >= 3*max(len(ar), len(br))
}

// coverage is the share, 0 to 1, of words that have their like among others.
func coverage(words, others []string) float64 {
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

// A phrasebook is phrases in several languages. Some words mean something
// else in another language ("du" is German for you, and French for of the):
// those count only where the text seems to be in theirs.
type phrasebook struct {
	sure []string            // as spaced writes them, or parts of words
	own  map[string][]string // by language
}

// phrases reads a list: a line for each language, "code: phrase, phrase, …".
// A phrase after ? counts only in its language; one after ~ also inside words.
func phrases(list string) phrasebook {
	book := phrasebook{own: map[string][]string{}}
	for line := range strings.Lines(list) {
		code, rest, _ := strings.Cut(strings.TrimSpace(line), ":")
		for entry := range strings.SplitSeq(rest, ",") {
			entry = strings.TrimSpace(entry)
			if own, ok := strings.CutPrefix(entry, "?"); ok {
				book.own[code] = append(book.own[code], spaced(own))
			} else if inner, ok := strings.CutPrefix(entry, "~"); ok {
				book.sure = append(book.sure, strings.TrimSpace(spaced(inner)))
			} else if entry != "" {
				book.sure = append(book.sure, spaced(entry))
			}
		}
	}
	return book
}

// in tells whether one of the phrases stands in the text.
func (b phrasebook) in(text string) bool {
	words := spaced(text)
	return slices.ContainsFunc(b.of(text), func(phrase string) bool { return strings.Contains(words, phrase) })
}

// starts tells whether the text, or a part of it after a full stop, colon,
// semicolon, dash or bracket, starts with one of the phrases.
func (b phrasebook) starts(text string) bool {
	phrases := b.of(text)
	return slices.ContainsFunc(strings.FieldsFunc(text, partsClauses), func(clause string) bool {
		words := strings.TrimLeft(spaced(clause), " ")
		return slices.ContainsFunc(phrases, func(phrase string) bool {
			return strings.HasPrefix(words, strings.TrimLeft(phrase, " "))
		})
	})
}

func partsClauses(r rune) bool {
	return strings.ContainsRune(";:–—(.!?：；（。！？؛،؟।", r)
}

// foreignTo finds a phrase in the text that none of the others holds.
func (b phrasebook) foreignTo(text string, others []string) bool {
	words, known := spaced(text), spaced(strings.Join(others, " . "))
	return slices.ContainsFunc(b.of(text), func(phrase string) bool {
		return strings.Contains(words, phrase) && !strings.Contains(known, phrase)
	})
}

// of gives the phrases that count in a text: with those of its language; with
// those of all, when nothing tells the language.
func (b phrasebook) of(text string) []string {
	all := slices.Clone(b.sure)
	codes := languagesOf(text)
	if len(codes) == 0 {
		codes = slices.Collect(maps.Keys(b.own))
	}
	for _, code := range codes {
		all = append(all, b.own[code]...)
	}
	return all
}

// hasStart tells whether a text has a word that starts with one of the list.
func hasStart(text string, list []string) bool {
	words := spaced(text)
	return slices.ContainsFunc(list, func(w string) bool { return strings.Contains(words, strings.TrimRight(spaced(w), " ")) })
}

// hasWord tells whether a text has one of the words, or its plural in -s;
// several words in a row may stand for one.
func hasWord(text string, list []string) bool {
	words := spaced(text)
	return slices.ContainsFunc(list, func(w string) bool {
		return strings.Contains(words, spaced(w)) || strings.Contains(words, spaced(w+"s"))
	})
}

// partOfWord tells what words consist of.
func partOfWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsMark(r) || unicode.IsDigit(r) }
