package screens

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/slack-go/slack"
)

// The rules that every message and every form keeps. Limits are those of the
// platform's reference for blocks and views; 11,000 characters a message is
// ours, since it has refused messages of some 13,200.

const (
	longestMessage = 11_000
	longestText    = 3_000
)

var dateToken = regexp.MustCompile(`<!date\^\d+\^[^|<>]+\|[^<>]+>`)

func checkMessage(t *testing.T, name string, p Posting) {
	t.Helper()
	if p.Text == "" || utf8.RuneCountInString(p.Text) > longestText {
		t.Errorf("%s: the top-level text has %d characters, want 1 to %d", name, utf8.RuneCountInString(p.Text), longestText)
	}
	if rest := dateToken.ReplaceAllString(p.Text, ""); strings.ContainsAny(rest, "<>") {
		t.Errorf("%s: the top-level text is not escaped: %s", name, rest)
	}
	if n := len(p.Blocks); n == 0 || n > 50 {
		t.Errorf("%s has %d blocks, want 1 to 50", name, n)
	}
	if n := checkBlocks(t, name, p.Blocks); n > longestMessage {
		t.Errorf("%s has %d characters, want at most %d", name, n, longestMessage)
	}
}

func checkView(t *testing.T, name string, v slack.ModalViewRequest) {
	t.Helper()
	for what, text := range map[string]*slack.TextBlockObject{"title": v.Title, "submit": v.Submit, "close": v.Close} {
		if text != nil && (text.Text == "" || utf8.RuneCountInString(text.Text) > 24) {
			t.Errorf("%s: %s %q has to have 1 to 24 characters", name, what, text.Text)
		}
	}
	if n := len(v.Blocks.BlockSet); n == 0 || n > 100 {
		t.Errorf("%s has %d blocks, want 1 to 100", name, n)
	}
	if len(v.PrivateMetadata) > 3000 {
		t.Errorf("%s carries %d bytes of args", name, len(v.PrivateMetadata))
	}
	if v.CallbackID == "" || v.Type != slack.VTModal {
		t.Errorf("%s is not sealed", name)
	}
	checkBlocks(t, name, v.Blocks.BlockSet)
}

// checkBlocks holds blocks, as they are sent, to the rules, and counts the
// characters in them.
func checkBlocks(t *testing.T, name string, blocks []slack.Block) (characters int) {
	t.Helper()
	data, err := json.Marshal(blocks)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var sent []map[string]any
	if err := json.Unmarshal(data, &sent); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	ids, primaries := map[string]bool{}, 0
	for _, block := range sent {
		if id, _ := block["block_id"].(string); id != "" {
			if ids[id] {
				t.Errorf("%s has two blocks %q", name, id)
			}
			ids[id] = true
		}
		c := checker{t: t, name: name, actions: map[string]bool{}}
		c.walk(block)
		characters += c.characters
		primaries += c.primaries
	}
	if primaries > 1 {
		t.Errorf("%s has %d primary buttons, want one at most", name, primaries)
	}
	return characters
}

// A checker looks at one block.
type checker struct {
	t          *testing.T
	name       string
	actions    map[string]bool
	characters int
	primaries  int
}

func (c *checker) walk(v any) {
	switch v := v.(type) {
	case []any:
		for _, inner := range v {
			c.walk(inner)
		}
	case map[string]any:
		c.object(v)
		for _, inner := range v {
			c.walk(inner)
		}
	}
}

func (c *checker) object(o map[string]any) {
	kind, _ := o["type"].(string)
	if text, ok := o["text"].(string); ok {
		c.text(kind, text)
	}
	if action, ok := o["action_id"].(string); ok {
		if action == "" || len(action) > 255 || c.actions[action] {
			c.t.Errorf("%s: action %q is empty, too long, or there twice in a block", c.name, action)
		}
		c.actions[action] = true
	}
	switch kind {
	case "mrkdwn":
		c.t.Errorf("%s holds an object that the platform parses: %v", c.name, o)
	case "user", "usergroup", "broadcast", "channel", "emoji", "color", "team":
		c.t.Errorf("%s holds an element of type %s: it could ping, or lead somewhere", c.name, kind)
	case "link":
		c.link(o)
	case "header":
		c.atMost("header", o["text"], 150)
	case "button":
		c.button(o)
	case "input":
		c.atMost("label", o["label"], 2000)
		c.atMost("hint", o["hint"], 2000)
	case "static_select", "multi_static_select", "radio_buttons", "checkboxes":
		c.options(kind, o)
	case "plain_text_input":
		if text, _ := o["initial_value"].(string); utf8.RuneCountInString(text) > longestText {
			c.t.Errorf("%s: an input begins with %d characters", c.name, utf8.RuneCountInString(text))
		}
	}
}

// link wants an address on the web, shown as itself or as its beginning: a
// link under another name could lead anywhere.
func (c *checker) link(o map[string]any) {
	address, _ := o["url"].(string)
	shown, _ := o["text"].(string)
	web := strings.HasPrefix(address, "https://") || strings.HasPrefix(address, "http://")
	if !web || !strings.HasPrefix(address, strings.TrimSuffix(shown, "…")) {
		c.t.Errorf("%s: a link to %q is shown as %q", c.name, address, shown)
	}
}

func (c *checker) text(kind, text string) {
	n := utf8.RuneCountInString(text)
	c.characters += n
	if n == 0 || n > longestText {
		c.t.Errorf("%s: a text of %d characters, want 1 to %d", c.name, n, longestText)
	}
	if strings.Contains(text, "%!") {
		c.t.Errorf("%s: a sentence went wrong: %s", c.name, text)
	}
	if kind == "" {
		c.t.Errorf("%s: a text without a type: %s", c.name, text)
	}
}

func (c *checker) atMost(what string, object any, most int) {
	o, ok := object.(map[string]any)
	if !ok {
		return
	}
	if text, _ := o["text"].(string); utf8.RuneCountInString(text) > most {
		c.t.Errorf("%s: a %s of %d characters, want at most %d", c.name, what, utf8.RuneCountInString(text), most)
	}
}

func (c *checker) button(o map[string]any) {
	if o["style"] == "primary" {
		c.primaries++
	}
	c.atMost("button", o["text"], 30)
	text, _ := o["text"].(map[string]any)["text"].(string)
	for _, word := range strings.Fields(text) {
		if r, _ := utf8.DecodeRuneInString(word); !unicode.IsUpper(r) && !unicode.IsDigit(r) && !smallWord(word) {
			c.t.Errorf("%s: button %q is not in title case", c.name, text)
		}
	}
	if value, _ := o["value"].(string); len(value) > 2000 {
		c.t.Errorf("%s: button %q carries %d bytes", c.name, text, len(value))
	} else if _, err := ParseArgs(value); err != nil {
		c.t.Errorf("%s: button %q: %v", c.name, text, err)
	}
}

// smallWord reports whether title case leaves a word small.
func smallWord(word string) bool {
	return strings.Contains(" a an and as for in of on or the to ", " "+word+" ")
}

func (c *checker) options(kind string, o map[string]any) {
	options, _ := o["options"].([]any)
	most := 100
	if kind == "radio_buttons" || kind == "checkboxes" {
		most = 10
	}
	if len(options) == 0 || len(options) > most {
		c.t.Errorf("%s: %s with %d options, want 1 to %d", c.name, kind, len(options), most)
	}
	values, known := map[any]bool{}, map[string]bool{}
	for _, option := range options {
		option := option.(map[string]any)
		c.atMost("option", option["text"], 75)
		c.atMost("description", option["description"], 75)
		if values[option["value"]] {
			c.t.Errorf("%s: option %v is there twice", c.name, option["value"])
		}
		values[option["value"]] = true
		known[fmt.Sprint(option)] = true
	}
	if initial, ok := o["initial_option"]; ok && !known[fmt.Sprint(initial)] {
		c.t.Errorf("%s: the choice at the start, %v, is none of the options", c.name, initial)
	}
}

// goldenName makes a file name of a moment and a screen.
func goldenName(moment, screen string) string {
	return strings.NewReplacer("/", "-", "@", "").Replace(moment + "--" + screen)
}
