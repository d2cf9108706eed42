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

// DraftsText says which wordings of the ladder began as a machine's drafts:
// nobody should take for a colleague's words what no colleague wrote. It is
// empty where none did.
func DraftsText(k flows.Kickoff) string {
	began, changed, agreed := 0, 0, false
	for _, w := range k.Framing.Wordings {
		if !w.Began {
			continue
		}
		began++
		if !w.Drafted {
			changed++
		}
		agreed = agreed || k.Framing.Settled && w.Text == k.Framing.Problem
	}
	if began == 0 {
		return ""
	}
	text := fmt.Sprintf("%s as a machine's draft", Count(began, "wording began", "wordings began"))
	switch {
	case changed == 0 && began == 1:
		text += ", and stands as it was drafted."
	case changed == 0:
		text += ", and stand as they were drafted."
	case changed == began:
		text += ", and people have changed the words since."
	default:
		text += fmt.Sprintf("; people have changed the words of %d since.", changed)
	}
	if agreed {
		text += " The agreed one is among them."
	}
	return text
}
