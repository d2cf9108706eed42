package prompts

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

// A note stands above each prompt text, for people.
type note struct {
	Name, Purpose, Inputs, Output string
	Version                       int // from 1; goes up with every change to the body
}

func noteOf(t *testing.T, x promptText) (n note) {
	t.Helper()
	require.NoError(t, yaml.Unmarshal([]byte(x.note), &n), x.note)
	return n
}

// Every text has its whole note, and no file is left out.
func TestTextsHaveNotes(t *testing.T) {
	listed := map[string]bool{}
	for name, x := range promptTexts {
		listed[name+".md"] = true
		n := noteOf(t, x)
		assert.Equal(t, name, n.Name)
		for _, part := range []string{n.Purpose, n.Inputs, n.Output, x.body} {
			assert.NotEmpty(t, part, "a gap in the note of %q: %+v", name, n)
		}
	}
	all, err := files.ReadDir("texts")
	require.NoError(t, err)
	for _, f := range all {
		assert.True(t, listed[f.Name()] || !strings.HasSuffix(f.Name(), ".md"), "%s is never sent", f.Name())
	}
}

// A text that changes gets a new version: change both lines here together.
func TestVersionsGoUp(t *testing.T) {
	want := map[string]string{
		"ladder":   "2 e1b095be493f",
		"plainer":  "1 3dcd773338b7",
		"split":    "2 72f3c6dd0e83",
		"gist":     "2 8818d732e8b5",
		"material": "1 dd827b4cc290",
		"repair":   "1 89087bfa27a0",
	}
	for name, x := range promptTexts {
		got := fmt.Sprintf("%d %.6x", noteOf(t, x).Version, sha256.Sum256([]byte(x.body)))
		assert.Equal(t, want[name], got, "%q: if its body changed, raise its version", name)
	}
}

// The shape that is asked for and the shape that is read are one, and every
// field that is promised is also shown in the text.
func TestSchemasFitTheAnswers(t *testing.T) {
	for name, fields := range map[string][]string{
		"ladder":  {"broader_2", "broader_1", "narrower_1", "narrower_2"},
		"plainer": {"plain"}, "split": {"parts"}, "gist": {"gist"},
	} {
		text := promptTexts[name]
		var schema struct {
			Type       string
			Properties map[string]any
			Required   []string
			Additional bool `json:"additionalProperties"`
		}
		require.NoError(t, json.Unmarshal(text.schema, &schema), name)
		assert.Equal(t, "object", schema.Type, "%s: the schema is %+v, want exactly the fields", name, schema)
		assert.False(t, schema.Additional, "%s: the schema is %+v, want exactly the fields", name, schema)
		assert.Equal(t, fields, schema.Required, "%s: the schema is %+v, want exactly the fields", name, schema)
		assert.Len(t, schema.Properties, len(fields), "%s: the schema is %+v, want exactly the fields", name, schema)
		for _, f := range fields {
			assert.NotNil(t, schema.Properties[f], "%s: %s is missing in the schema or the text", name, f)
			assert.Contains(t, text.body, `"`+f+`"`, "%s: %s is missing in the schema or the text", name, f)
		}
	}
	for name, k := range kinds {
		for _, f := range append(k.fields, k.list) {
			assert.Contains(t, string(promptTexts[name].schema), f, name)
		}
	}
}
