package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/engine"
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

func (i AddWording) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
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
	), WordingAdded{N: len(k.Framing.Wordings) + 1, Level: i.Level, Text: i.Text, Drafted: i.Drafted, Began: i.Began && !i.Drafted})
}

func checkWording(text string, level int) error {
	return cmp.Or(checkLevel(level), checkText("text", "wording", text, MaxText, true))
}

func checkLevel(level int) error {
	return refuseIf(level < -2 || level > 2, "level", "Choose a level from +2 (broader) to -2 (narrower).")
}

// WordingAdded adds a rung's wording.
type WordingAdded struct {
	N       int
	Level   int
	Text    string
	Drafted bool `json:",omitempty"`
	Began   bool `json:",omitempty"` // it began as a machine's draft, and was edited before it was added
}

func (e WordingAdded) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Add(k, &k.Framing.Wordings, state.Wording{N: e.N, By: by, Level: e.Level, Text: e.Text, Drafted: e.Drafted, Began: e.Drafted || e.Began})
}
func (WordingAdded) react(b *reaction) { b.contents(state.StageFraming) }

// EditWording changes a wording; its author or a lead may.
type EditWording struct {
	By
	N     int
	Level int
	Text  string
}

func (i EditWording) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
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
	return provided(checkWording(i.Text, i.Level), WordingEdited{N: i.N, Level: i.Level, Text: i.Text})
}

// WordingEdited changes a wording. A draft that a person edited is no machine's
// any more; that it began as one stays true.
type WordingEdited struct {
	N     int
	Level int
	Text  string
}

func (e WordingEdited) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	w := &state.Own(k, &k.Framing.Wordings)[e.N-1]
	w.Level, w.Text, w.Drafted = e.Level, e.Text, false
}
func (WordingEdited) react(b *reaction) { b.contents(state.StageFraming) }

// VoteFraming gives, or changes, the actor's level and ticks.
type VoteFraming struct {
	By
	Level int
	Ticks []int // wordings one could live with; Original is 0
}

func (i VoteFraming) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if err := cmp.Or(canAnswer(k, state.StageFraming), checkLevel(i.Level)); err != nil {
		return nil, err
	}
	ticks := slices.Clone(i.Ticks)
	slices.Sort(ticks)
	ticks = slices.Compact(ticks)
	off, isOff := lists.Find(ticks, func(n int) bool { return n < 0 || n > len(k.Framing.Wordings) })
	return provided(refuseIf(isOff, "ticks", "Wording %d is not on the ladder.", off),
		append([]Event{FramingVoted{Level: i.Level, Ticks: ticks}}, finish(k, i.Who)...)...)
}

// FramingVoted is one person's choice; the last one counts.
type FramingVoted state.FramingVote

func (e FramingVoted) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Framing.Votes, by, state.FramingVote(e))
}

// countFraming takes the median level and the wording with most ticks. Among
// wordings with equal ticks the one nearest to the agreed level is proposed,
// then the one that has stood longest. Without any tick the original stands.
// People who have left still count: they chose when they were asked.
func countFraming(k *state.Kickoff, _ time.Time) (counted, again []Event) {
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
	return []Event{FramingCounted{Level: state.FewLevels(level), Proposed: best, Ticks: ticks}}, nil
}

func abs(n int) int { return max(n, -n) }

// FramingCounted is the result of the choice, before the lead settles it.
type FramingCounted struct {
	Level    engine.LadderLevel
	Proposed int
	Ticks    []int `json:",omitempty"` // from the original on
}

func (e FramingCounted) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Framing.Level, k.Framing.Proposed, k.Framing.Ticked = e.Level, e.Proposed, e.Ticks
}

func proposedProblem(k *state.Kickoff) string { return k.WordingText(k.Framing.Proposed) }

// SettleFraming confirms, edits, or keeps the original problem statement.
type SettleFraming struct {
	ByLead
	Problem string
	Level   int
}

func (i SettleFraming) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	return settle(k, state.StageFraming, checkProblem(i.Problem, i.Level), FramingSettled{Problem: i.Problem, Level: i.Level}, now)
}

func checkProblem(problem string, level int) error {
	return cmp.Or(checkText("problem", "problem statement", problem, MaxText, true), checkLevel(level))
}

func settleFramingAsProposed(k *state.Kickoff) Event {
	return FramingSettled{Problem: proposedProblem(k), Level: k.Framing.Level.Level}
}

func clearFraming(k *state.Kickoff, _ int) { k.Framing.Settled, k.Framing.Ticked = false, nil }

func gaveFraming(k *state.Kickoff, u state.UserID, _ int) bool {
	return lists.Has(k.Framing.Votes, u)
}

// FramingSettled is the problem on which the rest stands.
type FramingSettled struct {
	Problem string
	Level   int
}

func (e FramingSettled) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	f := &k.Framing
	f.Settled, f.SettledBy, f.Problem, f.AtLevel = true, by, e.Problem, e.Level
}

func (FramingSettled) react(b *reaction) {
	b.settled(state.StageFraming)
	b.show(ScreenResult, string(state.StageFraming))
}
