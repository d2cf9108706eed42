package prompts

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"
)

// texts/*.md are the prompt texts, each under a note for people;
// texts/*.schema.json are the shapes of their answers, for servers that can
// hold a model to one. Tests hold that each file can be read, so a fault in
// one is a bug.
//
//go:embed texts
var files embed.FS

// A promptText is what is sent.
type promptText struct {
	name   string          // of the file, without its ending
	body   string          // without the note
	schema json.RawMessage // of the answer, a JSON schema; nil where it asks for none
}

// allTexts are the prompt texts that the package can send. None of them comes
// back in a draft.
var allTexts = readTexts("ladder", "plainer", "split", "gist", "material", "repair")

func readTexts(names ...string) (all []promptText) {
	for _, name := range names {
		_, body, ok := cutNote(embedded(name + ".md"))
		if !ok {
			panic(fmt.Sprintf("prompts: text %q has no note", name))
		}
		schema, err := files.ReadFile("texts/" + name + ".schema.json")
		if err != nil {
			schema = nil // it asks for no answer of its own
		}
		all = append(all, promptText{name, body, schema})
	}
	return all
}

// cutNote takes the note, between two lines of dashes, off a text.
func cutNote(raw string) (note, body string, ok bool) {
	const rule = "---\n"
	rest, opened := strings.CutPrefix(raw, rule)
	note, body, closed := strings.Cut(rest, "\n"+rule)
	return note, strings.TrimSpace(body), opened && closed
}

func embedded(name string) string {
	raw, err := files.ReadFile("texts/" + name)
	if err != nil {
		panic(fmt.Sprintf("prompts: %v", err))
	}
	return string(raw)
}

func textNamed(name string) promptText {
	for _, t := range allTexts {
		if t.name == name {
			return t
		}
	}
	panic(fmt.Sprintf("prompts: there is no text %q", name))
}

// fill puts a value into the place that a text has for it. What is put in is
// not looked at again, so it cannot open a place of its own.
func (t promptText) fill(place, value string) string {
	return strings.Replace(t.body, "{{"+place+"}}", value, 1)
}
