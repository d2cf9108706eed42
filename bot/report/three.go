package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// mostFirst is how many assumptions the summary begins with.
const mostFirst = 3

// A matter is one of the assumptions that matter most, and what is done about it.
type matter struct {
	ID        string
	Statement typed
	Test      *test          // the one that comes next; nil while there is none
	Due       state.LocalDay // when Test should have a result; empty before the time box begins, and once it has one
	Found     string         // what its tests came to so far, a sentence; empty without a result
	Other     bool           // Found is another test's, and Test has no verdict yet
}

// threeOf is what everything begins with that tells where a kickoff stands: the first
// assumptions to be tested, at most mostFirst of them.
func threeOf(k state.Kickoff) []matter {
	due := dueDays(k)
	return each(words.FirstOf(k.InZone(engine.TestFirst), mostFirst), func(id string) matter {
		a, _ := k.Assumption(id)
		out := matter{ID: id, Statement: typed(a.Text), Found: words.VerdictText(state.VerdictOf(&k, id))}
		tests := k.TestsOf(id)
		for i, t := range tests {
			found, reported := state.Found(&k, t.N)
			open := !reported || found.Verdict == engine.SoFar
			if !open && i < len(tests)-1 {
				continue
			}
			next := testOf(k, t)
			out.Test, out.Other = &next, open && slices.ContainsFunc(tests, func(t state.Test) bool {
				found, reported := state.Found(&k, t.N)
				return reported && found.Verdict != engine.SoFar
			})
			if open && k.Stage != state.StageEnded {
				out.Due = due[t.N]
			}
			break
		}
		return out
	})
}

// Three is what the summary, the home tab and the message of a check-in begin with: the
// first three assumptions as sentences, each with its test, its owner and the day of its
// result, then the time box and what comes next. It is empty before anything was rated.
func Three(k state.Kickoff, now time.Time) []Block {
	m := k.Map()
	if m == nil {
		return nil
	}
	blocks := []Block{para("%s", words.FirstText(*m))}
	if first := k.InZone(engine.TestFirst); len(first) > 0 {
		blocks = firstInWords(k, len(first))
	}
	if k.Timebox.Weeks > 0 {
		blocks = append(blocks, para("**Time box:** %s. %s", weeksText(k.Timebox), nextText(k, now)))
	}
	return blocks
}

// wordsOfMethod is how many words of a test the first message tells: the rest is
// in its thread.
const wordsOfMethod = 5

// firstInWords are the first of so many assumptions as sentences, each with its next test.
func firstInWords(k state.Kickoff, all int) []Block {
	title := "**To test first:**"
	if all > mostFirst {
		title = fmt.Sprintf("**To test first**, %d of %d:", mostFirst, all)
	}
	return []Block{para("%s", title), list(threeOf(k), mostFirst, func(m matter) Text {
		text := say("**%s** %s", m.ID, clip(string(m.Statement), 140))
		if m.Test == nil && k.LeavesOut(state.StageBacklog) {
			return text
		}
		if m.Test == nil {
			return append(text, say("\nNo test is planned yet.")...)
		}
		doer := "Nobody yet"
		if m.Test.Owner != "" {
			doer = string(m.Test.Owner)
		}
		by := ""
		if m.Due != "" {
			by = ", by " + shortDay(m.Due)
		}
		test := say("**%s%s:** %s", name(doer), by, clip(methodInShort(string(m.Test.Method)), 60))
		switch {
		case m.Found == "":
			return append(text, say("\n%s", test)...)
		case m.Other: // what was found is another test's
			return append(text, say("\n**%s** Still to come: %s", m.Found, test)...)
		}
		return append(text, say("\n%s **%s**", test, m.Found)...)
	})}
}

// methodInShort is the beginning of what a test does: all that stands before a comma,
// where that is about as short, since a sentence that breaks off is hard to read.
func methodInShort(method string) string {
	all := strings.Fields(method)
	if end := slices.IndexFunc(all, func(w string) bool { return strings.HasSuffix(w, ",") }); end >= 0 && end <= wordsOfMethod {
		all = all[:end+1]
	}
	if len(all) <= wordsOfMethod+1 {
		return words.SentenceEnd(strings.TrimRight(strings.Join(all, " "), ",;:"))
	}
	return strings.TrimRight(strings.Join(all[:wordsOfMethod], " "), ",;:") + " …"
}

// nextText says what comes next, and when: a check-in, or the decision.
func nextText(k state.Kickoff, now time.Time) Text {
	switch {
	case k.Stage == state.StageEnded:
		return say("It is over.")
	case k.Timebox.Starts.IsZero():
		return say("It begins when the summary is out.")
	case k.Underway.Decision.Phase == state.PhaseOpen:
		return say("The vote on how to go on is open until %s.", day(k.Underway.Decision.Closes))
	case k.Underway.Decision.Phase == state.PhaseSettling:
		return say("The vote on how to go on has closed; the lead settles it.")
	}
	for _, at := range flows.CheckinTimes(&k) {
		if at.After(now) {
			return say("Next check-in %s, decision from %s.", day(at), day(k.Timebox.Ends))
		}
	}
	return say("Decision from %s.", day(k.Timebox.Ends))
}
