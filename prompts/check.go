package prompts

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"soundings/flows/hints"
)

// A Check is something that a draft must pass before anyone sees it. The
// checks look at the surface of a text and do not understand it. They are
// there so that nothing that a model was talked into, or made up, gets
// through under the name of a draft; whether a draft is a good one is for
// people to judge.
type Check string

// The checks.
const (
	CheckShape       Check = "shape"
	CheckLevels      Check = "levels"
	CheckSentence    Check = "sentence"
	CheckLength      Check = "length"
	CheckProblem     Check = "no solution"
	CheckCopy        Check = "no copy"
	CheckLanguage    Check = "language"
	CheckTopic       Check = "topic"
	CheckFigures     Check = "figures"
	CheckCharacters  Check = "characters"
	CheckMention     Check = "mention"
	CheckLink        Check = "link"
	CheckInstruction Check = "instruction"
	CheckNeutral     Check = "takes no side"
	CheckNobody      Check = "nobody singled out"
	CheckOneBelief   Check = "one belief"
)

// A wording is one text of an answer, as the checks look at it.
type wording struct {
	Input
	kind
	where     string
	text      string
	sentences []string
	others    []string // texts before it in the same answer
}

// checks are all checks: what a model is told when a draft of it fails, whether
// the wordings for a ladder are held to it, and how a wording fails it, beside
// the words in texts/refused.txt.
var checks = []struct {
	name    Check
	rule    string
	ladders bool
	fails   func(wording) bool
}{
	{CheckShape, "not the JSON object that was asked for, with nothing around it", true, nil},
	{CheckLevels, "missing, empty, or one too many", true, nil},
	{CheckSentence, "not the number of sentences asked for, or not a plain statement", true, wording.isNoStatement},
	{CheckLength, "a sentence is too long; stay under 190 characters", true, wording.isLong},
	{CheckProblem, "names a solution or a technology; say what is hard, and for whom", true, nil},
	{CheckCopy, "too close to the material or to another wording; say it differently", true, wording.isCopy},
	{CheckLanguage, "not in the language of the material", true, wording.isForeign},
	{CheckTopic, "strays from the subject; keep at least one of the main words of the material", true, wording.isOffTopic},
	{CheckFigures, "holds a figure that the material does not have, or leaves out one that it needs", true, wording.changesFigures},
	{CheckCharacters, "holds characters other than letters, digits and ordinary punctuation", true, wording.isStrange},
	{CheckMention, "looks like a mention of a person or a channel", true, matches(mentions)},
	{CheckLink, "looks like a link or an address", true, matches(links)},
	{CheckInstruction, "speaks to the reader or of yourself, or asks for something; state, in the third person", true, wording.isLeaked},
	{CheckNeutral, "takes a side or counts heads; say only what the reasons say", false, nil},
	{CheckNobody, "quotes a reason, or speaks of one person; say it in words of your own, of some and of others", false, wording.singlesOut},
	{CheckOneBelief, "holds two statements; each part states one", false, wording.isTwo},
}

func matches(pattern *regexp.Regexp) func(wording) bool {
	return func(w wording) bool { return pattern.MatchString(w.text) }
}

// A Fault is a check that a part of an answer did not pass. It never holds
// the text.
type Fault struct {
	Where string // the field of the answer, such as "broader_1", or "answer"
	Check Check
}

func (f Fault) String() string { return f.Where + ": " + string(f.Check) }

// rule is what a model is told about a fault.
func (f Fault) rule() string {
	for _, c := range checks {
		if c.name == f.Check {
			return c.rule
		}
	}
	return string(f.Check)
}

// longestLooked is how many bytes of text are looked at closely.
const longestLooked = 4000

// faults lists the checks that a text does not pass, beside the other texts of
// the same answer.
func (in Input) faults(where, text string, others []string) (faults []Fault) {
	if len(text) > longestLooked {
		return []Fault{{where, CheckLength}}
	}
	w := wording{in, kinds[in.Kind], where, text, sentencesOf(text), others}
	said := w.refused()
	for _, c := range checks {
		if slices.Contains(said, c.name) || c.fails != nil && c.fails(w) {
			faults = append(faults, Fault{where, c.name})
		}
	}
	return faults
}

// fewestLetters are what a statement has at least (our choice): four short
// words, or half of it in a script that packs more into a letter.
const fewestLetters = 12

// notStated begins an entry of a list, or ends a question; a Greek question
// mark looks like a semicolon.
var notStated = regexp.MustCompile(`^[-–·] |[?？؟⁇፧՞]|[;\x{37e}]$`)

func (w wording) isNoStatement() bool {
	letters := utf8.RuneCountInString(packed(w.text))
	if running(w.text) {
		letters *= 2
	}
	return len(w.sentences) != w.kind.sentences || letters < fewestLetters || notStated.MatchString(w.text)
}

// longestSentence is how many characters a drafted sentence has at most.
const longestSentence = 199

func (w wording) isLong() bool {
	return slices.ContainsFunc(w.sentences, func(s string) bool { return utf8.RuneCountInString(s) > longestSentence })
}

// isCopy finds the original, an earlier draft or another text of the answer,
// and where it matters a sentence that people wrote: whoever hides a sentence
// in a problem statement, to have it come back as a draft, mostly writes down
// the sentence.
func (w wording) isCopy() bool {
	text := packed(w.text)
	same := func(o string) bool { return text == packed(o) }
	like := func(o string) bool { return same(o) || hints.Similarity(w.text, o) >= w.copies }
	several := w.Kind == Plainer && len(sentencesOf(w.Assumption)) > 1 // one of them does not stand for all
	switch earlier := slices.Concat(w.original(), w.Avoid); {
	case slices.ContainsFunc(w.others, like), slices.ContainsFunc(earlier, same), w.anew && slices.ContainsFunc(earlier, like):
		return true
	case !w.anew && !several:
		return false
	}
	return slices.ContainsFunc(w.sentences, func(s string) bool {
		s = packed(s)
		return s != "" && slices.ContainsFunc(w.sent(), func(o string) bool { return strings.Contains(packed(o), s) })
	})
}

// likeness that stands in for a shared word where a language changes its words
// at the front or end, by [hints.Similarity].
const likeness = 0.08

// Letters of a word that tells what a text is about: where one such word will
// do, and where they are counted.
const (
	lettersOfOne  = 4
	lettersOfMany = 5
)

// related tells whether two texts have a word of so many letters in common,
// or are like each other.
func related(text, about string, letters int) bool {
	return share(units(text, letters), units(about, letters)) > 0 || hints.Similarity(text, about) >= likeness
}

// isForeign tells whether a sentence seems to be in another language than the
// original. It knows no language: one in the same script that has a word of
// the material, or is like it, passes.
func (w wording) isForeign() bool {
	original, about := strings.Join(w.original(), " "), w.about()
	return slices.ContainsFunc(w.sentences, func(s string) bool { return otherScript(s, original) || !related(s, about, 1) })
}

// isOffTopic tells whether too few words of a sentence are about the material.
func (w wording) isOffTopic() bool {
	if w.far != "" && w.where == w.far {
		return false // see strays
	}
	about := w.about()
	return slices.ContainsFunc(w.sentences, func(s string) bool {
		if w.own > 0 {
			return share(units(s, lettersOfMany), units(about, lettersOfMany)) < w.own
		}
		return !related(s, about, lettersOfOne)
	})
}

// numberToCall is seven digits or more, with what people put between the
// digits of a telephone or account number. A million is written otherwise.
var numberToCall = regexp.MustCompile(`\p{Nd}(?:[ \-/()]{0,2}\p{Nd}){6,}`)

// changesFigures tells whether a text has a figure that nobody wrote, leaves
// out one where that matters, or has a number to call.
func (w wording) changesFigures() bool {
	missing := func(from, in []string) bool {
		return slices.ContainsFunc(from, func(f string) bool { return !slices.Contains(in, f) })
	}
	has := figuresOf(w.text)
	return numberToCall.MatchString(w.text) || missing(has, figuresOf(w.sent()...)) ||
		w.figures && missing(figuresOf(w.original()...), has)
}

// figuresOf lists the runs of digits of texts; 1,140 is two of them.
func figuresOf(texts ...string) []string {
	return strings.FieldsFunc(strings.Join(texts, " "), func(r rune) bool { return !unicode.IsDigit(r) })
}

// mentions are the signs that call people and channels, names that platforms
// give them, and words for the signs.
var mentions = regexp.MustCompile(`[@＠﹫#＃﹟]|<!|\b[UWCGDTB][0-9A-Z]{8,}\b|(?i:\bat[ -](?:channel|here|everyone)\b)|(?i:!(?:channel|here|everyone)\b)`)

// links are what is a link, and what a reader or a platform may take for one.
var links = regexp.MustCompile(`(?i)[a-z][a-z0-9+.-]*:/|//|\]\(|\bwww\b|\bh(?:tt|xx)ps?\b|\bmailto\b|\btel:|\bftp\b` +
	`|[\p{L}\p{Nd}-]{2,}[.．｡]\p{L}{2,}|[a-z0-9]{2,}。[a-z]{2,}` + // name.land
	`|\p{Nd}{1,3}(?:\.\p{Nd}{1,3}){3}|\p{L} slash \p{L}` + // an address in figures or words
	`|[\p{L}\p{Nd}] ?[(\[{]? ?(?:dot|punkt|point|punto|ponto|punt) ?[)\]}]? ?(?:com|org|net|info|biz|xyz|io|co|uk|app|dev|example)\b` + // name dot land
	`|[\p{L}\p{Nd}] ?[(\[{] ?(?:at|ät|arroba) ?[)\]}] ?[\p{L}\p{Nd}]`) // a mail address, spelt out

// leakedWords in a row that also stand in a prompt are no accident; so many
// that also stand in a reason are a quotation (our choice).
const (
	leakedWords = 6
	quotedWords = 5
)

func (w wording) isLeaked() bool {
	for _, t := range promptTexts {
		if quotes(w.text, t.body, leakedWords, "") {
			return true
		}
	}
	return false
}

// quotationMarks set somebody's own words apart. Single ones are left out:
// they are apostrophes too.
const quotationMarks = "\"“”„‟«»「」『』＂"

// singlesOut tells whether a text quotes one of the reasons, or names a person
// who may have written one. What also stands in the assumption is everybody's.
func (w wording) singlesOut() bool {
	return w.unsigned && (strings.ContainsAny(w.text, quotationMarks) ||
		slices.ContainsFunc(w.Reasons, func(r string) bool { return quotes(w.text, r, quotedWords, w.Assumption) }) ||
		slices.ContainsFunc(w.Names, func(name string) bool { return names(w.text, name) && !names(w.Assumption, name) }))
}

// names finds a part of a person's name, as names are written: a name may also
// be an everyday word.
func names(text, whole string) bool {
	words := strings.FieldsFunc(text, notOfWord)
	return slices.ContainsFunc(strings.FieldsFunc(whole, notOfWord), func(name string) bool {
		return running(name) && strings.Contains(text, name) || utf8.RuneCountInString(name) > 2 && slices.Contains(words, name)
	})
}

func (w wording) isTwo() bool { return w.Kind == Split && len(hints.Halves(w.text)) > 0 }

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
