package prompts

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
)

// texts/*.md are the prompt texts, each under a note for people;
// texts/*.schema.json are the shapes of their answers, for servers that can
// hold a model to one. Tests hold that each file can be read, so a fault in
// one is a bug.
//
//go:embed texts
var files embed.FS

func embedded(name string) string {
	raw, err := files.ReadFile("texts/" + name)
	if err != nil {
		panic(fmt.Sprintf("prompts: %v", err))
	}
	return string(raw)
}

func embeddedYAML[T any](name string) (t T) {
	if err := yaml.Unmarshal([]byte(embedded(name)), &t); err != nil {
		panic(fmt.Sprintf("prompts: %s: %v", name, err))
	}
	return t
}

// A promptText is what is sent.
type promptText struct {
	note   string          // for people
	body   string          // without the note
	schema json.RawMessage // of the answer, a JSON schema; nil where it asks for none
}

// promptTexts are the prompt texts that the package can send. None of them
// comes back in a draft.
var promptTexts = map[string]promptText{
	Ladder: readText(Ladder), Plainer: readText(Plainer), Split: readText(Split), Gist: readText(Gist),
	"material": readText("material"), "repair": readText("repair"),
}

// readText parts a text from the note, which stands between two lines of dashes.
func readText(name string) promptText {
	parts := strings.SplitN(embedded(name+".md"), "---\n", 3)
	schema, _ := files.ReadFile("texts/" + name + ".schema.json") // not every text asks for an answer of its own
	return promptText{note: parts[1], body: strings.TrimSpace(parts[2]), schema: schema}
}

// fill puts a value into the place that a text has for it. What is put in is
// not looked at again, so it cannot open a place of its own.
func (t promptText) fill(place, value string) string {
	return strings.Replace(t.body, "{{"+place+"}}", value, 1)
}

// byHand is texts/byhand.yaml, which says what each list is for.
var byHand = embeddedYAML[struct {
	Questions, Openings map[int][]string // by rung, from +2 to -2
	Plainer, Gist       []string
}]("byhand.yaml")

// Questions are what to ask oneself for a wording on a rung of the ladder,
// from +2 to -2, the one that helps most first. A level off the ladder has
// none.
func Questions(level int) []string { return byHand.Questions[level] }

// Openings are how a wording on a rung may begin, from +2 to -2: the dots
// stand for what people fill in. A level off the ladder has none.
func Openings(level int) []string { return byHand.Openings[level] }

// PlainerQuestions are what to ask oneself about an assumption that others
// find hard to read.
func PlainerQuestions() []string { return byHand.Plainer }

// GistRules are what should be true of a gist of unsigned reasons before
// others read it.
func GistRules() []string { return byHand.Gist }
