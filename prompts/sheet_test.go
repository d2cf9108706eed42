package prompts

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"testing"

	"soundings/flows/hints"
)

// The sheet is kept where people look for test data; the program carries it.
func TestOwnSheetIsTheSheetInTestdata(t *testing.T) {
	want, err := os.ReadFile("../testdata/prompts/quality.yaml")
	if err != nil {
		t.Fatal(err)
	}
	got, err := files.ReadFile("texts/quality.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("prompts/texts/quality.yaml differs from testdata/prompts/quality.yaml")
	}
	if n := len(OwnSheet().Statements); n != 20 {
		t.Errorf("the sheet has %d statements, want 20", n)
	}
}

// Good wordings pass every check: a check that stops them would leave people
// without a draft.
func TestGoodWordingsPass(t *testing.T) {
	for _, st := range OwnSheet().Statements {
		t.Run(st.ID, func(t *testing.T) {
			answer, err := json.Marshal(st.Good)
			if err != nil {
				t.Fatal(err)
			}
			drafts, faults := st.input().read(string(answer))
			for _, f := range faults {
				t.Errorf("%s fails %q: %s", f.Where, f.Check, st.Good[f.Where])
			}
			for _, d := range drafts {
				if !st.side(d.Level).keeps(d.Text) || !st.side(d.Level).avoids(d.Text) {
					t.Errorf("level %+d does not keep to its own line of the sheet: %s", d.Level, d.Text)
				}
			}
		})
	}
}

// Poor wordings fail the check that is named beside them.
func TestPoorWordingsFail(t *testing.T) {
	for _, st := range OwnSheet().Statements {
		if len(st.Poor) == 0 {
			t.Errorf("%s has no poor wording", st.ID)
		}
		for _, p := range st.Poor {
			if !slices.Contains(st.input().rules().faults("x", p.Text), Fault{"x", p.Fails}) {
				t.Errorf("%s: %q passes %q (similarity %.2f)", st.ID, p.Text, p.Fails, hints.Similarity(p.Text, st.Problem))
			}
		}
	}
}
