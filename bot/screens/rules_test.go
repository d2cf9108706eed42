package screens

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"soundings/bot/screens/screen"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rules that every message and every form keeps. Limits are those of the
// platform's reference for blocks and views; 11,000 characters a message is
// ours, since it has refused messages of some 13,200.

const (
	longestMessage = 11_000
	longestText    = 3_000
)

var dateToken = regexp.MustCompile(`<!date\^\d+\^[^|<>]+\|[^<>]+>`)

func checkMessage(t *testing.T, name string, p screen.Posting) {
	t.Helper()
	assert.NotEmpty(t, p.Text, "%s: the top-level text", name)
	assert.LessOrEqual(t, utf8.RuneCountInString(p.Text), longestText, "%s: characters of the top-level text", name)
	rest := dateToken.ReplaceAllString(p.Text, "")
	assert.False(t, strings.ContainsAny(rest, "<>"), "%s: the top-level text is not escaped: %s", name, rest)
	n := len(p.Blocks)
	assert.NotEqual(t, 0, n, "%s has %d blocks, want 1 to 50", name, n)
	assert.LessOrEqual(t, n, 50, "%s has %d blocks, want 1 to 50", name, n)
	n = checkBlocks(t, name, p.Blocks)
	assert.LessOrEqual(t, n, longestMessage, "%s has %d characters, want at most", name, n)
}

func checkView(t *testing.T, name string, v slack.ModalViewRequest) {
	t.Helper()
	for what, text := range map[string]*slack.TextBlockObject{"title": v.Title, "submit": v.Submit, "close": v.Close} {
		if text != nil {
			assert.NotEmpty(t, text.Text, "%s: %s", name, what)
			assert.LessOrEqual(t, utf8.RuneCountInString(text.Text), 24, "%s: characters of %s %q", name, what, text.Text)
		}
	}
	n := len(v.Blocks.BlockSet)
	assert.NotEqual(t, 0, n, "%s has %d blocks, want 1 to 100", name, n)
	assert.LessOrEqual(t, n, 100, "%s has %d blocks, want 1 to 100", name, n)
	assert.LessOrEqual(t, len(v.PrivateMetadata), 3000, "%s carries %d bytes of args", name, len(v.PrivateMetadata))
	assert.NotEqual(t, "", v.CallbackID, "%s is not sealed", name)
	assert.Equal(t, slack.VTModal, v.Type, "%s is not sealed", name)
	checkBlocks(t, name, v.Blocks.BlockSet)
}

// checkBlocks holds blocks, as they are sent, to the rules, and counts the
// characters in them.
func checkBlocks(t *testing.T, name string, blocks []slack.Block) (characters int) {
	t.Helper()
	data, err := json.Marshal(blocks)
	require.NoError(t, err, name)
	var sent []map[string]any
	require.NoError(t, json.Unmarshal(data, &sent), name)
	ids, primaries := map[string]bool{}, 0
	for _, b := range sent {
		if id, _ := b["block_id"].(string); id != "" {
			assert.False(t, ids[id], "%s has two blocks %q", name, id)
			ids[id] = true
		}
		c := checker{t: t, name: name, actions: map[string]bool{}}
		c.walk(b)
		characters += c.characters
		primaries += c.primaries
	}
	assert.LessOrEqual(t, primaries, 1, "%s has %d primary buttons, want one at most", name, primaries)
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
		assert.False(c.t, action == "" || len(action) > 255 || c.actions[action], "%s: action %q is empty, too long, or there twice in a block", c.name, action)
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
		text, _ := o["initial_value"].(string)
		assert.LessOrEqual(c.t, utf8.RuneCountInString(text), longestText, "%s: an input begins with %d characters", c.name, utf8.RuneCountInString(text))
	}
}

// link wants an address on the web, shown as itself or as its beginning: a
// link under another name could lead anywhere.
func (c *checker) link(o map[string]any) {
	address, _ := o["url"].(string)
	shown, _ := o["text"].(string)
	web := strings.HasPrefix(address, "https://") || strings.HasPrefix(address, "http://")
	assert.True(c.t, web, "%s: a link to %q is shown as %q", c.name, address, shown)
	assert.True(c.t, strings.HasPrefix(address, strings.TrimSuffix(shown, "…")), "%s: a link to %q is shown as %q", c.name, address, shown)
}

func (c *checker) text(kind, text string) {
	n := utf8.RuneCountInString(text)
	c.characters += n
	assert.NotEqual(c.t, 0, n, "%s: a text of %d characters, want 1 to", c.name, n)
	assert.LessOrEqual(c.t, n, longestText, "%s: a text of %d characters, want 1 to", c.name, n)
	assert.NotContains(c.t, text, "%!", "%s: a sentence went wrong", c.name)
	assert.NotEqual(c.t, "", kind, "%s: a text without a type: %s", c.name, text)
}

func (c *checker) atMost(what string, object any, most int) {
	o, ok := object.(map[string]any)
	if !ok {
		return
	}
	text, _ := o["text"].(string)
	assert.LessOrEqual(c.t, utf8.RuneCountInString(text), most, "%s: a %s of %d characters, want at most", c.name, what, utf8.RuneCountInString(text))
}

func (c *checker) button(o map[string]any) {
	if o["style"] == "primary" {
		c.primaries++
	}
	c.atMost("button", o["text"], 30)
	text, _ := o["text"].(map[string]any)["text"].(string)
	for _, word := range strings.Fields(text) {
		r, _ := utf8.DecodeRuneInString(word)
		assert.False(c.t, !unicode.IsUpper(r) && !unicode.IsDigit(r) && !smallWord(word), "%s: button %q is not in title case", c.name, text)
	}
	value, _ := o["value"].(string)
	assert.LessOrEqual(c.t, len(value), 2000, "%s: bytes that button %q carries", c.name, text)
	_, err := screen.ParseArgs(value)
	assert.NoError(c.t, err, "%s: button %q", c.name, text)
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
	assert.NotEmpty(c.t, options, "%s: %s with %d options, want 1 to", c.name, kind, len(options))
	assert.LessOrEqual(c.t, len(options), most, "%s: %s with %d options, want 1 to", c.name, kind, len(options))
	values, known := map[any]bool{}, map[string]bool{}
	for _, option := range options {
		option := option.(map[string]any)
		c.atMost("option", option["text"], 75)
		c.atMost("description", option["description"], 75)
		value, _ := option["value"].(string)
		assert.LessOrEqual(c.t, utf8.RuneCountInString(value), 75, "%s: characters of the value %s", c.name, value) // @slack/types; the reference says 150
		assert.False(c.t, values[option["value"]], "%s: option %v is there twice", c.name, option["value"])
		values[option["value"]] = true
		known[fmt.Sprint(option)] = true
	}
	initial, ok := o["initial_option"]
	assert.False(c.t, ok && !known[fmt.Sprint(initial)], "%s: the choice at the start, %v, is none of the options", c.name, initial)
}

// goldenName makes a file name of a moment and a screen.
func goldenName(moment, screen string) string {
	return strings.NewReplacer("/", "-", "@", "").Replace(moment + "--" + screen)
}
