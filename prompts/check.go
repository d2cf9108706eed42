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

// The checks, in the order of [Checks].
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

// checks are all checks, each with what a model is told when a draft of it
// fails, and whether the wordings for a ladder are held to it.
var checks = []struct {
	name    Check
	rule    string
	ladders bool
}{
	{CheckShape, "not the JSON object that was asked for, with nothing around it", true},
	{CheckLevels, "missing, empty, or one too many", true},
	{CheckSentence, "not the number of sentences asked for, or not a plain statement", true},
	{CheckLength, "a sentence is too long; stay under 190 characters", true},
	{CheckProblem, "names a solution or a technology; say what is hard, and for whom", true},
	{CheckCopy, "too close to the material or to another wording; say it differently", true},
	{CheckLanguage, "not in the language of the material", true},
	{CheckTopic, "strays from the subject; keep at least one of the main words of the material", true},
	{CheckFigures, "holds a figure that the material does not have, or leaves out one that it needs", true},
	{CheckCharacters, "holds characters other than letters, digits and ordinary punctuation", true},
	{CheckMention, "looks like a mention of a person or a channel", true},
	{CheckLink, "looks like a link or an address", true},
	{CheckInstruction, "speaks to the reader or of yourself, or asks for something; state, in the third person", true},
	{CheckNeutral, "takes a side or counts heads; say only what the reasons say", false},
	{CheckNobody, "quotes a reason, or speaks of one person; say it in words of your own, of some and of others", false},
	{CheckOneBelief, "holds two statements; each part states one", false},
}

// rule is what a model is told when a draft of it fails the check.
func (c Check) rule() string {
	for _, known := range checks {
		if known.name == c {
			return known.rule
		}
	}
	return string(c)
}

// A Fault is a check that a part of an answer did not pass. It never holds
// the text.
type Fault struct {
	Where string // the field of the answer, such as "broader_1", or "answer"
	Check Check
}

// longestLooked is how many bytes of text are looked at closely.
const longestLooked = 4000

// leakedWords in a row that also stand in a prompt are no accident; so many
// that also stand in a reason are a quotation (our choice).
const (
	leakedWords = 6
	quotedWords = 5
)

// faults lists the checks that a text does not pass, beside the other texts of
// the same answer.
func (in Input) faults(where, text string, others []string) (faults []Fault) {
	if len(text) > longestLooked {
		return []Fault{{where, CheckLength}}
	}
	k, sentences := kinds[in.Kind], sentencesOf(text)
	some := func(fails func(string) bool) bool { return slices.ContainsFunc(sentences, fails) }
	for _, c := range []struct {
		check Check
		fails bool
	}{
		{CheckSentence, len(sentences) != k.sentences || !states(text)},
		{CheckLength, some(func(s string) bool { return utf8.RuneCountInString(s) > LongestSentence })},
		{CheckCopy, in.isCopy(text, sentences, others)},
		{CheckLanguage, some(func(s string) bool { return !sameLanguage(s, strings.Join(in.original(), " "), in.about()) })},
		{CheckTopic, some(func(s string) bool { return !in.onTopic(s) })},
		{CheckFigures, !in.figuresFit(text)},
		{CheckCharacters, !ordinaryCharacters(text, in.sent())},
		{CheckMention, isMention(text)},
		{CheckLink, isLink(text)},
		{CheckInstruction, slices.ContainsFunc(allTexts, func(t promptText) bool { return quotes(text, t.body, leakedWords) })},
		{CheckNobody, k.unsigned && in.singlesOut(text)},
		{CheckOneBelief, in.IsTwo != nil && in.IsTwo(text)},
	} {
		if c.fails {
			faults = append(faults, Fault{where, c.check})
		}
	}
	for _, check := range in.refusedIn(text) {
		faults = append(faults, Fault{where, check})
	}
	return faults
}

// isCopy finds the original, an earlier draft or another text of the answer,
// and where it matters a sentence that people wrote: whoever hides a sentence
// in a problem statement, to have it come back as a draft, mostly writes down
// the sentence.
func (in Input) isCopy(text string, sentences, others []string) bool {
	k := kinds[in.Kind]
	like := func(o string) bool { return packed(text) == packed(o) || hints.Similarity(text, o) >= k.copies }
	same := func(o string) bool { return packed(text) == packed(o) }
	several := in.Kind == Plainer && len(sentencesOf(in.Assumption)) > 1 // one of them does not stand for all
	switch earlier := slices.Concat(in.original(), in.Avoid); {
	case slices.ContainsFunc(others, like), slices.ContainsFunc(earlier, same), k.anew && slices.ContainsFunc(earlier, like):
		return true
	case !k.anew && !several:
		return false
	}
	return slices.ContainsFunc(sentences, func(s string) bool {
		return slices.ContainsFunc(in.sent(), func(o string) bool { return packed(s) != "" && strings.Contains(packed(o), packed(s)) })
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

// onTopic tells whether enough of the words of a sentence are about the
// material.
func (in Input) onTopic(sentence string) bool {
	about := in.about()
	if own := kinds[in.Kind].own; own > 0 {
		return share(meanings(sentence, lettersOfMany), meanings(about, lettersOfMany)) >= own
	}
	return share(meanings(sentence, lettersOfOne), meanings(about, lettersOfOne)) > 0 || hints.Similarity(sentence, about) >= likeness
}

// numberToCall is seven digits or more, with what people put between the
// digits of a telephone or account number. A million is written otherwise.
var numberToCall = regexp.MustCompile(`\p{Nd}(?:[ \-/()]{0,2}\p{Nd}){6,}`)

// figuresFit tells whether a text has only figures that people wrote, all of
// them where that matters, and no number to call.
func (in Input) figuresFit(text string) bool {
	missing := func(from, in []string) bool {
		return slices.ContainsFunc(from, func(f string) bool { return !slices.Contains(in, f) })
	}
	has := figuresOf(text)
	return !numberToCall.MatchString(text) && !missing(has, figuresOf(in.sent()...)) &&
		(!kinds[in.Kind].figures || !missing(figuresOf(in.original()...), has))
}

// figuresOf lists the runs of digits of texts; 1,140 is two of them.
func figuresOf(texts ...string) []string {
	return strings.FieldsFunc(strings.Join(texts, " "), func(r rune) bool { return !unicode.IsDigit(r) })
}

// quotationMarks set somebody's own words apart. Single ones are left out:
// they are apostrophes too.
const quotationMarks = "\"“”„‟«»「」『』＂"

// singlesOut tells whether a text quotes one of the reasons, or names a person
// who may have written one. What also stands in the assumption is everybody's.
func (in Input) singlesOut(text string) bool {
	return strings.ContainsAny(text, quotationMarks) ||
		slices.ContainsFunc(in.Reasons, func(r string) bool { return quotes(text, r, quotedWords, in.Assumption) }) ||
		slices.ContainsFunc(in.Names, func(name string) bool { return names(text, name) && !names(in.Assumption, name) })
}

// names finds a part of a person's name, as names are written: a name may also
// be an everyday word.
func names(text, whole string) bool {
	words := strings.FieldsFunc(text, func(r rune) bool { return !partOfWord(r) })
	return slices.ContainsFunc(strings.FieldsFunc(whole, func(r rune) bool { return !partOfWord(r) }), func(name string) bool {
		return running(name) && strings.Contains(text, name) || utf8.RuneCountInString(name) > 2 && slices.Contains(words, name)
	})
}
