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

// tooLong is from how many characters on that is all there is to say: a text of a
// paragraph holds questions and wishes, whatever it is.
const tooLong = 3 * longBelief

// Wording suggests how an assumption might be worded so that others can rate
// it: each hint is one sentence that says what to try, and none means that
// nothing stood out. A hint is a guess from the surface of a text. It is
// shown, and never enforced; where in doubt, nothing is said.
func Wording(text string) []string {
	const long = "This is long for one belief: try one short sentence, and put the rest under what makes you think so."
	text = strings.TrimSpace(text)
	letters := utf8.RuneCountInString(text)
	if letters > tooLong {
		return []string{long}
	}
	feature := isFeature(text) || isTold(plainText(text))
	var hints []string
	for _, h := range []struct {
		found bool
		say   string
	}{
		{isQuestion(text), "This reads like a question: try writing the answer that you believe in."},
		{feature, "This reads like something to build: try writing what has to be true for it to be worth building."},
		{!feature && isNorm(text), "This says what should be: try writing what you believe is so, or what will happen."},
		{len(Halves(text)) > 0, "There may be two beliefs in here: try one entry for each, so that people can rate them apart."},
		{letters > longBelief, long},
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

// isQuestion reports whether text ends in a question mark, closing quotes and
// brackets aside, or asks without one.
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
	return strings.ContainsRune(end, armenianQuestion) || asks(text)
}

// asks reports whether an English sentence asks without a mark: it begins with a
// verb, or with a word that asks and has a verb behind it. What only begins like
// that, as "how people choose depends on the weather", has a verb of its own later.
func asks(text string) bool {
	plain := plainText(text)
	return anyOf(askShapes, plain) || indirect.MatchString(plain) && !settled.MatchString(plain)
}

var (
	askShapes = []*regexp.Regexp{
		begin(`(?:do|does|did|is|are|was|were|can|could|would|will|should|has|have) \p{L}+ \p{L}+`),
		begin(`(?:who|what|why|when|where|how) (?:do|does|did|is|are|was|were|can|could|would|will|should|happens|pays)`),
		begin(`(?:i|we) (?:wonder|ask ourselves)`),
	}
	indirect = begin(`(?:how (?:many|much|often|long|far)|whether|which \p{L}+ (?:is|are|was|were|do|does|did|can|will|would|could|should))`)
	settled  = shape(`(?:depends?|matters?|decides?|makes?)`)
)

// isNorm reports whether a sentence says what should be.
func isNorm(text string) bool {
	plain := plainText(text)
	return says(normWord, plain) || anyOf(normShapes, plain)
}

// says reports whether a word stands in a sentence, outside of a clause inside it.
func says(word *regexp.Regexp, plain string) bool {
	for _, at := range word.FindAllStringIndex(plain, -1) {
		before := lowerWords(plain[:at[0]])
		if len(before) == 0 || !slices.ContainsFunc(before, func(w string) bool { return insideNorm[w] }) {
			return true
		}
	}
	return false
}

var (
	normWord   = shape(`(?:should|shouldn't|ought to|must(?: not)?|mustn't|sollten?|sollen|devraient|devrait|deberían|debería)`)
	insideNorm = setOf(`who whoever that which whether if when where what why how as than`)
	normShapes = []*regexp.Regexp{
		begin(`(?:everybody|everyone|nobody|no one) (?:has|have) to be`),
		begin(`\p{L}+ deserves?`),
		begin(`it (?:is|would be) (?:only )?(?:fair|unfair|wrong|right|our duty) (?:that|to|if)`),
	}
)

// plainText is a text in lower case, with single blanks and one kind of apostrophe.
func plainText(text string) string {
	return strings.ReplaceAll(strings.ToLower(strings.Join(strings.Fields(text), " ")), "’", "'")
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

// begin is a shape at the beginning of a text.
func begin(words string) *regexp.Regexp {
	return regexp.MustCompile(`^[“"'‘(]?(?:` + words + `)` + wordEnds)
}

func shape(words string) *regexp.Regexp { return regexp.MustCompile(wordBegins + words + wordEnds) }

func isFeature(text string) bool {
	plain := plainText(text)
	return anyOf(featureShapes, plain) || anyOf(orderShapes, plain)
}

// toldTo finds a thing of ours, and what it should do.
var toldTo = shape(`(?:the|our|a|an|this) (?:\p{L}+ )?` + thing + ` (?:should|ought to) (\p{L}+)`)

// isTold reports whether a sentence says what a thing should do; what it should be, such
// as safe, is a norm.
func isTold(plain string) bool {
	found := toldTo.FindStringSubmatch(plain)
	return found != nil && !slices.Contains([]string{"be", "not", "never", "always"}, found[1])
}

func anyOf(shapes []*regexp.Regexp, plain string) bool {
	return slices.ContainsFunc(shapes, func(s *regexp.Regexp) bool { return s.MatchString(plain) })
}
