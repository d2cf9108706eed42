package flows

import (
	"errors"
	"slices"
	"testing"
)

func ids(people []Person) []UserID {
	var out []UserID
	for _, p := range people {
		out = append(out, p.ID)
	}
	return out
}

// Whoever is listed twice would be asked, and counted, twice.
func TestEverybodyIsListedOnce(t *testing.T) {
	w := newWorld()
	w.must(t, Start{FromOutside: FromOutside{"ines"}, Brief: Brief{Title: "Bicycles", Problem: "No room."},
		People: []Person{{ID: "ines"}, {ID: "tui"}, {ID: "tui", Name: "Tui again"}, {ID: ""}, {ID: "kofi", Gone: true}, {ID: "ines"}}})
	if got, want := w.k.Window.Asked, []UserID{"ines", "tui", "kofi"}; !slices.Equal(got, want) {
		t.Errorf("after the start %v are asked, want %v", got, want)
	}
	w.must(t, Invite{ByLead: ByLead{"ines"}, People: []Person{{ID: "zoe"}, {ID: "tui"}, {ID: "zoe"}, {ID: ""}, {ID: "maya", Gone: true}}})
	if got, want := w.k.Window.Asked, []UserID{"ines", "tui", "kofi", "zoe", "maya"}; !slices.Equal(got, want) {
		t.Errorf("after the invitation %v are asked, want %v", got, want)
	}
	if got := ids(w.k.People); !slices.Equal(got, w.k.Window.Asked) {
		t.Errorf("people are %v, want %v", got, w.k.Window.Asked)
	}
}

// A kickoff belongs to whoever starts it.
func TestNobodyStartsForAnother(t *testing.T) {
	start := Start{FromOutside: FromOutside{"ines"}, Brief: Brief{Title: "Bicycles", Problem: "No room."}}
	for name, people := range map[string][]Person{"nobody": nil, "somebody else": {{ID: "tui"}, {ID: "ines"}}, "no id": {{ID: ""}}} {
		start.People = people
		_, err := newWorld().do(start)
		var r *Refusal
		if !errors.As(err, &r) || r.Field != "people" {
			t.Errorf("%s first: %v, want a refusal at people", name, err)
		}
	}
}

// The brief of a start holds what the lead wrote, and nothing in the name of
// others.
func TestStartTakesOnlyWhatTheLeadWrote(t *testing.T) {
	w := newWorld()
	w.must(t, Start{FromOutside: FromOutside{"ines"}, People: []Person{{ID: "ines"}, {ID: "tui"}}, Brief: Brief{Title: "Bicycles", Problem: "No room.",
		Read: map[UserID]bool{"tui": true}, Questions: []Question{{N: 7, By: "tui", Ask: "Why?"}}}})
	if w.k.Brief.Read["tui"] || len(w.k.Brief.Questions) > 0 {
		t.Errorf("the brief came with %v and %v", w.k.Brief.Read, w.k.Brief.Questions)
	}
}

func TestNobodyAsksInAnothersName(t *testing.T) {
	w := usual(t, "framing")
	w.must(t, AskToJoin{FromOutside: FromOutside{"zoe"}, Person: Person{ID: "maya", Name: "Zoe"}})
	if got := w.k.Asking; len(got) != 1 || got[0].Person.ID != "zoe" {
		t.Errorf("asking are %+v, want Zoe", got)
	}
}
