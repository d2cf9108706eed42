package prompts

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"go/build"
	"slices"
	"strings"
	"testing"
)

// Every text has its whole note, and no file is left out.
func TestTextsHaveNotes(t *testing.T) {
	listed := map[string]bool{}
	for _, x := range Texts() {
		listed[x.Name+".md"] = true
		if x.Version < 1 || x.Purpose == "" || x.Inputs == "" || x.Output == "" || x.Body == "" {
			t.Errorf("%q has a gap in its note: %+v", x.Name, x)
		}
	}
	all, err := files.ReadDir("texts")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range all {
		if strings.HasSuffix(f.Name(), ".md") && !listed[f.Name()] {
			t.Errorf("%s is not listed by Texts", f.Name())
		}
	}
}

// A text that changes gets a new version: change both lines here together.
func TestVersionsGoUp(t *testing.T) {
	want := map[string]string{
		"ladder":   "1 5d420891ced1",
		"plainer":  "1 3dcd773338b7",
		"split":    "2 72f3c6dd0e83",
		"gist":     "2 8818d732e8b5",
		"material": "1 dd827b4cc290",
		"repair":   "1 89087bfa27a0",
	}
	for _, x := range Texts() {
		if got := fmt.Sprintf("%d %.6x", x.Version, sha256.Sum256([]byte(x.Body))); got != want[x.Name] {
			t.Errorf("%q: %q, was %q; if its body changed, raise its version", x.Name, got, want[x.Name])
		}
	}
}

// Notes that cannot be read are told.
func TestNotesThatAreBroken(t *testing.T) {
	for _, raw := range []string{"", "body", "---\nname: x\nbody", "---\nname: [\n---\nbody"} {
		if x, err := parseText(raw); err == nil {
			t.Errorf("%q is read as %+v", raw, x)
		}
	}
}

// The shape that is asked for and the shape that is read are one, and every
// field that is promised is also shown in the text.
func TestSchemasFitTheAnswers(t *testing.T) {
	for name, fields := range map[string][]string{
		"ladder":  {"broader_2", "broader_1", "narrower_1", "narrower_2"},
		"plainer": {"plain"}, "split": {"parts"}, "gist": {"gist"},
	} {
		text := mustText(name)
		var schema struct {
			Type       string
			Properties map[string]any
			Required   []string
			Additional bool `json:"additionalProperties"`
		}
		if err := json.Unmarshal(text.Schema, &schema); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if schema.Type != "object" || schema.Additional || !slices.Equal(schema.Required, fields) || len(schema.Properties) != len(fields) {
			t.Errorf("%s: the schema is %+v, want exactly the fields %v", name, schema, fields)
		}
		for _, f := range fields {
			if schema.Properties[f] == nil || !strings.Contains(text.Body, `"`+f+`"`) {
				t.Errorf("%s: %s is missing in the schema or the text", name, f)
			}
		}
	}
	var rungFields []string
	for _, r := range rungs() {
		rungFields = append(rungFields, r.field)
	}
	if want := mustText("ladder"); !strings.Contains(string(want.Schema), strings.Join(rungFields, `", "`)) {
		t.Errorf("the rungs %v are not those of the schema", rungFields)
	}
}

// This package knows the mathematics and the hints, and nothing else of ours:
// no kickoff, no chat platform, no store.
func TestImports(t *testing.T) {
	pkg, err := build.ImportDir(".", 0)
	if err != nil {
		t.Fatal(err)
	}
	allowed := []string{"soundings/engine", "soundings/flows/hints", "github.com/sashabaranov/go-openai", "go.yaml.in/yaml/v3"}
	for _, path := range pkg.Imports {
		first, _, _ := strings.Cut(path, "/")
		foreign := strings.Contains(first, ".") || first == "soundings"
		if foreign && !slices.Contains(allowed, path) {
			t.Errorf("prompts imports %s", path)
		}
	}
}
