package screens

import "soundings/bot/words"

// The names under which this package knows the sentences of words.
var (
	choiceText     = words.ChoiceText
	clip           = words.Clip
	confidenceMove = words.ConfidenceMove
	confidenceText = words.ConfidenceText
	contained      = words.Contained
	count          = words.Count
	days           = words.Days
	daysLeftText   = words.DaysLeftText
	effortText     = words.EffortText
	findingText    = words.FindingText
	firstText      = words.FirstText
	foundText      = words.FoundText
	idsIn          = words.InZone
	kindText       = words.KindText
	ladderText     = words.LadderText
	leadName       = words.LeadName
	levelText      = words.LevelText
	listed         = words.Listed
	moveText       = words.MoveText
	number         = words.Number
	oneLine        = words.OneLine
	passMark       = words.PassMark
	rankText       = words.RankText
	ringText       = words.RingText
	rung           = words.Rung
	rungs          = words.Rungs
	sentenceCase   = words.SentenceCase
	sentenceEnd    = words.SentenceEnd
	settledLevel   = words.SettledLevel
	spreadText     = words.SpreadText
	tally          = words.Tally
	testedText     = words.TestedText
	testsText      = words.TestsText
	untested       = words.Untested
	weeksText      = words.WeeksText
	zoneHeading    = words.ZoneHeading
	zoneText       = words.ZoneText
	columns        = words.Columns
	wrap           = words.Wrap
	HarmlessLine   = words.HarmlessLine
)

func firstOf[T any](all []T, most int) []T { return words.FirstOf(all, most) }
