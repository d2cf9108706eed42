package blockkit

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

// faultsIn checks blocks where they stand and returns the code and messages.
func faultsIn(t *testing.T, on surface, blocks string) (string, []string) {
	t.Helper()
	v, err := wire.Decode([]byte(blocks))
	require.NoError(t, err, blocks)
	if on == onMessage {
		list, _ := BlockList(v)
		err = CheckMessage(list, noFiles)
	} else {
		view := map[string]any{"type": string(on), "blocks": v}
		if on == inModal {
			view["title"] = map[string]any{"type": "plain_text", "text": "Form"}
			view["submit"] = map[string]any{"type": "plain_text", "text": "Save"}
		}
		_, _, err = CheckView(view, string(on), noFiles)
	}
	var refused *wire.Refusal
	if !errors.As(err, &refused) {
		return "", nil
	}
	return refused.Code, refused.Messages
}

// noFiles has nothing uploaded.
func noFiles(string) bool { return false }

func letters(n int) string { return strings.Repeat("é", n) }

func times(n int, each string) string {
	out := make([]string, n)
	for i := range out {
		out[i] = strings.ReplaceAll(each, "#", fmt.Sprint(i))
	}
	return strings.Join(out, ",")
}

func plainText(n int) string { return `{"type":"plain_text","text":"` + letters(n) + `"}` }

func optionOf(n int) string {
	return times(n, `{"text":{"type":"plain_text","text":"o"},"value":"#"}`)
}

func actions(element string) string { return `[{"type":"actions","elements":[` + element + `]}]` }

func button(more string) string {
	return `{"type":"button","text":{"type":"plain_text","text":"b"}` + more + `}`
}

func input(element string) string {
	return `[{"type":"input","label":{"type":"plain_text","text":"l"},"element":` + element + `}]`
}

// Each row holds the largest that is taken and the smallest that is refused.
// Numbers: the platform's reference pages on blocks, elements and composition
// objects, and the comments in @slack/types 3.2.0. Wording of the messages:
// public reports of refused calls.
func TestLimitsOfBlocks(t *testing.T) {
	for _, c := range []struct {
		rule    string
		on      surface
		largest string
		tooMuch string
		message string
	}{
		{"50 blocks in a message", onMessage, "[" + times(50, `{"type":"divider"}`) + "]", "[" + times(51, `{"type":"divider"}`) + "]",
			"no more than 50 items allowed [json-pointer:/blocks]"},
		{"100 blocks in a form", inModal, "[" + times(100, `{"type":"divider"}`) + "]", "[" + times(101, `{"type":"divider"}`) + "]",
			"no more than 100 items allowed [json-pointer:/view/blocks]"},
		{"100 blocks on a home tab", onHome, "[" + times(100, `{"type":"divider"}`) + "]", "[" + times(101, `{"type":"divider"}`) + "]",
			"no more than 100 items allowed [json-pointer:/view/blocks]"},
		{"block_id 255", onMessage, `[{"type":"divider","block_id":"` + letters(255) + `"}]`, `[{"type":"divider","block_id":"` + letters(256) + `"}]`,
			"must be less than 256 characters [json-pointer:/blocks/0/block_id]"},
		{"action_id 255", onMessage, actions(button(`,"action_id":"` + letters(255) + `"`)), actions(button(`,"action_id":"` + letters(256) + `"`)),
			"must be less than 256 characters [json-pointer:/blocks/0/elements/0/action_id]"},
		{"section text 3000", onMessage, `[{"type":"section","text":` + plainText(3000) + `}]`, `[{"type":"section","text":` + plainText(3001) + `}]`,
			"must be less than 3001 characters [json-pointer:/blocks/0/text/text]"},
		{"ten fields", onMessage, `[{"type":"section","fields":[` + times(10, plainText(1)) + `]}]`, `[{"type":"section","fields":[` + times(11, plainText(1)) + `]}]`,
			"no more than 10 items allowed [json-pointer:/blocks/0/fields]"},
		{"field 2000", onMessage, `[{"type":"section","fields":[` + plainText(2000) + `]}]`, `[{"type":"section","fields":[` + plainText(2001) + `]}]`,
			"must be less than 2001 characters [json-pointer:/blocks/0/fields/0/text]"},
		{"header 150", onMessage, `[{"type":"header","text":` + plainText(150) + `}]`, `[{"type":"header","text":` + plainText(151) + `}]`,
			"must be less than 151 characters [json-pointer:/blocks/0/text/text]"},
		{"ten in a context", onMessage, `[{"type":"context","elements":[` + times(10, plainText(1)) + `]}]`, `[{"type":"context","elements":[` + times(11, plainText(1)) + `]}]`,
			"no more than 10 items allowed [json-pointer:/blocks/0/elements]"},
		{"25 actions", onMessage, actions(times(25, button(""))), actions(times(26, button(""))),
			"no more than 25 items allowed [json-pointer:/blocks/0/elements]"},
		{"button text 75", onMessage, actions(`{"type":"button","text":` + plainText(75) + `}`), actions(`{"type":"button","text":` + plainText(76) + `}`),
			"must be less than 76 characters [json-pointer:/blocks/0/elements/0/text/text]"},
		{"button value 2000", onMessage, actions(button(`,"value":"` + letters(2000) + `"`)), actions(button(`,"value":"` + letters(2001) + `"`)),
			"must be less than 2001 characters [json-pointer:/blocks/0/elements/0/value]"},
		{"button url 3000", onMessage, actions(button(`,"url":"` + letters(3000) + `"`)), actions(button(`,"url":"` + letters(3001) + `"`)),
			"must be less than 3001 characters [json-pointer:/blocks/0/elements/0/url]"},
		{"accessibility label 75", onMessage, actions(button(`,"accessibility_label":"` + letters(75) + `"`)), actions(button(`,"accessibility_label":"` + letters(76) + `"`)),
			"must be less than 76 characters [json-pointer:/blocks/0/elements/0/accessibility_label]"},
		{"style primary or danger", onMessage, actions(button(`,"style":"danger"`)), actions(button(`,"style":"default"`)),
			"must be a valid enum value [json-pointer:/blocks/0/elements/0/style]"},
		{"100 options", onMessage, actions(`{"type":"static_select","options":[` + optionOf(100) + `]}`), actions(`{"type":"static_select","options":[` + optionOf(101) + `]}`),
			"no more than 100 items allowed [json-pointer:/blocks/0/elements/0/options]"},
		{"100 groups", onMessage, actions(`{"type":"static_select","option_groups":[` + times(100, `{"label":`+plainText(75)+`,"options":[`+optionOf(1)+`]}`) + `]}`),
			actions(`{"type":"static_select","option_groups":[` + times(101, `{"label":`+plainText(75)+`,"options":[`+optionOf(1)+`]}`) + `]}`),
			"no more than 100 items allowed [json-pointer:/blocks/0/elements/0/option_groups]"},
		{"ten boxes", onMessage, actions(`{"type":"checkboxes","options":[` + optionOf(10) + `]}`), actions(`{"type":"checkboxes","options":[` + optionOf(11) + `]}`),
			"no more than 10 items allowed [json-pointer:/blocks/0/elements/0/options]"},
		{"ten radio buttons", onMessage, actions(`{"type":"radio_buttons","options":[` + optionOf(10) + `]}`), actions(`{"type":"radio_buttons","options":[` + optionOf(11) + `]}`),
			"no more than 10 items allowed [json-pointer:/blocks/0/elements/0/options]"},
		{"option text 75", onMessage, actions(`{"type":"static_select","options":[{"text":` + plainText(75) + `,"value":"v"}]}`), actions(`{"type":"static_select","options":[{"text":` + plainText(76) + `,"value":"v"}]}`),
			"must be less than 76 characters [json-pointer:/blocks/0/elements/0/options/0/text/text]"},
		{"option value 150", onMessage, actions(`{"type":"static_select","options":[{"text":` + plainText(1) + `,"value":"` + letters(150) + `"}]}`), actions(`{"type":"static_select","options":[{"text":` + plainText(1) + `,"value":"` + letters(151) + `"}]}`),
			"must be less than 151 characters [json-pointer:/blocks/0/elements/0/options/0/value]"},
		{"placeholder 150", onMessage, actions(`{"type":"datepicker","placeholder":` + plainText(150) + `}`), actions(`{"type":"datepicker","placeholder":` + plainText(151) + `}`),
			"must be less than 151 characters [json-pointer:/blocks/0/elements/0/placeholder/text]"},
		{"confirmation title 100", onMessage, actions(button(`,"confirm":{"title":` + plainText(100) + `,"text":` + plainText(300) + `,"confirm":` + plainText(30) + `}`)),
			actions(button(`,"confirm":{"title":` + plainText(101) + `,"text":` + plainText(300) + `,"confirm":` + plainText(30) + `}`)),
			"must be less than 101 characters [json-pointer:/blocks/0/elements/0/confirm/title/text]"},
		{"label 2000", inModal, input(`{"type":"plain_text_input"}`), `[{"type":"input","label":` + plainText(2001) + `,"element":{"type":"plain_text_input"}}]`,
			"must be less than 2001 characters [json-pointer:/view/blocks/0/label/text]"},
		{"max_length 3000", inModal, input(`{"type":"plain_text_input","max_length":3000}`), input(`{"type":"plain_text_input","max_length":3001}`),
			"must be a number from 1 to 3000 [json-pointer:/view/blocks/0/element/max_length]"},
		{"alt text 2000", onMessage, `[{"type":"image","image_url":"u","alt_text":"` + letters(2000) + `"}]`, `[{"type":"image","image_url":"u","alt_text":"` + letters(2001) + `"}]`,
			"must be less than 2001 characters [json-pointer:/blocks/0/alt_text]"},
	} {
		code, messages := faultsIn(t, c.on, c.largest)
		assert.Equal(t, "", code, "%s: the largest is refused: %s %v", c.rule, code, messages)
		_, messages = faultsIn(t, c.on, c.tooMuch)
		assert.Contains(t, messages, c.message, c.rule)
	}
}

func TestRulesOfBlocks(t *testing.T) {
	plainPick := `{"type":"static_select","options":[` + optionOf(2) + `],"initial_option":`
	for _, c := range []struct {
		rule, blocks string
		on           surface
		want         string // "" is taken
	}{
		{"empty text is invalid", `[{"type":"section","text":{"type":"mrkdwn","text":""}}]`, onMessage, "must be more than 0 characters [json-pointer:/blocks/0/text/text]"},
		{"a header is plain", `[{"type":"header","text":{"type":"mrkdwn","text":"x"}}]`, onMessage, "unsupported type: mrkdwn [json-pointer:/blocks/0/text/type]"},
		{"emoji is for plain text", `[{"type":"section","text":{"type":"mrkdwn","text":"x","emoji":true}}]`, onMessage, "invalid additional property: emoji [json-pointer:/blocks/0/text]"},
		{"verbatim is for mrkdwn", `[{"type":"section","text":{"type":"plain_text","text":"x","verbatim":true}}]`, onMessage, "invalid additional property: verbatim [json-pointer:/blocks/0/text]"},
		{"a section has text or fields", `[{"type":"section"}]`, onMessage, "must define either `text` or `fields` [json-pointer:/blocks/0]"},
		{"a block of no known type", `[{"type":"hologram"}]`, onMessage, "unsupported type: hologram [json-pointer:/blocks/0/type]"},
		{"a block without a type", `[{}]`, onMessage, "missing required field: type [json-pointer:/blocks/0]"},
		{"a property of no meaning", `[{"type":"divider","colour":"red"}]`, onMessage, "invalid additional property: colour [json-pointer:/blocks/0]"},
		{"null is not given", `[{"type":"divider","block_id":null}]`, onMessage, ""},
		{"block ids differ", `[{"type":"divider","block_id":"a"},{"type":"divider","block_id":"a"}]`, onMessage, "`block_id` \"a\" already exists [json-pointer:/blocks/1/block_id]"},
		{"action ids differ within a block", actions(button(`,"action_id":"a"`) + "," + button(`,"action_id":"a"`)), onMessage, "`action_id` \"a\" already exists [json-pointer:/blocks/0/elements/1/action_id]"},
		{"action ids may repeat in another block", `[{"type":"actions","elements":[` + button(`,"action_id":"a"`) + `]},{"type":"actions","elements":[` + button(`,"action_id":"a"`) + `]}]`, onMessage, ""},
		{"actions are not empty", `[{"type":"actions","elements":[]}]`, onMessage, "no less than 1 items allowed [json-pointer:/blocks/0/elements]"},
		{"a text field only in an input", actions(`{"type":"plain_text_input"}`), onMessage, "unsupported type: plain_text_input [json-pointer:/blocks/0/elements/0/type]"},
		{"a button never in an input", input(button("")), inModal, "unsupported type: button [json-pointer:/view/blocks/0/element/type]"},
		{"an input in a message", input(`{"type":"plain_text_input"}`), onMessage, ""},
		{"an alert in a form", `[{"type":"alert","text":` + plainText(200) + `}]`, inModal, ""},
		{"no alert in a message", `[{"type":"alert","text":` + plainText(1) + `}]`, onMessage, "unsupported type: alert [json-pointer:/blocks/0/type]"},
		{"the first choice is listed", actions(plainPick + `{"text":{"type":"plain_text","text":"o"},"value":"1"}}`), onMessage, ""},
		{"a first choice that is not", actions(plainPick + `{"text":{"type":"plain_text","text":"o"},"value":"9"}}`), onMessage, "must match one of the options [json-pointer:/blocks/0/elements/0/initial_option]"},
		{"a first choice in other words", actions(plainPick + `{"text":{"type":"plain_text","text":"p"},"value":"1"}}`), onMessage, "must match one of the options [json-pointer:/blocks/0/elements/0/initial_option]"},
		{"the same for boxes", actions(`{"type":"checkboxes","options":[` + optionOf(2) + `],"initial_options":[{"text":{"type":"plain_text","text":"o"},"value":"9"}]}`), onMessage, "must match one of the options [json-pointer:/blocks/0/elements/0/initial_options/0]"},
		{"a menu without options", actions(`{"type":"static_select"}`), onMessage, "must define either `options` or `option_groups` [json-pointer:/blocks/0/elements/0]"},
		{"a menu's options are plain", actions(`{"type":"static_select","options":[{"text":{"type":"mrkdwn","text":"o"},"value":"1"}]}`), onMessage, "unsupported type: mrkdwn [json-pointer:/blocks/0/elements/0/options/0/text/type]"},
		{"an option is no link", actions(`{"type":"static_select","options":[{"text":` + plainText(1) + `,"value":"1","url":"u"}]}`), onMessage, "invalid additional property: url [json-pointer:/blocks/0/elements/0/options/0]"},
		{"a date as agreed", actions(`{"type":"datepicker","initial_date":"1 March"}`), onMessage, "must match the following pattern: " + patterns["date"].String() + " [json-pointer:/blocks/0/elements/0/initial_date]"},
		{"a number says whether parts are allowed", input(`{"type":"number_input"}`), inModal, "missing required field: is_decimal_allowed [json-pointer:/view/blocks/0/element]"},
		{"a start that fits its field", input(`{"type":"plain_text_input","max_length":2,"initial_value":"abc"}`), inModal, "must be less than 3 characters [json-pointer:/view/blocks/0/element/initial_value]"},
		{"shortest below longest", input(`{"type":"plain_text_input","min_length":3,"max_length":2}`), inModal, "`min_length` must not be more than `max_length` [json-pointer:/view/blocks/0/element]"},
		{"a picture has its words", `[{"type":"image","image_url":"u"}]`, onMessage, "missing required field: alt_text [json-pointer:/blocks/0]"},
		{"a picture has one source", `[{"type":"image","alt_text":"x"}]`, onMessage, "must define either `image_url` or `slack_file` [json-pointer:/blocks/0]"},
		{"one field takes the focus", `[` + times(2, `{"type":"input","label":{"type":"plain_text","text":"l"},"element":{"type":"plain_text_input","focus_on_load":true}}`) + `]`, inModal, "no more than 1 `focus_on_load` allowed [json-pointer:/view/blocks]"},
		{"rich text", `[{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"text","text":"x","style":{"bold":true}}]}]}]`, onMessage, ""},
		{"rich text is never empty", `[{"type":"rich_text","elements":[{"type":"rich_text_section","elements":[{"type":"text","text":""}]}]}]`, onMessage, "must be more than 0 characters [json-pointer:/blocks/0/elements/0/elements/0/text]"},
		{"a list holds sections", `[{"type":"rich_text","elements":[{"type":"rich_text_list","style":"bullet","indent":0,"elements":[{"type":"text","text":"x"}]}]}]`, onMessage, "unsupported type: text [json-pointer:/blocks/0/elements/0/elements/0/type]"},
	} {
		_, messages := faultsIn(t, c.on, c.blocks)
		assert.False(t, c.want == "" && len(messages) > 0, "%s: refused: %q", c.rule, messages)
		assert.False(t, c.want != "" && !slices.Contains(messages, c.want), "%s: got %q, want %q", c.rule, messages, c.want)
	}
}

func TestWholeMessages(t *testing.T) {
	section := func(n int) string { return `{"type":"section","text":` + plainText(n) + `}` }
	for _, c := range []struct{ rule, blocks, code string }{
		{"13200 characters over all blocks", "[" + times(4, section(3000)) + "," + section(1200) + "]", ""},
		{"one more", "[" + times(4, section(3000)) + "," + section(1201) + "]", "msg_blocks_too_long"},
	} {
		code, messages := faultsIn(t, onMessage, c.blocks)
		assert.Equal(t, c.code, code, "%s: got %q %v", c.rule, code, messages)
	}
}

func TestRulesOfViews(t *testing.T) {
	title, submit := `"title":`+plainText(24), `"submit":`+plainText(24)
	oneInput := `"blocks":` + input(`{"type":"plain_text_input"}`)
	for _, c := range []struct{ rule, kind, view, want string }{
		{"the longest titles", "modal", `{"type":"modal",` + title + `,` + submit + `,"close":` + plainText(24) + `,` + oneInput + `}`, ""},
		{"a title of 25", "modal", `{"type":"modal","title":` + plainText(25) + `,"blocks":[]}`, "must be less than 25 characters [json-pointer:/view/title/text]"},
		{"a submit of 25", "modal", `{"type":"modal",` + title + `,"submit":` + plainText(25) + `,"blocks":[]}`, "must be less than 25 characters [json-pointer:/view/submit/text]"},
		{"no title", "modal", `{"type":"modal","blocks":[]}`, "missing required field: title [json-pointer:/view]"},
		{"a field without submit", "modal", `{"type":"modal",` + title + `,` + oneInput + `}`, "`submit` is required when an `input` block is within blocks [json-pointer:/view]"},
		{"private metadata of 3000", "modal", `{"type":"modal",` + title + `,"blocks":[],"private_metadata":"` + letters(3000) + `"}`, ""},
		{"private metadata of 3001", "modal", `{"type":"modal",` + title + `,"blocks":[],"private_metadata":"` + letters(3001) + `"}`, "must be less than 3001 characters [json-pointer:/view/private_metadata]"},
		{"callback_id of 256", "modal", `{"type":"modal",` + title + `,"blocks":[],"callback_id":"` + letters(256) + `"}`, "must be less than 256 characters [json-pointer:/view/callback_id]"},
		{"a home where a form belongs", "modal", `{"type":"home","blocks":[]}`, "must be a valid enum value [json-pointer:/view/type]"},
		{"a form where a home belongs", "home", `{"type":"modal","blocks":[]}`, "must be a valid enum value [json-pointer:/view/type]"},
		{"a home tab has no title", "home", `{"type":"home",` + title + `,"blocks":[]}`, "invalid additional property: title [json-pointer:/view]"},
		{"a field on a home tab needs no submit", "home", `{"type":"home",` + oneInput + `}`, ""},
	} {
		v, err := wire.Decode([]byte(c.view))
		require.NoError(t, err)
		_, _, err = CheckView(v, c.kind, noFiles)
		var refused *wire.Refusal
		assert.False(t, c.want == "" && err != nil, "%s: refused: %v", c.rule, err)
		assert.False(t, c.want != "" && (!errors.As(err, &refused) || refused.Code != "invalid_arguments" || !slices.Contains(refused.Messages, c.want)), "%s: got %v, want %q", c.rule, err, c.want)
	}
}
