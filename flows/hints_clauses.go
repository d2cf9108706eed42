package flows

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A clauseLanguage holds the few words by which two clauses joined into one
// sentence can be told from two things joined into one clause: "the crew can
// count and the deck is open", but not "fast and cheap ferries are wanted".
type clauseLanguage struct {
	joining  []string // words that join two clauses
	verbs    []string // short verbs that only a clause has
	subjects []string // pronouns that begin a clause
	inside   []string // words that put one clause inside another: then nothing is said
}

func clauseLanguages() []clauseLanguage {
	list := strings.Fields
	return []clauseLanguage{
		{list("and but"),
			list("is are was were will would can could has have do does should must may might cannot can't won't don't doesn't isn't aren't"),
			list("they we it he she you i there"),
			list("who which that if when whether because while as where what why how than so until unless between both")},
		{list("und aber"),
			list("ist sind war waren wird werden kann können hat haben soll sollen muss müssen würde würden will wollen braucht brauchen"),
			list("sie wir es er ich man"),
			list("dass wenn weil ob obwohl während damit wer was wo wie als bevor sowohl zwischen")},
		{list("et mais"),
			list("est sont sera seront ont peut peuvent va vont doit doivent veut veulent serait seraient pourrait pourraient"),
			list("ils elles il elle on nous vous je"),
			list("qui que si quand lorsque parce dont où comme entre car")},
		{list("y pero"),
			list("es son está están hay tiene tienen puede pueden va van debe deben será serán quiere quieren"),
			list("ellos ellas él ella nosotros nosotras"),
			list("que si cuando porque quien quienes donde como entre")},
		{list("e mas"),
			list("é são está estão há tem têm pode podem vai vão deve devem será serão quer querem"),
			list("eles elas ele ela nós"),
			list("que se quando porque quem onde como entre")},
		{list("e ed ma"),
			list("è sono ha hanno può possono va vanno deve devono sarà saranno vuole vogliono"),
			list("loro lui lei noi essi"),
			list("che se quando perché chi dove come tra fra")},
		{list("en maar"),
			list("is zijn heeft hebben kan kunnen zal zullen moet moeten wil willen wordt worden"),
			list("ze zij wij we het hij"),
			list("dat als wanneer omdat of die wie waar tussen zowel")},
	}
}

// isTwoBeliefs reports whether text seems to hold two statements: two
// sentences, or two clauses that a word or a semicolon joins.
func isTwoBeliefs(text string) bool { return len(Halves(text)) > 0 }

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
	words := wordPlaces(text)
	for _, l := range clauseLanguages() {
		if at, ok := l.joins(lowered(text, words)); ok {
			before, after := text[:words[at].from], text[words[at].to:]
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

// A place is where a word stands in a text, in bytes.
type place struct{ from, to int }

// wordPlaces finds the words of a text, apostrophes kept.
func wordPlaces(text string) []place {
	var all []place
	inside := false
	for at, r := range text {
		letter := unicode.IsLetter(r) || unicode.IsMark(r) || unicode.IsDigit(r) || r == '\'' || r == '’'
		switch {
		case letter && !inside:
			all = append(all, place{at, len(text)})
		case !letter && inside:
			all[len(all)-1].to = at
		}
		inside = letter
	}
	return all
}

// lowered are the words at places of a text, as the lists have them.
func lowered(text string, places []place) []string {
	words := make([]string, len(places))
	for i, p := range places {
		words[i] = strings.ReplaceAll(strings.ToLower(text[p.from:p.to]), "’", "'")
	}
	return words
}

// shortClause is how many words a statement has at least.
const shortClause = 3

// joins finds a joining word that has a clause on both of its sides. A clause
// inside another one makes that hard to tell, so then there is none.
func (l clauseLanguage) joins(words []string) (at int, ok bool) {
	has := func(part, any []string) bool {
		return slices.ContainsFunc(part, func(w string) bool { return slices.Contains(any, w) })
	}
	for i, w := range words {
		before, after := words[:i], words[i+1:]
		if !slices.Contains(l.joining, w) || len(before) < shortClause || len(after) < shortClause {
			continue
		}
		if has(before, l.inside) || has(after[:1], l.inside) {
			continue
		}
		if slices.Contains(l.subjects, after[0]) || has(before, l.verbs) && has(untilJoined(after, l), l.verbs) {
			return i, true
		}
	}
	return 0, false
}

// untilJoined is the clause that begins after, up to a word that begins
// another one.
func untilJoined(after []string, l clauseLanguage) []string {
	end := slices.IndexFunc(after, func(w string) bool { return slices.Contains(l.inside, w) })
	if end < 0 {
		return after
	}
	return after[:end]
}

// lowerWords splits text into words, apostrophes kept.
func lowerWords(text string) []string { return lowered(text, wordPlaces(text)) }

// sentences splits text at full stops and semicolons that part two statements
// of three words or more. A stop after a short word may end an abbreviation,
// and parts nothing.
func sentences(text string) []string {
	var parts []string
	start := 0
	runes := []rune(text)
	for i, r := range runes {
		if !strings.ContainsRune(".;。！!؛।", r) || r == '.' && !endsSentence(runes, i) {
			continue
		}
		parts = appendStatement(parts, string(runes[start:i]))
		start = i + 1
	}
	return appendStatement(parts, string(runes[start:]))
}

func appendStatement(parts []string, s string) []string {
	if len(lowerWords(s)) < shortClause {
		return parts
	}
	return append(parts, s)
}

// endsSentence reports whether the full stop at i has a word of three letters
// before it, and a blank and a capital after it.
func endsSentence(runes []rune, i int) bool {
	if i < 3 || i+2 >= len(runes) || !unicode.IsSpace(runes[i+1]) {
		return false
	}
	for _, r := range runes[i-3 : i] {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) {
			return false
		}
	}
	return !unicode.IsLower(runes[i+2])
}
