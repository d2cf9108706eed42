package words

import (
	"fmt"

	"soundings/flows"
)

// SettledLevel is the level at which the discovery works.
func SettledLevel(k flows.Kickoff) int {
	if k.Framing.Settled {
		return k.Framing.AtLevel
	}
	return k.Framing.Level.Level
}

// LevelText names a rung of the ladder: "+1, broader than the brief".
func LevelText(level int) string {
	switch {
	case level >= 2:
		return "+2, much broader than the brief"
	case level == 1:
		return "+1, broader than the brief"
	case level == 0:
		return "0, as in the brief"
	case level == -1:
		return "-1, narrower than the brief"
	}
	return "-2, much narrower than the brief"
}

// Rung writes a level of the ladder: +1, 0, -2.
func Rung(level int) string {
	if level == 0 {
		return "0"
	}
	return fmt.Sprintf("%+d", level)
}

// LadderText tells how the level came about.
func LadderText(k flows.Kickoff) string {
	l := k.Framing.Level
	if l.N == 0 {
		return fmt.Sprintf("Nobody chose one, so we work at %s.", LevelText(SettledLevel(k)))
	}
	half := ""
	if l.HalfStep {
		half = " The median lay between two levels, and the narrower one counts."
	}
	return fmt.Sprintf("%s chose from +2 (broader: why does it matter?) to -2 (narrower: how does it show?). Median %s, the middle half spans %s.%s We work at %s.",
		Count(l.N, "person", "people"), Number(l.Median), Number(l.IQR), half, LevelText(SettledLevel(k)))
}

// Rungs lists the numbers of all wordings from broad to narrow.
func Rungs(k flows.Kickoff) []int {
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
