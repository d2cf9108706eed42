package rehearsal_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/slacktypes"
)

// TestPayloadsAreOfTheOfficialTypes compiles all that the bot sends in the
// demo, and in the scenario with hostile text. Source of the types: the npm
// package @slack/types. The limits are the stand-in's to enforce, which
// refuses what exceeds them; TestLimitsOfBlocks names their sources.
func TestPayloadsAreOfTheOfficialTypes(t *testing.T) {
	tools := slacktypes.Tools(t)
	t.Parallel()
	for _, name := range []string{"ferry.yaml", "hostile.yaml"} {
		var pile slacktypes.Pile
		got := playedOnce(t, name)
		forms := 0
		for i, c := range got.calls {
			at := fmt.Sprintf("%s, call %d, %s", name, i+1, c.Method)
			if blocks := c.Args["blocks"]; blocks != nil {
				pile.Blocks(at, blocks)
			}
			if view := c.Args["view"]; view != nil {
				pile.View(at, view)
			}
		}
		for i, a := range got.acks {
			body, _ := a.Body.(map[string]any)
			if view := body["view"]; view != nil {
				forms++
				pile.View(fmt.Sprintf("%s, acknowledgement %d", name, i+1), view)
			}
		}
		assert.NotEqual(t, 0, forms, "%s: no form was answered by a form, and ballots are", name)
		for _, fault := range pile.Faults(t, tools) {
			t.Error(fault)
		}
		t.Logf("%s: %d calls and %d acknowledgements, %d different payloads", name, len(got.calls), len(got.acks), pile.Len())
	}
}

// The test above could see a fault of each kind.
func TestTheOfficialTypesRefuse(t *testing.T) {
	tools := slacktypes.Tools(t)
	text := map[string]any{"type": "plain_text", "text": "A"}
	section := map[string]any{"type": "section", "text": text}
	with := func(of map[string]any, key string, value any) map[string]any {
		out := map[string]any{key: value}
		for k, v := range of {
			if _, changed := out[k]; !changed {
				out[k] = v
			}
		}
		return out
	}
	modal := map[string]any{"type": "modal", "title": text, "blocks": []any{section}}
	without := map[string]any{"type": "modal", "blocks": []any{section}}
	sektion := []any{with(section, "type", "sektion")}
	var pile slacktypes.Pile
	pile.Blocks("a section", []any{section})
	pile.View("a form", modal)
	pile.Blocks("a block of no kind", sektion)
	pile.Blocks("an unknown field", []any{with(section, "colour", "red")})
	pile.Blocks("a field of another kind", []any{with(section, "text", "A")})
	pile.View("a form without its title", without)
	pile.View("a block of no kind in a form", with(modal, "blocks", sektion))
	pile.View("a home with a title", with(modal, "type", "home"))
	var refused []string
	for _, fault := range pile.Faults(t, tools) {
		name, _, _ := strings.Cut(fault, ": error TS")
		refused = append(refused, name)
	}
	want := []string{"a block of no kind", "an unknown field", "a field of another kind", "a form without its title",
		"a block of no kind in a form", "a home with a title"}
	assert.Equal(t, want, refused, "the compiler refuses")
}

// dateTokens are moments as the platform writes them in the reader's own time.
var dateTokens = regexp.MustCompile(`<!date\^[^>]*>`)

// asking are the ways in which a text tells its reader what to do, or until
// when they can.
var asking = []string{"Closes ", "please ", "press ", "Press ", "Please ", "look through ", "Without you ", "/soundings "}

// TestTextsStandAlone reads the top-level texts of the demo as a lock screen
// and a screen reader do: without the blocks. Rules: the platform's reference
// on chat.postMessage, and the design principles of its own agent skills ("a
// summary of the point and the action").
func TestTextsStandAlone(t *testing.T) {
	t.Parallel()
	got := playedOnce(t, "ferry.yaml")
	messages, asked := 0, 0
	check := func(at, text string, blocks any) {
		messages++
		plain := dateTokens.ReplaceAllString(text, "at 9")
		assert.GreaterOrEqual(t, len(strings.Fields(plain)), 3, "%s: %q says too little by itself", at, text)
		// longer ones cannot be updated: reference of chat.update
		n := utf8.RuneCountInString(text)
		assert.LessOrEqual(t, n, 4000, "%s: the text has %d characters", at, n)
		assert.False(t, !strings.ContainsAny(plain[max(len(plain)-1, 0):], ".?!\n") && !strings.HasSuffix(plain, "…"), "%s: %q is no sentence", at, text)
		if !hasPrimary(blocks) {
			return
		}
		asked++
		assert.True(t, slices.ContainsFunc(asking, func(way string) bool { return strings.Contains(text, way) }), "%s: its blocks ask for something, and %q does not say so", at, text)
	}
	for _, c := range got.calls {
		if slices.Contains([]string{"chat.postMessage", "chat.update", "chat.postEphemeral", fakeslack.ResponseURL}, c.Method) {
			text, _ := c.Args["text"].(string)
			check(c.Method, text, c.Args["blocks"])
		}
	}
	for _, a := range got.acks {
		if body, _ := a.Body.(map[string]any); a.Kind == "command" {
			text, _ := body["text"].(string)
			check("command", text, body["blocks"])
		}
	}
	assert.GreaterOrEqual(t, messages, 100, "looked at %d messages, %d of which ask for something: too few", messages, asked)
	assert.GreaterOrEqual(t, asked, 10, "looked at %d messages, %d of which ask for something: too few", messages, asked)
}

// hasPrimary reports whether blocks hold a button that most readers should
// press.
func hasPrimary(blocks any) bool {
	switch b := blocks.(type) {
	case []any:
		return slices.ContainsFunc(b, hasPrimary)
	case map[string]any:
		if b["style"] == "primary" {
			return true
		}
		for _, part := range b {
			if hasPrimary(part) {
				return true
			}
		}
	}
	return false
}
