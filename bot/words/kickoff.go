package words

import (
	"fmt"
	"strings"

	"soundings/flows/state"
	"soundings/flows/views"
)

// DraftsText says which wordings of the ladder began as a machine's drafts:
// nobody should take for a colleague's words what no colleague wrote. It is
// empty where none did.
func DraftsText(k state.Kickoff) string {
	began, changed, settled := 0, 0, false
	for _, w := range k.Framing.Wordings {
		if !w.Began {
			continue
		}
		began++
		if !w.Drafted {
			changed++
		}
		settled = settled || k.Framing.Settled && w.Text == k.Framing.Problem
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
	if settled {
		text += " The one that was settled is among them."
	}
	return text
}

// KindText is the kind of risk in a word; a tie shows both.
func KindText(k state.Kickoff, id string) string {
	var words []string
	for _, kind := range views.KindsOf(k.Backlog, id) {
		words = append(words, string(kind))
	}
	return strings.Join(words, "/")
}

// RingText names a ring within a sentence.
func RingText(r state.Ring) string {
	if r == state.Core {
		return "core team"
	}
	return string(r)
}

// LeadName is the name of the first lead, clipped for a sentence.
func LeadName(k state.Kickoff) string { return Clip(k.Name(k.Lead().ID), 60) }
