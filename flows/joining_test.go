package flows

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

func ids(people []state.Person) []state.UserID {
	var out []state.UserID
	for _, p := range people {
		out = append(out, p.ID)
	}
	return out
}

// Whoever is listed twice would be asked, and counted, twice.
func TestEverybodyIsListedOnce(t *testing.T) {
	w := newWorld()
	w.must(t, Start{FromOutside: FromOutside{"ines"}, Brief: state.Brief{Title: "Bicycles", Problem: "No room."},
		People: []state.Person{{ID: "ines"}, {ID: "tui"}, {ID: "tui", Name: "Tui again"}, {ID: ""}, {ID: "kofi", Gone: true}, {ID: "ines"}}})
	got, want := w.k.Window.Asked, []state.UserID{"ines", "tui", "kofi"}
	assert.Equal(t, want, got, "after the start %v are asked", got)
	w.must(t, Invite{ByLead: ByLead{"ines"}, People: []state.Person{{ID: "zoe"}, {ID: "tui"}, {ID: "zoe"}, {ID: ""}, {ID: "maya", Gone: true}}})
	got, want = w.k.Window.Asked, []state.UserID{"ines", "tui", "kofi", "zoe", "maya"}
	assert.Equal(t, want, got, "after the invitation %v are asked", got)
	assert.Equal(t, w.k.Window.Asked, ids(w.k.People), "people")
}

// A kickoff belongs to whoever starts it.
func TestNobodyStartsForAnother(t *testing.T) {
	start := Start{FromOutside: FromOutside{"ines"}, Brief: state.Brief{Title: "Bicycles", Problem: "No room."}}
	for name, people := range map[string][]state.Person{"nobody": nil, "somebody else": {{ID: "tui"}, {ID: "ines"}}, "no id": {{ID: ""}}} {
		start.People = people
		_, err := newWorld().do(start)
		var r *Refusal
		assert.ErrorAs(t, err, &r, "%s first: %v, want a refusal at people", name, err)
		assert.Equal(t, "people", r.Field, "%s first: %v, want a refusal at people", name, err)
	}
}

// The brief of a start holds what the lead wrote, and nothing in the name of
// others.
func TestStartTakesOnlyWhatTheLeadWrote(t *testing.T) {
	w := newWorld()
	w.must(t, Start{FromOutside: FromOutside{"ines"}, People: []state.Person{{ID: "ines"}, {ID: "tui"}}, Brief: state.Brief{Title: "Bicycles", Problem: "No room.",
		Read: map[state.UserID]bool{"tui": true}, Questions: []state.Question{{N: 7, By: "tui", Ask: "Why?"}}}})
	assert.False(t, w.k.Brief.Read["tui"], "the brief came with %v and", w.k.Brief.Read)
	assert.Empty(t, w.k.Brief.Questions, "the brief came with %v and", w.k.Brief.Read)
}

func TestNobodyAsksInAnothersName(t *testing.T) {
	w := usual(t, "framing")
	w.must(t, AskToJoin{FromOutside: FromOutside{"zoe"}, Person: state.Person{ID: "maya", Name: "Zoe"}})
	got := w.k.Asking
	assert.False(t, len(got) != 1 || got[0].Person.ID != "zoe", "asking are %+v, want Zoe", got)
}
