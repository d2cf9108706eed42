package hints

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Halves are the statements that text seems to hold, where those are two or
// more: pieces of it to start from, not sentences to be used as they are. It
// is a guess from the surface; where in doubt there are none.
func Halves(text string) []string {
	if parts := sentences(text); len(parts) > 1 {
		for i := range parts {
			parts[i] = closed(parts[i])
		}
		return parts
	}
	for _, l := range spoken {
		if at, ok := l.joins(lowerWords(text)); ok {
			word := clauseWord.FindAllStringIndex(text, at+1)[at]
			before, after := text[:word[0]], text[word[1]:]
			return []string{closed(strings.TrimRight(strings.TrimSpace(before), ",")), closed(after)}
		}
	}
	return nil
}

// closed is a piece of text as a sentence: with a capital and a full stop.
func closed(piece string) string {
	piece = strings.TrimSpace(piece)
	if first, size := utf8.DecodeRuneInString(piece); size > 0 {
		piece = string(unicode.ToUpper(first)) + piece[size:]
	}
	if last, _ := utf8.DecodeLastRuneInString(piece); unicode.IsLetter(last) || unicode.IsDigit(last) {
		piece += "."
	}
	return piece
}

// clauseWord is a word as languages.txt has it, apostrophes kept.
var clauseWord = regexp.MustCompile(`[\p{L}\p{M}\p{Nd}'’]+`)

// lowerWords are the words of a text as the lists have them.
func lowerWords(text string) []string {
	words := clauseWord.FindAllString(strings.ToLower(text), -1)
	for i, w := range words {
		words[i] = strings.ReplaceAll(w, "’", "'")
	}
	return words
}

// shortClause is how many words a statement has at least.
const shortClause = 3

// joins finds a joining word that has a clause on both of its sides: "the crew
// can count and the deck is open", but not "fast and cheap ferries are wanted".
// A clause inside another one makes that hard to tell, so then there is none.
func (l *language) joins(words []string) (at int, ok bool) {
	has := func(part []string, list string) bool {
		return slices.ContainsFunc(part, func(w string) bool { return l.has(list, w) })
	}
	for i, w := range words {
		before, after := words[:i], words[i+1:]
		if !l.has("joining", w) || len(before) < shortClause || len(after) < shortClause {
			continue
		}
		if has(before, "inside") || has(after[:1], "inside") {
			continue
		}
		clause := after // up to one inside it
		if end := slices.IndexFunc(after, func(w string) bool { return l.has("inside", w) }); end >= 0 {
			clause = after[:end]
		}
		if l.has("subjects", after[0]) || has(before, "verbs") && has(clause, "verbs") {
			return i, true
		}
	}
	return 0, false
}

// sentenceEnd is a mark that parts two statements, or a full stop after a word
// of three letters or more, which is no abbreviation, and before a capital.
var sentenceEnd = regexp.MustCompile(`[;。！!؛।]|[\p{L}\p{M}\p{Nd}]{3}(\.)\s[^\p{Ll}]`)

// sentences splits text into statements of three words or more.
func sentences(text string) []string {
	var parts []string
	start := 0
	add := func(s string) {
		if len(lowerWords(s)) >= shortClause {
			parts = append(parts, s)
		}
	}
	for _, m := range sentenceEnd.FindAllStringSubmatchIndex(text, -1) {
		end, next := m[0], m[1]
		if m[2] >= 0 {
			end, next = m[2], m[3]
		}
		add(text[start:end])
		start = next
	}
	add(text[start:])
	return parts
}
