package hints

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// longBelief is from how many characters on a belief is hard to rate: about
// two lines on a phone (common practice, no source).
const longBelief = 200

// Wording suggests how an assumption might be worded so that others can rate
// it: each hint is one sentence that says what to try, and none means that
// nothing stood out. A hint is a guess from the surface of a text. It is
// shown, and never enforced; where in doubt, nothing is said.
func Wording(text string) []string {
	text = strings.TrimSpace(text)
	var hints []string
	for _, h := range []struct {
		found bool
		say   string
	}{
		{isQuestion(text), "This reads like a question: try writing the answer that you believe in."},
		{isFeature(text), "This reads like something to build: try writing what has to be true for it to be worth building."},
		{len(Halves(text)) > 0, "There may be two beliefs in here: try one entry for each, so that people can rate them apart."},
		{utf8.RuneCountInString(text) > longBelief,
			"This is long for one belief: try one short sentence, and put the rest under what makes you think so."},
	} {
		if h.found {
			hints = append(hints, h.say)
		}
	}
	return hints
}

// questionMarks are the marks that end a question in the scripts that have
// one of their own: Latin and its wide and reversed forms, Greek, Arabic,
// Ethiopic, Vai, Bamum. (Unicode names that contain QUESTION MARK.)
const questionMarks = "?？⁇⁈⁉⸮‽\u037E؟፧꘏꛷﹖"

// armenianQuestion stands inside the word that is asked about.
const armenianQuestion = '՞'

// isQuestion reports whether text ends in a question, closing quotes and
// brackets aside.
func isQuestion(text string) bool {
	end := strings.TrimRightFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || strings.ContainsRune("\"'”’»)]!.…", r)
	})
	last, _ := utf8.DecodeLastRuneInString(end)
	switch {
	case end == "":
		return false
	case strings.ContainsRune(questionMarks, last):
		return true
	case last == ';' && strings.ContainsFunc(end, func(r rune) bool { return unicode.Is(unicode.Greek, r) }):
		return true // Greek keyboards type the semicolon, which looks the same
	}
	return strings.ContainsRune(end, armenianQuestion)
}

// A word begins and ends where letters do; RE2's own mark of that knows only
// those of ASCII. Between its words a shape may have one more, such as "also".
const (
	wordBegins = `(?:^|[^\p{L}])`
	wordEnds   = `(?:[^\p{L}]|$)`
	oneMore    = `(?: \p{L}+)? `
)

// featureShapes find what reads like a feature, in a few languages: somebody
// should build something, or a product will have a part.
var featureShapes = []*regexp.Regexp{
	shape(`(?:we|you|somebody|someone) (?:should|must|need to|have to|ought to|could|will)` + oneMore +
		`(?:build|add|create|implement|develop|launch|introduce|design|integrate|redesign)`),
	shape(`(?:the|our|a|an|this) (?:new )?(?:app|site|website|web site|page|screen|product|system|bot|tool|form|dashboard|service) ` +
		`(?:will|should|must|needs to|has to|could) (?:have|show|include|display|offer|get|contain) (?:an?|the|new|more)`),
	shape(`wir (?:sollten|sollen|müssen|könnten|werden)(?: \p{L}+){1,8} (?:bauen|einbauen|entwickeln|hinzufügen|einführen|erstellen)`),
	shape(`(?:die|unsere) (?:app|seite|webseite|website|anwendung) (?:soll|sollte|wird|muss)(?: \p{L}+){1,8} ` +
		`(?:haben|zeigen|bieten|enthalten|bekommen)`),
	shape(`(?:il faut|il faudrait|nous devons|nous devrions|on doit|on devrait)` + oneMore +
		`(?:construire|ajouter|créer|développer|concevoir|lancer)`),
	shape(`(?:debemos|deberíamos|hay que|tenemos que|habría que)` + oneMore + `(?:construir|añadir|agregar|crear|desarrollar|lanzar)`),
}

func shape(words string) *regexp.Regexp { return regexp.MustCompile(wordBegins + words + wordEnds) }

func isFeature(text string) bool {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	return slices.ContainsFunc(featureShapes, func(s *regexp.Regexp) bool { return s.MatchString(text) })
}
