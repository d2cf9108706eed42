package prompts

import (
	"fmt"
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
	words  string
	letter bool // is looked for as it is written, and not word by word
	unless bool // passes where people wrote it themselves
}

func readRefused(list string) (all []phrase) {
	for line := range strings.Lines(list) {
		name, entries, ok := strings.Cut(strings.TrimSpace(line), ":")
		if !ok || strings.HasPrefix(name, "#") {
			continue
		}
		name, unless := strings.CutSuffix(name, "+")
		check := Check(name)
		if check.rule() == name {
			panic(fmt.Sprintf("prompts: refused.txt: %q is no check", name)) // held by a test, so a bug
		}
		for entry := range strings.SplitSeq(entries, ",") {
			entry = strings.TrimSpace(entry)
			if strings.ToLower(entry) != entry {
				all = append(all, phrase{check, entry, true, unless})
				continue
			}
			all = append(all, phrase{check, wanted(entry), false, unless})
		}
	}
	return all
}

// wanted brings an entry into the form of clauses: whole words, unless a star
// lets them go on, and after the sign of a new clause where ^ asks for it.
func wanted(entry string) string {
	words := strings.Join(wordsOf(folded(entry)), " ")
	if strings.HasPrefix(entry, "^") {
		words = "| " + words
	}
	if !strings.HasPrefix(entry, "*") && !running(words) {
		words = " " + words
	}
	if !strings.HasSuffix(entry, "*") && !running(words) {
		words += " "
	}
	return words
}

// clauses writes down the words of a text, with a sign before each clause.
func clauses(text string) string {
	var b strings.Builder
	for _, clause := range strings.FieldsFunc(folded(text), func(r rune) bool { return strings.ContainsRune(";:–—(.!?：；（。！？؛،؟।", r) }) {
		b.WriteString(" | " + strings.Join(wordsOf(clause), " "))
	}
	return b.String() + " "
}

// refusedIn lists the checks that a text fails by its words. Somebody who
// believes in a solution may have it worded as one.
func (in Input) refusedIn(text string) (out []Check) {
	said, wrote := clauses(text), clauses(strings.Join(in.sent(), " . "))
	for _, p := range refused {
		if !p.in(text, said) || p.unless && p.in("", wrote) || slices.Contains(out, p.check) ||
			p.check == CheckNeutral && !kinds[in.Kind].unsigned || p.check == CheckNobody && !kinds[in.Kind].unsigned {
			continue
		}
		if p.check == CheckProblem && in.Kind != Ladder && slices.ContainsFunc(in.original(), isSolution) {
			continue
		}
		out = append(out, p.check)
	}
	return out
}

func isSolution(text string) bool {
	said := clauses(text)
	return slices.ContainsFunc(refused, func(p phrase) bool { return p.check == CheckProblem && p.in(text, said) })
}

func (p phrase) in(text, said string) bool {
	if p.letter {
		return strings.Contains(text, p.words)
	}
	return strings.Contains(said, p.words)
}
