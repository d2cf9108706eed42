package words

import (
	"fmt"

	"soundings/engine"
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
		text += fmt.Sprintf(" The level is %s, but this wording stands at %s.", Rung(k.Framing.AtLevel), Rung(rung))
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
		return "These words are new, so nobody has ticked them."
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

// SettledLevel is the level at which the discovery works.
func SettledLevel(k state.Kickoff) int {
	if k.Framing.Settled {
		return k.Framing.AtLevel
	}
	return k.Framing.Level.Level
}

// LevelText names a rung of the ladder: "+1, broader than the brief".
func LevelText(level int) string {
	level = min(max(level, -2), 2)
	return Rung(level) + ", " + [...]string{"much narrower than the brief", "narrower than the brief", "as in the brief",
		"broader than the brief", "much broader than the brief"}[level+2]
}

// Rung writes a level of the ladder: +1, 0, -2.
func Rung(level int) string {
	if level == 0 {
		return "0"
	}
	return fmt.Sprintf("%+d", level)
}

// ChosenText says where the chosen levels lie: "median 1; the middle half of the
// choices lie within 1 level of each other."
func ChosenText(l engine.LadderLevel) string {
	if l.N < state.FewestRaters {
		return fmt.Sprintf("median %s. %s", Number(l.Median), TooFew)
	}
	return fmt.Sprintf("median %s; %s.", Number(l.Median), halfOf("the choices", l.IQR, func(f engine.Figure) string { return figure(f, "level", "levels") }))
}

// LadderText tells how the level came about.
func LadderText(k state.Kickoff) string {
	l := k.Framing.Level
	if l.N == 0 {
		return fmt.Sprintf("Nobody chose one, so we work at %s.", LevelText(SettledLevel(k)))
	}
	half := ""
	if l.HalfStep {
		half = " The median lay between two levels, and the narrower one counts."
	}
	return fmt.Sprintf("%s chose from +2 (broader: why does it matter?) to -2 (narrower: how does it show?). %s%s We work at %s.",
		Count(l.N, "person", "people"), SentenceCase(ChosenText(l)), half, LevelText(SettledLevel(k)))
}

// Rungs lists the numbers of all wordings from broad to narrow.
func Rungs(k state.Kickoff) []int {
	var out []int
	for level := 2; level >= -2; level-- {
		for n := range len(k.Framing.Wordings) + 1 {
			if k.Framing.LevelOf(n) == level {
				out = append(out, n)
			}
		}
	}
	return out
}
