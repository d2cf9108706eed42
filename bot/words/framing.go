package words

import (
	"fmt"

	"soundings/flows/state"
)

// Agreed reports whether enough could live with a wording to call it agreed: three
// quarters of those who chose (common practice, no source).
func Agreed(ticks, voters int) bool { return voters > 0 && 4*ticks >= 3*voters }

// FramingVoters counts who chose on the ladder, counted or not.
func FramingVoters(k state.Kickoff) int { return max(k.Framing.Level.N, len(k.Framing.Votes)) }

// SettledText says what the problem rests on: who settled it, how many could live with
// it, and where its level is not the one that people chose. It is empty before that.
func SettledText(k state.Kickoff) string {
	if !k.Framing.Settled {
		return ""
	}
	text := settledBy(k) + " " + livedWith(k)
	if rung, gap := SettledGap(k); gap {
		text += fmt.Sprintf(" On the ladder this wording stands at %s, and not at %s.", Rung(rung), Rung(k.Framing.AtLevel))
	}
	return text
}

// settledBy says who settled the wording, and against the choice where so.
func settledBy(k state.Kickoff) string {
	f := k.Framing
	ticked := f.Ticks()[f.Proposed] > 0
	switch {
	case f.SettledBy == "" && !ticked:
		return "The lead did not settle it in time, so it stands as it was brought."
	case f.SettledBy == "":
		return "The lead did not settle it in time, so what people chose stands."
	}
	by := Clip(k.Name(f.SettledBy), 60)
	switch {
	case f.Problem == k.WordingText(f.Proposed) && !ticked:
		return by + " settled it, as it was brought."
	case f.Problem == k.WordingText(f.Proposed):
		return by + " settled it, with the wording that people chose."
	case f.Problem == k.Brief.Problem:
		return by + " settled it, and kept the original wording."
	}
	return by + " settled it, and changed the wording that people chose."
}

// livedWith counts who could live with what was settled.
func livedWith(k state.Kickoff) string {
	voters := FramingVoters(k)
	n, stands := settledWording(k)
	switch {
	case !stands:
		return "Nobody could tick these words."
	case voters == 0:
		return "Nobody ticked a wording."
	}
	ticks := k.Framing.Ticks()[n]
	switch {
	case ticks == voters && voters > 1:
		return fmt.Sprintf("All %d could live with it: agreed.", voters)
	case Agreed(ticks, voters):
		return fmt.Sprintf("%d of %d could live with it: agreed.", ticks, voters)
	}
	return fmt.Sprintf("%d of %d could live with it; %d did not tick it.", ticks, voters, voters-ticks)
}

// settledWording is the wording of the ladder that was settled, if it stands there.
func settledWording(k state.Kickoff) (n int, stands bool) {
	is := func(n int) bool { return k.WordingText(n) == k.Framing.Problem }
	if is(k.Framing.Proposed) {
		return k.Framing.Proposed, true
	}
	for i := range len(k.Framing.Wordings) + 1 {
		if is(i) {
			return i, true
		}
	}
	return 0, false
}

// SettledGap is the level of the wording that was settled, where the discovery works
// at another one.
func SettledGap(k state.Kickoff) (rung int, gap bool) {
	n, stands := settledWording(k)
	if !k.Framing.Settled || !stands {
		return 0, false
	}
	rung = k.Framing.LevelOf(n)
	return rung, rung != k.Framing.AtLevel
}
