package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// AddWording puts a wording on the ladder.
type AddWording struct {
	By
	Level   int // +2 broader … -2 narrower; 0 is the level of the original
	Text    string
	Drafted bool // it is a machine's draft, unedited
	Began   bool // it began as a machine's draft
}

func (i AddWording) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(canAnswer(k, state.StageFraming), checkWording(i.Text, i.Level)); err != nil {
		return nil, err
	}
	if slices.ContainsFunc(k.Framing.Wordings, func(w state.Wording) bool { return w.By == i.Who && w.Level == i.Level && w.Text == i.Text }) {
		return nil, nil // sent again, after an answer that was lost
	}
	same, twice := lists.Find(k.Framing.Wordings, func(w state.Wording) bool { return state.SameWords(w.Text, i.Text) })
	return provided(cmp.Or(
		refuseIf(twice, "text", "That wording is on the ladder already, as number %d. You can tick it when you choose.", same.N),
		refuseIf(state.SameWords(i.Text, k.Brief.Problem), "text",
			"That is the original wording, which is on the ladder already. You can tick it when you choose."),
	), event.WordingAdded{N: len(k.Framing.Wordings) + 1, Level: i.Level, Text: i.Text, Drafted: i.Drafted, Began: i.Began && !i.Drafted})
}

func checkWording(text string, level int) error {
	return cmp.Or(checkLevel(level), checkText("text", "wording", text, MaxText, true))
}

func checkLevel(level int) error {
	return refuseIf(level < -2 || level > 2, "level", "Choose a level from +2 (broader) to -2 (narrower).")
}

// EditWording changes a wording; its author or a lead may.
type EditWording struct {
	By
	N     int
	Level int
	Text  string
}

func (i EditWording) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canAnswer(k, state.StageFraming); err != nil {
		return nil, err
	}
	w := lists.Nth(k.Framing.Wordings, i.N)
	if w == nil {
		return nil, refuse("That wording is not on the ladder.")
	}
	if w.By != i.Who && !k.IsLead(i.Who) {
		return nil, refuse("Only %s or the lead can change that wording. You can add one of your own.", k.Name(w.By))
	}
	return provided(checkWording(i.Text, i.Level), event.WordingEdited{N: i.N, Level: i.Level, Text: i.Text})
}

// VoteFraming gives, or changes, the actor's level and ticks.
type VoteFraming struct {
	By
	Level int
	Ticks []int // wordings one could live with; Original is 0
}

func (i VoteFraming) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(canAnswer(k, state.StageFraming), checkLevel(i.Level)); err != nil {
		return nil, err
	}
	ticks := slices.Clone(i.Ticks)
	slices.Sort(ticks)
	ticks = slices.Compact(ticks)
	off, isOff := lists.Find(ticks, func(n int) bool { return n < 0 || n > len(k.Framing.Wordings) })
	return provided(refuseIf(isOff, "ticks", "Wording %d is not on the ladder.", off),
		append([]event.Event{event.FramingVoted{Level: i.Level, Ticks: ticks}}, finish(k, i.Who)...)...)
}

// countFraming takes the median level and the wording with most ticks. Among
// wordings with equal ticks the one nearest to the agreed level is proposed,
// then the one that has stood longest. Without any tick the original stands.
// People who have left still count: they chose when they were asked.
func countFraming(k *state.Kickoff, _ time.Time) (counted, again []event.Event) {
	var levels []int
	for _, v := range k.Framing.Votes {
		levels = append(levels, v.Level)
	}
	level := engine.Ladder(levels)
	best, ticks := state.Original, k.Framing.Ticks()
	away := func(n int) int { return abs(k.Framing.LevelOf(n) - level.Level) }
	for n, count := range ticks {
		if count > ticks[best] || count > 0 && count == ticks[best] && away(n) < away(best) {
			best = n
		}
	}
	return []event.Event{event.FramingCounted{Level: state.FewLevels(level), Proposed: best, Ticks: ticks}}, nil
}

func abs(n int) int { return max(n, -n) }

func proposedProblem(k *state.Kickoff) string { return k.WordingText(k.Framing.Proposed) }

// SettleFraming confirms, edits, or keeps the original problem statement.
type SettleFraming struct {
	ByLead
	Problem string
	Level   int
}

func (i SettleFraming) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	return settle(k, state.StageFraming, checkProblem(i.Problem, i.Level), event.FramingSettled{Problem: i.Problem, Level: i.Level}, now)
}

func checkProblem(problem string, level int) error {
	return cmp.Or(checkText("problem", "problem statement", problem, MaxText, true), checkLevel(level))
}

func settleFramingAsProposed(k *state.Kickoff) event.Event {
	return event.FramingSettled{Problem: proposedProblem(k), Level: k.Framing.Level.Level}
}

func gaveFraming(k *state.Kickoff, u state.UserID, _ int) bool {
	return lists.Has(k.Framing.Votes, u)
}

// afterFraming says what should follow from the problem.
func afterFraming(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.WordingAdded, event.WordingEdited:
		b.contents(state.StageFraming)
	case event.FramingSettled:
		b.settled(state.StageFraming)
		b.show(ScreenResult, string(state.StageFraming))
	}
}
