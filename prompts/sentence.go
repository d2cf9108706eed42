package prompts

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// LongestSentence is how many characters a drafted sentence has at most.
const LongestSentence = 199

// fewestLetters is what a sentence needs to state anything (our choice): four
// short words, or as much in a script that packs more into a letter.
const (
	fewestLetters        = 12
	fewestRunningLetters = 6
)

// states tells whether a text states something.
func states(text string) bool {
	letters, need := 0, fewestLetters
	for _, r := range text {
		if unicode.IsLetter(r) {
			letters++
		}
	}
	if running(text) {
		need = fewestRunningLetters
	}
	return letters >= need && !asks(text) && !isItem(text)
}

// enders end a sentence in the scripts that mark it.
const (
	enders      = ".!?…‽。！？｡．؟۔।॥։።"
	askers      = "?？؟;\u037e⁇፧՞"
	afterEnders = "\"'”’»)]›“」』）"
)

// asks finds a question mark. A Greek one looks like a semicolon, so those
// count only in Greek.
func asks(text string) bool {
	greek := strings.ContainsFunc(text, func(r rune) bool { return unicode.Is(unicode.Greek, r) })
	return strings.ContainsFunc(text, func(r rune) bool {
		return strings.ContainsRune(askers, r) && (r != ';' || greek)
	})
}

// isItem tells whether a text looks like an entry of a list.
func isItem(text string) bool {
	return strings.HasPrefix(text, "- ") || strings.HasPrefix(text, "– ") || strings.HasPrefix(text, "· ")
}

// sentencesOf parts a text into sentences. Without a mark at its end, the last
// one counts as well. A full stop inside a sentence, as after "approx.", goes
// on in lower case, stands after one letter, or after a known abbreviation.
func sentencesOf(text string) []string {
	var out []string
	runes := []rune(text)
	start := 0
	for i := 0; i < len(runes); i++ {
		if !strings.ContainsRune(enders, runes[i]) {
			continue
		}
		end := skip(runes, skip(runes, i, enders), afterEnders)
		if endsSentence(runes, start, i, end) {
			out = append(out, strings.TrimSpace(string(runes[start:end])))
			start = end
		}
		i = end - 1
	}
	if rest := strings.TrimSpace(string(runes[start:])); rest != "" {
		out = append(out, rest)
	}
	return out
}

// skip gives the first place from i on that is none of the characters.
func skip(runes []rune, i int, characters string) int {
	for i < len(runes) && strings.ContainsRune(characters, runes[i]) {
		i++
	}
	return i
}

// endsSentence decides on the mark at i, after which the text goes on at end.
func endsSentence(runes []rune, start, i, end int) bool {
	next := end
	for next < len(runes) && unicode.IsSpace(runes[next]) {
		next++
	}
	switch {
	case next == len(runes):
		return true
	case next == end && runes[i] < utf8.RuneSelf:
		return false // no space: a decimal point, or a name
	case unicode.IsLower(runes[next]):
		return false
	case runes[i] == '.':
		return !abbreviated(runes[start:i])
	}
	return true
}

// abbreviated tells whether the last word before a full stop is cut short.
func abbreviated(before []rune) bool {
	at := len(before)
	for at > 0 && (unicode.IsLetter(before[at-1]) || before[at-1] == '.') {
		at--
	}
	word := strings.ToLower(string(before[at:]))
	return utf8.RuneCountInString(word) == 1 || strings.Contains(word, ".") || slices.Contains(strings.Fields(abbreviations), word)
}

// abbreviations that a capital letter may follow. From memory; one that is
// missing costs a second attempt.
const abbreviations = `dr mr mrs ms prof st no nr art fig vs approx dept ext min max
	bzw ca evtl ggf inkl usw bspw str sr sra srta dra núm aprox av pl mme m mm rte
	sig dott ing ul al tzw np godz г ул им тыс руб см`
