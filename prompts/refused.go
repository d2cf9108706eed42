package prompts

import (
	"slices"
	"strings"
)

// texts/refused.txt lists words that a model brings in when it was talked into
// something. It is a light check and knows no languages: what it misses, only
// the person who asked will see.
var refused = readRefused(embedded("refused.txt"))

// A phrase is refused in a draft under the name of a check.
type phrase struct {
	check  Check
	words  string // as clauses holds them
	unless bool   // passes where people wrote it themselves
}

func readRefused(list string) (all []phrase) {
	for line := range strings.Lines(list) {
		name, entries, ok := strings.Cut(strings.TrimSpace(line), ":")
		if !ok || strings.HasPrefix(name, "#") {
			continue
		}
		name, unless := strings.CutSuffix(name, "+")
		for entry := range strings.SplitSeq(entries, ",") {
			all = append(all, phrase{Check(name), wanted(strings.TrimSpace(entry)), unless})
		}
	}
	return all
}

// wanted brings an entry into the form of clauses: whole words, unless a star
// lets them go on, and after the sign of a new clause where ^ asks for it. One
// with a capital letter stays as it is written.
func wanted(entry string) string {
	if strings.ToLower(entry) != entry {
		return entry
	}
	words := strings.Join(wordsOf(entry), " ")
	if strings.HasPrefix(entry, "^") {
		words = "| " + words
	}
	if !strings.HasPrefix(entry, "*") {
		words = " " + words
	}
	if !strings.HasSuffix(entry, "*") {
		words += " "
	}
	return words
}

// clauses writes down the words of a text, with a sign before each clause, and
// then the text as it is.
func clauses(text string) string {
	parts := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(";:–—(.!?：；（。！？؛،؟।", r) })
	for i, clause := range parts {
		parts[i] = "| " + strings.Join(wordsOf(clause), " ")
	}
	return " " + strings.Join(parts, " ") + " \n" + text
}

// refused lists the checks that a text fails by its words. Somebody who
// believes in a solution may have it worded as one.
func (w wording) refused() (out []Check) {
	said, wrote := clauses(w.text), clauses(strings.Join(w.sent(), " . "))
	for _, p := range refused {
		switch {
		case !strings.Contains(said, p.words), p.unless && strings.Contains(wrote, p.words):
		case !w.unsigned && (p.check == CheckNeutral || p.check == CheckNobody):
		case p.check == CheckProblem && w.Kind != Ladder && slices.ContainsFunc(w.original(), isSolution):
		default:
			out = append(out, p.check)
		}
	}
	return out
}

func isSolution(text string) bool {
	said := clauses(text)
	return slices.ContainsFunc(refused, func(p phrase) bool { return p.check == CheckProblem && strings.Contains(said, p.words) })
}
