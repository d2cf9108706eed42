package words

import (
	"fmt"

	"soundings/flows"
)

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
