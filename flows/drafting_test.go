package flows

import (
	"errors"
	"testing"
)

// How often drafts may be asked for is ours to say; no source.
func TestDraftsAreCounted(t *testing.T) {
	k := Kickoff{Started: monday, Stage: StageFraming, People: []Person{{ID: "ines"}}, Leads: []UserID{"ines"}}
	k.Window = Window{Stage: StageFraming, Phase: PhaseOpen, Opened: monday, Closes: monday.AddDate(0, 0, 2), Asked: []UserID{"ines"}}
	ask := AskDraft{ByLead: ByLead{Who: "ines"}, What: DraftLadder}
	for n := range MostDrafts {
		events, err := Decide(k, ask, monday)
		if err != nil {
			t.Fatalf("request %d: %v", n+1, err)
		}
		k = Apply(k, k.Version+1, Record{At: monday, By: "ines", Events: events})
	}
	if k.Framing.Drafts != MostDrafts {
		t.Errorf("%d requests are counted, want %d", k.Framing.Drafts, MostDrafts)
	}
	var refused *Refusal
	if _, err := Decide(k, ask, monday); !errors.As(err, &refused) {
		t.Errorf("one request more gives %v, want a refusal", err)
	}
	k.Framing.Drafts = 0
	if _, err := Decide(k, AskDraft{ByLead: ask.ByLead, What: "verdict"}, monday); !errors.As(err, &refused) {
		t.Errorf("drafts of something else give %v, want a refusal", err)
	}
}
