package fakeslack

import (
	"errors"
	"maps"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

const richForm = `{"type":"modal","title":{"type":"plain_text","text":"Form"},"submit":{"type":"plain_text","text":"Save"},"blocks":[
{"type":"input","block_id":"name","label":{"type":"plain_text","text":"Name"},"element":{"type":"plain_text_input","action_id":"in","min_length":2,"max_length":5}},
{"type":"input","block_id":"days","optional":true,"label":{"type":"plain_text","text":"Days"},"element":{"type":"number_input","action_id":"in","is_decimal_allowed":true,"min_value":"0.5","max_value":"5"}},
{"type":"input","block_id":"size","optional":true,"label":{"type":"plain_text","text":"Size"},"element":{"type":"number_input","action_id":"in","is_decimal_allowed":false}},
{"type":"actions","block_id":"pick","elements":[{"type":"static_select","action_id":"in","options":[{"text":{"type":"plain_text","text":"A"},"value":"a"}]}]},
{"type":"input","block_id":"ticks","optional":true,"label":{"type":"plain_text","text":"Ticks"},"element":{"type":"checkboxes","action_id":"in","options":[{"text":{"type":"plain_text","text":"A"},"value":"a"}]}}]}`

func TestWhatFieldsTake(t *testing.T) {
	l := newFixture(t)
	id := l.open(richForm).View.ID
	for _, c := range []struct {
		rule, block string
		value       blockkit.Value
		good        bool
	}{
		{"the shortest text", "name", blockkit.Value{Text: "ab"}, true},
		{"a text too short", "name", blockkit.Value{Text: "a"}, false},
		{"the longest text, in characters", "name", blockkit.Value{Text: "ééééé"}, true},
		{"a text too long", "name", blockkit.Value{Text: "éééééé"}, false},
		{"no text, for now", "name", blockkit.Value{}, true},
		{"the least number", "days", blockkit.Value{Text: "0.5"}, true},
		{"less than the least", "days", blockkit.Value{Text: "0.49"}, false},
		{"the most", "days", blockkit.Value{Text: "5"}, true},
		{"more than the most", "days", blockkit.Value{Text: "5.01"}, false},
		{"words for a number", "days", blockkit.Value{Text: "two"}, false},
		{"an exponent for a number", "days", blockkit.Value{Text: "1e0"}, false},
		{"a whole number", "size", blockkit.Value{Text: "12"}, true},
		{"a part of one", "size", blockkit.Value{Text: "12.5"}, false},
		{"a menu that acts at once has to be pressed", "pick", blockkit.Value{Option: "a"}, false},
		{"a box", "ticks", blockkit.Value{Options: []string{"a"}}, true},
		{"a box that is not there", "ticks", blockkit.Value{Options: []string{"b"}}, false},
	} {
		err := l.team.Client.Type(l.ana, id, c.block, "in", c.value)
		var field *blockkit.InputError
		assert.False(t, c.good && err != nil, "%s: %v", c.rule, err)
		assert.False(t, !c.good && (!errors.As(err, &field) || field.BlockID != c.block), "%s: got %v, want an InputError at %s", c.rule, err, c.block)
	}
	assert.ErrorIs(t, l.team.Client.Type(l.ana, id, "name", "out", blockkit.Value{}), ErrNotShown, "a field that is not there")
	assert.ErrorIs(t, l.team.Client.Type(l.ben, id, "name", "in", blockkit.Value{}), ErrNotShown, "a form of somebody else")
}

func TestASubmissionCarriesEverythingRaw(t *testing.T) {
	l := newFixture(t)
	id := l.open(strings.Replace(richForm, `"max_length":5`, `"max_length":3000`, 1)).View.ID
	const hostile = `<!channel> & *x* {{.}} =1+1`
	require.NoError(t, l.team.Client.Type(l.ana, id, "name", "in", blockkit.Value{Text: hostile}))
	faults, err := l.team.Client.Submit(t.Context(), l.ana, id)
	require.NoError(t, err, "submit")
	require.Empty(t, faults, "submit")
	ic := l.bot.interaction()
	assert.Equal(t, slack.InteractionTypeViewSubmission, ic.Type, "submission: got %+v", ic)
	assert.Equal(t, id, ic.View.ID, "submission: got %+v", ic)
	assert.NotEqual(t, "", ic.TriggerID, "submission: got %+v", ic)
	assert.Equal(t, hostile, ic.View.State.Values["name"]["in"].Value, "typed text")
	values := l.bot.payload()["view"].(map[string]any)["state"].(map[string]any)["values"].(map[string]any)
	assert.Nil(t, values["days"].(map[string]any)["in"].(map[string]any)["value"], "an empty optional field")
	_, open := l.team.Client.TopView(l.ana)
	assert.False(t, open, "an empty answer did not close the form")
}

func TestARequiredFieldStopsTheSubmission(t *testing.T) {
	l := newFixture(t)
	id := l.open(richForm).View.ID
	before := len(l.bot.all())
	_, err := l.team.Client.Submit(t.Context(), l.ana, id)
	var field *blockkit.InputError
	assert.ErrorAs(t, err, &field, "submit: got %v, want an InputError at name", err)
	assert.Equal(t, "name", field.BlockID, "submit: got %v, want an InputError at name", err)
	assert.Len(t, l.bot.all(), before, "the bot was asked")
}

func TestWhatTheAnswerToASubmissionDoes(t *testing.T) {
	other := strings.Replace(plainForm, `"text":"Form"`, `"text":"Other"`, 1)
	for _, c := range []struct {
		rule, answer string
		titles       []string // of the stack afterwards
		errors       map[string]string
		good         bool
	}{
		{"nothing closes the form", "", []string{"Form"}, nil, true},
		{"white space is nothing", "\n", []string{"Form"}, nil, true},
		{"clear closes all", `{"response_action":"clear"}`, nil, nil, true},
		{"update puts another in its place", `{"response_action":"update","view":` + other + `}`, []string{"Form", "Other"}, nil, true},
		{"push lays one on top", `{"response_action":"push","view":` + other + `}`, []string{"Form", "Form", "Other"}, nil, true},
		{"errors stay with the form", `{"response_action":"errors","errors":{"name":"Too short."}}`, []string{"Form", "Form"}, map[string]string{"name": "Too short."}, true},
		{"errors at something else than a field", `{"response_action":"errors","errors":{"nobody":"x"}}`, []string{"Form", "Form"}, nil, false},
		{"errors without any", `{"response_action":"errors"}`, []string{"Form", "Form"}, nil, false},
		{"an update that is not good", `{"response_action":"update","view":{"type":"modal"}}`, []string{"Form", "Form"}, nil, false},
		{"words that are no JSON", "ok", []string{"Form", "Form"}, nil, false},
		{"JSON without an action", `{"text":"thanks"}`, []string{"Form", "Form"}, nil, false},
		{"an answer of 20 kB", `{"response_action":"errors","errors":{"name":"` + strings.Repeat("x", 20480) + `"}}`, []string{"Form", "Form"}, nil, false},
	} {
		l := newFixture(t)
		l.open(plainForm)
		top, err := l.api.PushView(l.trigger(), typedView(t, plainForm))
		require.NoError(t, err)
		require.NoError(t, l.team.Client.Type(l.ana, top.View.ID, "name", "in", blockkit.Value{Text: "x"}))
		l.bot.answers(200, c.answer)
		faults, err := l.team.Client.Submit(t.Context(), l.ana, top.View.ID)
		assert.Equal(t, c.good, (err == nil), "%s: got error %v, want good", c.rule, err)
		assert.False(t, err != nil && !errors.Is(err, ErrNoAck), "%s: got error %v, want good", c.rule, err)
		assert.Equal(t, c.errors, faults, "%s: got errors", c.rule)
		var titles []string
		for _, v := range l.team.Client.Views(l.ana) {
			titles = append(titles, v.Title)
		}
		assert.Equal(t, strings.Join(c.titles, ","), strings.Join(titles, ","), "%s: forms %v, want %v", c.rule, titles, c.titles)
		v, ok := l.team.Client.TopView(l.ana)
		assert.False(t, ok && !maps.Equal(v.Errors, c.errors), "%s: the form shows %v, want %v", c.rule, v.Errors, c.errors)
	}
}

// Source: the modals page. Cancel closes the form itself; the cross closes all.
func TestClosingForms(t *testing.T) {
	l := newFixture(t)
	root := l.open(plainForm)
	second, err := l.api.PushView(l.trigger(), typedView(t, plainForm))
	require.NoError(t, err)
	before := len(l.bot.all())
	assert.ErrorIs(t, l.team.Client.CloseView(l.ana, root.View.ID), ErrNotShown, "cancel below the top")
	require.NoError(t, l.team.Client.CloseView(l.ana, second.View.ID))
	v, ok := l.team.Client.TopView(l.ana)
	assert.True(t, ok, "after cancel: got %+v, want the root", v)
	assert.Equal(t, root.View.ID, v.ID, "after cancel: got %+v, want the root", v)
	assert.Len(t, l.bot.all(), before, "the bot hears of a form that was closed")
	_, err = l.api.PushView(l.trigger(), typedView(t, plainForm))
	require.NoError(t, err)
	before = len(l.bot.all())
	require.NoError(t, l.team.Client.CloseAll(l.ana))
	assert.Empty(t, l.team.Client.Views(l.ana), "forms are left open")
	assert.Len(t, l.bot.all(), before, "the bot hears of forms that were closed")
	assert.ErrorIs(t, l.team.Client.CloseAll(l.ana), ErrNotShown, "the cross without a form")
}

func TestNoticesOfClosingAreRefused(t *testing.T) {
	l := newFixture(t)
	for _, field := range []string{"notify_on_close", "clear_on_close"} {
		asking := strings.Replace(plainForm, `"callback_id":"f"`, `"callback_id":"f","`+field+`":true`, 1)
		_, err := l.api.OpenView(l.trigger(), typedView(t, asking))
		wantCode(t, field, err, "invalid_arguments")
	}
}
