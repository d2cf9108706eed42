package screens

import "soundings/bot/words"

// The names under which this package knows the sentences of words.
var (
	choiceText     = words.ChoiceText
	clip           = words.Clip
	confidenceMove = words.ConfidenceMove
	contained      = words.Contained
	count          = words.Count
	days           = words.Days
	daysLeftText   = words.DaysLeftText
	findingText    = words.FindingText
	firstText      = words.FirstText
	foundText      = words.FoundText
	kindText       = words.KindText
	ladderText     = words.LadderText
	leadName       = words.LeadName
	listed         = words.Listed
	moveText       = words.MoveText
	number         = words.Number
	oneLine        = words.OneLine
	passMark       = words.PassMark
	ringText       = words.RingText
	rungs          = words.Rungs
	sentenceCase   = words.SentenceCase
	settledLevel   = words.SettledLevel
	tally          = words.Tally
	testedText     = words.TestedText
	testsText      = words.TestsText
	untested       = words.Untested
	votesText      = words.VotesText
	weeksText      = words.WeeksText
	columns        = words.Columns
)

func firstOf[T any](all []T, most int) []T { return words.FirstOf(all, most) }
