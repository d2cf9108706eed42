package prompts

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
)

// texts/*.md are the prompt texts, each under a note; texts/*.schema.json are
// the shapes of their answers, for servers that can hold a model to one.
//
//go:embed texts
var files embed.FS

// A Text is one prompt text with the note that stands above it.
type Text struct {
	Name    string `yaml:"name"`    // of the file, without its ending
	Version int    `yaml:"version"` // from 1; goes up with every change to the body
	Purpose string `yaml:"purpose"` // what it is for
	Inputs  string `yaml:"inputs"`  // what is put into it, or sent with it
	Output  string `yaml:"output"`  // what answer it asks for

	Body   string          `yaml:"-"` // what is sent
	Schema json.RawMessage `yaml:"-"` // of the answer, a JSON schema; nil where it asks for none
}

// allTexts are the prompt texts that the package can send. None of them comes
// back in a draft.
var allTexts = readTexts("ladder", "plainer", "split", "gist", "material", "repair")

// readTexts reads embedded texts. That each one can be read is held by a
// test, so a fault here is a bug.
func readTexts(names ...string) (all []Text) {
	for _, name := range names {
		t, err := parseText(embedded(name + ".md"))
		if err != nil {
			panic(fmt.Sprintf("prompts: text %q: %v", name, err))
		}
		if schema, err := files.ReadFile("texts/" + name + ".schema.json"); err == nil {
			t.Schema = schema
		}
		all = append(all, t)
	}
	return all
}

func embedded(name string) string {
	raw, err := files.ReadFile("texts/" + name)
	if err != nil {
		panic(fmt.Sprintf("prompts: %v", err))
	}
	return string(raw)
}

func textNamed(name string) Text {
	for _, t := range allTexts {
		if t.Name == name {
			return t
		}
	}
	panic(fmt.Sprintf("prompts: there is no text %q", name))
}

// parseText takes the note, between two lines of dashes, off a text.
func parseText(raw string) (Text, error) {
	const rule = "---\n"
	rest, ok := strings.CutPrefix(raw, rule)
	note, body, closed := strings.Cut(rest, "\n"+rule)
	if !ok || !closed {
		return Text{}, fmt.Errorf("no note between two lines of ---")
	}
	var t Text
	if err := yaml.Unmarshal([]byte(note), &t); err != nil {
		return Text{}, fmt.Errorf("note: %w", err)
	}
	t.Body = strings.TrimSpace(body)
	return t, nil
}

// fill puts a value into the place that a text has for it. What is put in is
// not looked at again, so it cannot open a place of its own.
func (t Text) fill(place, value string) string {
	return strings.Replace(t.Body, "{{"+place+"}}", value, 1)
}
