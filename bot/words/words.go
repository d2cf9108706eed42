// Package words says what a kickoff holds in short sentences and figures, for
// every form in which people read it: messages, forms, pages, files, a
// terminal. It knows no chat platform, no markup and no layout; those belong
// to screens and report.
//
// Start from three functions:
//
//	Number  a figure, as short as it is exact
//	Clip    a text cut to what a line can hold
//	Count   a number with its noun
//
// What people typed comes back as they typed it, at most clipped. [Harmless]
// makes text safe for a terminal.
package words

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Clip shortens text to at most longest characters, and shows that it did.
func Clip(text string, longest int) string {
	if utf8.RuneCountInString(text) <= longest {
		return text
	}
	runes := []rune(text)
	return strings.TrimRight(string(runes[:longest-1]), " \n\t") + "…"
}

// The marks of Unicode that turn the direction of what follows them.
const (
	firstStrongIsolate = '\u2068'
	popIsolate         = '\u2069'
	directionMarks     = "\u202A\u202B\u202C\u202D\u202E\u2066\u2067\u2068\u2069"
)

// Contained keeps marks of direction in a text from turning what stands
// after it, by setting the text apart (Unicode Standard Annex 9, isolates).
// Nothing of the text is changed.
func Contained(text string) string {
	if !strings.ContainsAny(text, directionMarks) {
		return text
	}
	open, early := 0, 0 // isolates begun and not ended; ends without a beginning
	for _, r := range text {
		switch {
		case r >= '\u2066' && r <= firstStrongIsolate:
			open++
		case r == popIsolate && open > 0:
			open--
		case r == popIsolate:
			early++
		}
	}
	return strings.Repeat(string(firstStrongIsolate), early+1) + text + strings.Repeat(string(popIsolate), open+1)
}

// Count writes a number with its noun: "1 question", "3 questions".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Listed joins words, the first few of many.
func Listed(words []string, most int) string {
	if len(words) <= most {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
}

// FirstOf is the beginning of a list, at most that long.
func FirstOf[T any](all []T, most int) []T { return all[:min(len(all), most)] }

// OneLine takes line breaks out of a text that is shown in a line.
func OneLine(text string) string { return lineBreaks.Replace(text) }

var lineBreaks = strings.NewReplacer("\n", " ", "\r", " ", "\t", " ")

// SentenceCase begins a sentence with a word of ours.
func SentenceCase(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// SentenceEnd ends a sentence that may have an end already.
func SentenceEnd(text string) string {
	if last, _ := utf8.DecodeLastRuneInString(text); strings.ContainsRune(".!?…", last) {
		return text
	}
	return text + "."
}
