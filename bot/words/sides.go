package words

import (
	"fmt"
	"slices"

	"soundings/flows/state"
)

// Where a map hangs on who rated, in words that name nobody.

// mostApart is how many differences between the core team and the others are told.
const mostApart = 3

// ApartText says what the core team and the others see differently, the clearest first: "The
// core team finds A8 less important and A4 better known than the others do." It is empty
// where they see all alike, or few are on one side.
func ApartText(s state.Sides) string {
	if len(s.Apart) == 0 {
		return ""
	}
	var finds []string
	for _, a := range s.Apart[:min(mostApart, len(s.Apart))] {
		finds = append(finds, a.Assumption+" "+comparative(a))
	}
	more := ""
	if left := len(s.Apart) - mostApart; left > 0 {
		more = fmt.Sprintf(" On %s they differ too.", Count(left, "further point", "further points"))
	}
	return fmt.Sprintf("The core team finds %s than the others do.%s A difference as large would rarely come by chance: what does one side know that the other does not?",
		And(finds, mostApart), more)
}

func comparative(a state.Apart) string {
	switch {
	case a.Scale == state.Importance && a.CoreHigher:
		return "more important"
	case a.Scale == state.Importance:
		return "less important"
	case a.CoreHigher:
		return "better known"
	}
	return "less well known"
}

// SingleText says that no single ballot decides which three come first. It is empty where one
// does: FirmText says then which could change places, and whose ballot it is nobody can look up.
func SingleText(k state.Kickoff, s state.Sides) string {
	switch {
	case !s.Single || len(s.Pivotal) > 0:
		return ""
	case slices.ContainsFunc(k.Leads, k.Rates):
		return "No single ballot decides which three come first, the lead's included."
	}
	return "No single ballot decides which three come first."
}
