package prompts

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

// The sheet is kept where people look for test data; the program carries it.
func TestOwnSheetIsTheSheetInTestdata(t *testing.T) {
	want, err := os.ReadFile("../testdata/prompts/quality.yaml")
	require.NoError(t, err)
	got, err := files.ReadFile("texts/quality.yaml")
	require.NoError(t, err)
	assert.True(t, bytes.Equal(got, want), "prompts/texts/quality.yaml differs from testdata/prompts/quality.yaml")
	n := len(OwnSheet().Statements)
	assert.Equal(t, 20, n, "the sheet has %d statements, want 20", n)
}

// Good wordings pass every check: a check that stops them would leave people
// without a draft.
func TestGoodWordingsPass(t *testing.T) {
	for _, st := range OwnSheet().Statements {
		t.Run(st.ID, func(t *testing.T) {
			answer, err := json.Marshal(st.Good)
			require.NoError(t, err)
			texts, faults := st.input().read(string(answer))
			for _, f := range faults {
				t.Errorf("%s fails %q: %s", f.Where, f.Check, st.Good[f.Where])
			}
			for i, text := range texts {
				side := st.Broader
				if i > 1 {
					side = st.Narrower
				}
				assert.True(t, side.keeps(text), "it does not keep to its own line of the sheet: %s", text)
				assert.True(t, side.avoids(text), "it does not keep to its own line of the sheet: %s", text)
			}
		})
	}
}

// Poor wordings fail the check that is named beside them.
func TestPoorWordingsFail(t *testing.T) {
	var sheet struct {
		Statements []struct {
			ID   string
			Poor []struct {
				Text  string
				Fails Check
			}
		}
	}
	require.NoError(t, yaml.Unmarshal([]byte(embedded("quality.yaml")), &sheet))
	for i, st := range OwnSheet().Statements {
		poor := sheet.Statements[i].Poor
		assert.NotEmpty(t, poor, st.ID)
		for _, p := range poor {
			assert.True(t, fails(st.input(), p.Text, p.Fails), "%s: %q passes %q", st.ID, p.Text, p.Fails)
		}
	}
}
