package words

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
	"soundings/flows/state"
)

// answers are what so many people said.
func answers(said ...int) map[state.UserID]int {
	out := map[state.UserID]int{}
	for i, v := range said {
		out[state.UserID(rune('a'+i))] = v
	}
	return out
}

// Of fewer than four votes no figure is told, of one nothing at all.
func TestFewVotesHaveNoFigure(t *testing.T) {
	for _, test := range []struct {
		weeks, said []int
		votes, sure string
	}{
		{nil, nil, "Nobody voted.", "Nobody said how confident they are."},
		{[]int{9}, []int{9}, "1 person voted, too few for a figure.", "1 person said how confident they are, too few for a figure."},
		{[]int{5, 9}, []int{7, 9}, "2 people voted, too few for a figure; both would take more weeks than are proposed.",
			"2 people said how confident they are, too few for a figure; both are confident."},
		{[]int{2, 9}, []int{3, 7}, "2 people voted, too few for a figure.", "2 people said how confident they are, too few for a figure; they see it differently."},
		{[]int{2, 3, 9}, []int{4, 9, 6}, "3 people voted, too few for a figure; most would take fewer weeks than are proposed.",
			"3 people said how confident they are, too few for a figure; most say it could go either way."},
		{[]int{4, 4, 4}, []int{1, 1, 1}, "3 people voted, too few for a figure.", "3 people said how confident they are, too few for a figure; most are not confident."},
		{[]int{2, 3, 4, 9}, []int{1, 4, 5, 9}, "The median of 4 votes is 3.5 weeks; at least half of them lie within 2.5 weeks of each other.",
			"Confidence that this is worth building: 4.5 of 9 (median of 4 votes)."},
	} {
		votes := answers(test.weeks...)
		box := state.Timebox{Votes: votes, Proposal: engine.Proposal{Weeks: 4}, Than: state.ThanProposed(votes, 4)}
		box.Median, box.IQR = state.SpreadOf(votes)
		assert.Equal(t, test.votes, VotesText(box), "weeks %v", test.weeks)
		c := state.Checkin{N: 1, Closed: time.Unix(1, 0), Confidence: answers(test.said...)}
		assert.Equal(t, test.sure, ConfidenceMove(state.Kickoff{Underway: state.Underway{Checkins: []state.Checkin{c}}}, c), "confidence %v", test.said)
	}
}

// Nor of what few said before the first test; what being wrong would cost is told where
// most of them said the same.
func TestFewOutlooksHaveNoFigure(t *testing.T) {
	costs := func(said ...engine.Cost) map[state.UserID]engine.Cost {
		out := map[state.UserID]engine.Cost{}
		for i, c := range said {
			out[state.UserID(rune('a'+i))] = c
		}
		return out
	}
	const day, quarter, name = engine.CostDay, engine.CostQuarter, engine.CostName
	for _, test := range []struct {
		worth []int
		cost  []engine.Cost
		want  string
	}{
		{[]int{7}, nil, "Before the tests, 1 person said how likely it is that this is worth building, too few for a figure."},
		{[]int{7, 3}, nil, "Before the tests, 2 people said how likely it is that this is worth building, too few for a figure; they see it differently."},
		{[]int{7, 3, 8}, nil, "Before the tests, 3 people said how likely it is that this is worth building, too few for a figure; most found it likely."},
		{nil, []engine.Cost{name}, "1 person said what being wrong would cost, too few to show it."},
		{nil, []engine.Cost{day, name}, "2 people said what being wrong would cost, too few to show it."},
		{nil, []engine.Cost{name, name}, "Being wrong would cost the company’s good name, as both of 2 said."},
		{nil, []engine.Cost{day, name, day}, "Being wrong would cost a day of work, as most of 3 said."},
		{nil, []engine.Cost{day, name, quarter}, "3 people said what being wrong would cost, too few to show it."},
		{nil, []engine.Cost{day, name, name, day}, "Being wrong would cost the company’s good name (2 said a day of work, 2 said the company’s good name)."},
	} {
		assert.Equal(t, test.want, OutlookText(*state.OutlookOf(state.Timebox{Worth: answers(test.worth...), Cost: costs(test.cost...)})))
	}
}

// How confidence went is told once there are two figures.
func TestConfidenceWent(t *testing.T) {
	closed := func(said ...int) state.Checkin {
		return state.Checkin{Closed: time.Unix(1, 0), Confidence: answers(said...)}
	}
	before := &state.Outlook{Worth: 5, WorthIQR: 0, Worths: 4}
	four, three := closed(6, 6, 6, 6), closed(8, 8, 3)
	for _, test := range []struct {
		before   *state.Outlook
		checkins []state.Checkin
		want     string
	}{
		{nil, nil, ""},
		{before, nil, ""},
		{before, []state.Checkin{four, closed(7, 7, 7, 7)}, "Confidence went from 5 of 9 before the tests to 6, then 7."},
		{nil, []state.Checkin{four, four}, "Confidence went from 6 of 9 to 6."},
		{nil, []state.Checkin{four}, "Confidence: 6 of 9."},
		{before, []state.Checkin{four, three}, "Most of 3 are confident."},
		{before, []state.Checkin{four, {Confidence: answers(1, 1, 1, 1)}}, "Confidence went from 5 of 9 before the tests to 6."}, // the last is open
	} {
		k := state.Kickoff{Timebox: state.Timebox{Outlook: test.before}, Underway: state.Underway{Checkins: test.checkins}}
		assert.Equal(t, test.want, ConfidenceWent(k))
	}
}
