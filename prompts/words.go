package prompts

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

func isBlank(text string) bool { return strings.TrimSpace(text) == "" }

// notOfWord tells what words do not consist of.
func notOfWord(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsMark(r) && !unicode.IsDigit(r) }

// lower is a text in lower case without what is dropped, and without what is
// not seen.
func lower(text string, dropped ...*unicode.RangeTable) string {
	return norm.NFC.String(strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Cf, r) || unicode.In(r, dropped...) {
			return -1
		}
		return unicode.ToLower(r)
	}, text))
}

// wordsOf are the words of a text in lower case, without accents, points and
// letters dressed up as others, so that none of these hides a word.
func wordsOf(text string) []string {
	return strings.FieldsFunc(lower(norm.NFKD.String(text), unicode.Mn), notOfWord)
}

// packed is a text without what parts its words, for scripts without spaces.
func packed(text string) string { return strings.Join(wordsOf(text), "") }

// runningLetter is one of a script that writes without spaces between words.
const runningLetter = `[\p{Han}\p{Hiragana}\p{Katakana}\p{Thai}\p{Lao}\p{Khmer}\p{Myanmar}]`

var running = regexp.MustCompile(runningLetter).MatchString

// units are the words of a text that have so many letters: the shorter ones
// mostly carry grammar. Words with letters beyond ASCII count from three on,
// and where no spaces part words, pairs of letters stand in for them.
func units(text string, letters int) []string {
	var out []string
	for _, w := range strings.FieldsFunc(lower(text), notOfWord) {
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
	ar, br := []rune(a), []rune(b)
	same, stem := 0, 4
	if unicode.Is(unicode.Hangul, ar[0]) {
		stem = 2
	}
	for same < min(len(ar), len(br)) && ar[same] == br[same] {
		same++
	}
	return a == b || same >= stem && 5*same >= 3*max(len(ar), len(br))
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

// quotedLetters are what a quotation has at least where no spaces part words.
const quotedLetters = 12

// wordOrLetter is a word, or a letter of a script without spaces.
var wordOrLetter = regexp.MustCompile(runningLetter + `|[\p{L}\p{M}\p{Nd}]+`)

// quotes tells whether so many words in a row of a text also stand in another,
// and not in one that everybody may quote.
func quotes(text, other string, n int, free string) bool {
	if running(text) {
		n = quotedLetters
	}
	words, theirs, ours := row(text), " "+strings.Join(row(other), " ")+" ", " "+strings.Join(row(free), " ")+" "
	for i := n; i <= len(words); i++ {
		run := " " + strings.Join(words[i-n:i], " ") + " "
		if strings.Contains(theirs, run) && !strings.Contains(ours, run) {
			return true
		}
	}
	return false
}

func row(text string) []string {
	return wordOrLetter.FindAllString(strings.Join(wordsOf(text), " "), -1)
}

// apart are letters by which two alphabets of one script, the Ukrainian and
// the Russian, are told.
var apart = [2]string{"іїєґ", "ыэёъ"}

// otherScript finds letters of a script or alphabet that the original has not.
// Latin ones are taken anywhere: names and units are written so.
func otherScript(text, original string) bool {
	known := scriptsOf(original)
	for name := range scriptsOf(text) {
		if !known[name] && name != "Latin" {
			return true
		}
	}
	text, original = strings.ToLower(text), strings.ToLower(original)
	has := strings.ContainsAny
	return has(text, apart[0]) && has(original, apart[1]) || has(text, apart[1]) && has(original, apart[0])
}

// scriptsOf names the scripts of a text; kana are one.
func scriptsOf(text string) map[string]bool {
	all := map[string]bool{}
	for name, table := range unicode.Scripts {
		if name != "Common" && strings.ContainsFunc(text, func(r rune) bool { return unicode.IsLetter(r) && unicode.Is(table, r) }) {
			all[strings.Replace(name, "Katakana", "Hiragana", 1)] = true
		}
	}
	return all
}

// sentenceEnd is what ends a sentence, together with what closes behind it.
// Marks of ASCII need a space, since they also stand in figures and names.
var sentenceEnd = regexp.MustCompile(`(?:[.!?]+["'”’»)\]›“」』）]*(?:\s+|$)|[…‽。！？｡．؟۔॥।։።]+["'”’»)\]›“」』）]*\s*)`)

// abbreviated is a word before a full stop that is cut short: one letter, one
// with full stops in it, or one without vowels.
var abbreviated = regexp.MustCompile(`(?i)(?:^|[^\p{L}.])(?:\p{L}|[\p{L}.]+\.\p{L}+|[b-df-hj-np-tv-xz]{2,5})$`)

// sentencesOf parts a text into sentences. Without a mark at its end, the last
// one counts as well. A mark inside a sentence goes on in lower case; a full
// stop may also stand before a figure or after an abbreviation.
func sentencesOf(text string) (out []string) {
	start := 0
	for _, end := range sentenceEnd.FindAllStringIndex(text, -1) {
		next, _ := utf8.DecodeRuneInString(text[end[1]:])
		if unicode.IsLower(next) || text[end[0]] == '.' && (unicode.IsDigit(next) || abbreviated.MatchString(text[start:end[0]])) && end[1] < len(text) {
			continue
		}
		out = append(out, strings.TrimSpace(text[start:end[1]]))
		start = end[1]
	}
	if rest := strings.TrimSpace(text[start:]); rest != "" {
		out = append(out, rest)
	}
	return out
}

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
