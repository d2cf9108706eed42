package hints

import (
	"regexp"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// oneSpelling replaces what Unicode does not decompose.
var oneSpelling = strings.NewReplacer("ß", "ss", "æ", "ae", "œ", "oe", "ø", "o", "ł", "l", "đ", "d", "ı", "i",
	"ς", "σ", "ى", "ي", "ة", "ه", "’", "'", "‘", "'", "ʼ", "'", "`", "'")

// fold brings a text to one spelling: lower case, letters without their marks
// in scripts where marks are spelling or stress (Latin, Greek, Cyrillic,
// Hebrew, Arabic), full-width forms narrow, all digits as 0-9, and one kind of
// apostrophe. Marks of other scripts are vowels, and stay.
func fold(s string) string {
	s = strings.ReplaceAll(s, "´", "'") // which decomposes into a space and an accent
	s = oneSpelling.Replace(strings.ToLower(norm.NFKD.String(s)))
	return norm.NFC.String(strings.Map(foldRune, s))
}

func foldRune(r rune) rune {
	switch {
	case r < 0x0700 && unicode.Is(unicode.Mn, r), unicode.Is(unicode.Cf, r), r == 'ـ':
		return -1 // marks of the scripts named above, invisible characters, Arabic stretching
	case r > unicode.MaxASCII && unicode.IsDigit(r):
		value := rune(0) // Unicode keeps the ten digits of a script together
		for unicode.IsDigit(r - value - 1) {
			value++
		}
		return '0' + value%10
	}
	return r
}

var (
	// run is a stretch of a script that is written without spaces, or of Hangul,
	// whose nouns carry particles.
	run = regexp.MustCompile(`[\p{Han}\p{Hiragana}\p{Katakana}\p{Hangul}\p{Thai}\p{Lao}\p{Khmer}\p{Myanmar}ー]+`)

	// wordOrNumber keeps an apostrophe between letters, and a point or comma
	// between digits.
	wordOrNumber = regexp.MustCompile(`\d+(?:[.,]\d+)*|[\p{L}\p{M}ー]+(?:'[\p{L}\p{M}]+)*`)

	// thousands is a separator before exactly three digits.
	thousands = regexp.MustCompile(`[.,](\d{3})\b`)
)

// words splits a text into folded words. Contractions and elisions are taken
// apart, so that "can't" reads as "can not" and "l'eau" as "l eau".
func words(text string) []string {
	var out []string
	for _, w := range wordOrNumber.FindAllString(run.ReplaceAllString(fold(text), " $0 "), -1) {
		out = append(out, plainWords(w)...)
	}
	return out
}

// plainWords are the words that one stands for.
func plainWords(w string) []string {
	if w[0] <= '9' {
		return []string{strings.ReplaceAll(thousands.ReplaceAllString(w, "$1"), ",", ".")}
	}
	if full, ok := contracted[w]; ok {
		return strings.Fields(full)
	}
	if verb, ok := strings.CutSuffix(w, "n't"); ok && verb != "" {
		return []string{verb, "not"}
	}
	return strings.Split(w, "'")
}

// contracted are English contractions that follow no rule or are typed without
// the apostrophe, and number words.
var contracted = map[string]string{
	"cannot": "can not", "cant": "can not", "can't": "can not", "wont": "will not", "won't": "will not",
	"shan't": "shall not", "dont": "do not", "doesnt": "does not", "didnt": "did not", "isnt": "is not",
	"arent": "are not", "wasnt": "was not", "werent": "were not", "couldnt": "could not", "wouldnt": "would not",
	"shouldnt": "should not", "havent": "have not", "hasnt": "has not",
	"two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
	"ten": "10", "eleven": "11", "twelve": "12", "twenty": "20", "thirty": "30", "fifty": "50", "hundred": "100",
}
