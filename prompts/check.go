package prompts

import (
	"slices"

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
	CheckShape       Check = "shape"              // the answer is the JSON object that was asked for
	CheckLevels      Check = "levels"             // one wording for each rung, or two or three parts; no more, no fewer
	CheckSentence    Check = "sentence"           // one sentence (a gist: two) that states something
	CheckLength      Check = "length"             // under 200 characters a sentence
	CheckProblem     Check = "no solution"        // says what is hard, not what to build
	CheckCopy        Check = "no copy"            // neither the original, nor a piece of it, nor another draft
	CheckLanguage    Check = "language"           // the original's language and script
	CheckTopic       Check = "topic"              // shares words with the original
	CheckFigures     Check = "figures"            // no figure that nobody wrote, no number to call
	CheckCharacters  Check = "characters"         // letters, digits, ordinary punctuation; nothing hidden
	CheckMention     Check = "mention"            // calls nobody, and no channel
	CheckLink        Check = "link"               // leads nowhere
	CheckInstruction Check = "instruction"        // speaks to nobody, asks for nothing, is not about the model
	CheckNeutral     Check = "takes no side"      // a gist weighs nothing
	CheckNobody      Check = "nobody singled out" // a gist quotes nobody, and speaks of no single person
	CheckOneBelief   Check = "one belief"         // a part of an assumption holds no second one
)

// Checks lists all checks.
func Checks() []Check {
	return []Check{
		CheckShape, CheckLevels, CheckSentence, CheckLength, CheckProblem, CheckCopy, CheckLanguage, CheckTopic,
		CheckFigures, CheckCharacters, CheckMention, CheckLink, CheckInstruction,
		CheckNeutral, CheckNobody, CheckOneBelief,
	}
}

// rule is what a model is told when a draft of it fails the check.
func (c Check) rule() string {
	switch c {
	case CheckShape:
		return "not the JSON object that was asked for, with nothing around it"
	case CheckLevels:
		return "missing, empty, or one too many"
	case CheckSentence:
		return "not the number of sentences asked for, or not a plain statement"
	case CheckLength:
		return "a sentence is too long; stay under 190 characters"
	case CheckProblem:
		return "names a solution or a technology; say what is hard, and for whom"
	case CheckCopy:
		return "too close to the material or to another wording; say it differently"
	case CheckLanguage:
		return "not in the language of the material"
	case CheckTopic:
		return "strays from the subject; keep at least one of the main words of the material"
	case CheckFigures:
		return "holds a figure that the material does not have, or leaves out one that it needs"
	case CheckCharacters:
		return "holds characters other than letters, digits and ordinary punctuation"
	case CheckMention:
		return "looks like a mention of a person or a channel"
	case CheckLink:
		return "looks like a link or an address"
	case CheckInstruction:
		return "speaks to the reader or of yourself, or asks for something; state, in the third person"
	case CheckNeutral:
		return "takes a side or counts heads; say only what the reasons say"
	case CheckNobody:
		return "quotes a reason, or speaks of one person; say it in words of your own, of some and of others"
	case CheckOneBelief:
		return "holds two statements; each part states one"
	}
	return string(c)
}

// ofLadders tells whether a check is made of the wordings for a ladder.
func (c Check) ofLadders() bool {
	return c != CheckNeutral && c != CheckNobody && c != CheckOneBelief
}

// A Fault is a check that a part of an answer did not pass. It never holds
// the text.
type Fault struct {
	Where string // the field of the answer, such as "broader_1", or "answer"
	Check Check
}

// Above these a draft is a copy, by [hints.Similarity]. The threshold for
// near-duplicate beliefs is of no use here: a rung down keeps most words of
// the original, and adds whom or when. Chosen on the wordings of the quality
// sheet, of which the good ones stay below and the copies above.
const (
	copyOfRung = 0.80
	copyOfPart = 0.92 // parts of an assumption share its frame
	never      = 2    // likeness goes up to 1
)

// topicLikeness is the [hints.Similarity] that stands in for a shared word
// where a language changes its words at the front.
const topicLikeness = 0.15

// hopeless is how many bytes of text are too many to look at closely.
const hopeless = 4000

// rules are what a text is measured against.
type rules struct {
	original []string // what is reworded: its language is kept, and it is not copied
	offered  []string // drafts that were offered before: not copied either
	topic    []string // what a draft has to have a word in common with
	sent     []string // everything that people wrote: no other figures
	ours     string   // our own prompt: none of it comes back

	sentences int     // how many
	copies    float64 // similarity from which a text is a copy
	pieces    bool    // a piece of what people wrote is a copy, too
	covers    float64 // least share of the original's words that come back; 0: one word will do
	figures   bool    // every figure of the original comes back
	problem   bool    // must not be a solution
	neutral   bool    // must not take sides
}

// faults lists the checks that a text does not pass.
func (r rules) faults(where, text string) []Fault {
	if len(text) > hopeless {
		return []Fault{{where, CheckLength}}
	}
	var faults []Fault
	for _, c := range []struct {
		check Check
		fails bool
	}{
		{CheckSentence, !statesIn(text, r.sentences)},
		{CheckLength, tooLong(text, r.sentences)},
		{CheckProblem, r.problem && isSolution(text, r.sent)},
		{CheckCopy, r.isCopy(text)},
		{CheckLanguage, !sameLanguage(r.original, text)},
		{CheckTopic, !r.onTopic(text)},
		{CheckFigures, !r.figuresFit(text)},
		{CheckCharacters, !ordinaryCharacters(text, r.sent)},
		{CheckMention, isMention(text)},
		{CheckLink, isLink(text)},
		{CheckInstruction, isInstruction(text) || repeats(text, r.ours)},
		{CheckNeutral, r.neutral && takesSides(text)},
	} {
		if c.fails {
			faults = append(faults, Fault{where, c.check})
		}
	}
	return faults
}

// isCopy finds the original or an earlier draft, and where it matters a piece
// of what people wrote: whoever hides a sentence in a problem statement, to
// have it come back as a draft, mostly writes down the sentence.
func (r rules) isCopy(text string) bool {
	return isCopy(text, r.original, r.copies) || isCopy(text, r.offered, r.copies) ||
		r.pieces && isPiece(text, r.sent)
}

// isCopy tells whether a text says nearly the same as one of others.
func isCopy(text string, others []string, threshold float64) bool {
	return slices.ContainsFunc(others, func(o string) bool { return hints.Similarity(text, o) >= threshold })
}
