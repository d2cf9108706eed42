package fakeslack

import (
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

const plainForm = `{"type":"modal","callback_id":"f","title":{"type":"plain_text","text":"Form"},"submit":{"type":"plain_text","text":"Save"},
"blocks":[{"type":"input","block_id":"name","label":{"type":"plain_text","text":"Name"},"element":{"type":"plain_text_input","action_id":"in"}}]}`

// Codes of triggers: the method reference of views.open. Three seconds and
// one use: the page on handling interactions.
func TestATriggerOpensOneFormWithinThreeSeconds(t *testing.T) {
	l := newFixture(t)
	form := typedView(t, plainForm)
	trigger := l.trigger()
	l.clock.add(3 * time.Second)
	_, err := l.api.OpenView(trigger, form)
	assert.NoError(t, err, "after three seconds")
	_, err = l.api.OpenView(trigger, form)
	wantCode(t, "used twice", err, "exchanged_trigger_id")
	late := l.trigger()
	l.clock.add(3*time.Second + time.Millisecond)
	_, err = l.api.OpenView(late, form)
	wantCode(t, "after more than three seconds", err, "expired_trigger_id")
	_, err = l.api.OpenView("1.2.abc", form)
	wantCode(t, "made up", err, "invalid_trigger_id")
}

func TestAnOpenFormIsAsTheBotMadeIt(t *testing.T) {
	l := newFixture(t)
	resp := l.open(strings.Replace(plainForm, `"callback_id":"f"`, `"callback_id":"f","private_metadata":"{}"`, 1))
	assert.True(t, strings.HasPrefix(resp.View.ID, "V"), "answer: got %+v", resp.View)
	assert.Equal(t, resp.View.ID, resp.View.RootViewID, "answer: got %+v", resp.View)
	assert.NotEqual(t, "", resp.View.Hash, "answer: got %+v", resp.View)
	assert.Equal(t, "f", resp.View.CallbackID, "answer: got %+v", resp.View)
	views := l.team.Client.Views(l.ana)
	require.Len(t, views, 1, "ana has %d forms open, want 1", len(views))
	v := views[0]
	assert.Equal(t, "Form", v.Title, "form: got %+v", v)
	assert.Equal(t, "Save", v.Submit, "form: got %+v", v)
	assert.Equal(t, "{}", v.PrivateMetadata, "form: got %+v", v)
	assert.Equal(t, resp.View.Hash, v.Hash, "form: got %+v", v)
	assert.Empty(t, l.team.Client.Views(l.ben), "ben has ana's form before him")
}

func TestAStackHoldsThreeForms(t *testing.T) {
	l := newFixture(t)
	root := l.open(plainForm)
	form := typedView(t, plainForm)
	second, err := l.api.PushView(l.trigger(), form)
	require.NoError(t, err)
	assert.Equal(t, root.View.ID, second.View.RootViewID, "second: root %s, previous", second.View.RootViewID)
	assert.Equal(t, root.View.ID, second.View.PreviousViewID, "second: root %s, previous", second.View.RootViewID)
	_, err = l.api.PushView(l.trigger(), form)
	require.NoError(t, err)
	_, err = l.api.PushView(l.trigger(), form)
	wantCode(t, "a fourth", err, "push_limit_reached")
	assert.Len(t, l.team.Client.Views(l.ana), 3, "open forms")
	_, err = l.api.OpenView(l.trigger(), form)
	require.NoError(t, err)
	got := len(l.team.Client.Views(l.ana))
	assert.Equal(t, 1, got, "after opening anew: got %d forms, want 1", got)
}

func TestAStaleHashIsRefused(t *testing.T) {
	l := newFixture(t)
	opened := l.open(plainForm)
	form := typedView(t, plainForm)
	updated, err := l.api.UpdateView(form, "", opened.View.Hash, opened.View.ID)
	require.NoError(t, err)
	assert.NotEqual(t, opened.View.Hash, updated.View.Hash, "the hash stayed the same")
	_, err = l.api.UpdateView(form, "", opened.View.Hash, opened.View.ID)
	wantCode(t, "the old hash", err, "hash_conflict")
	_, err = l.api.UpdateView(form, "", "", opened.View.ID)
	assert.NoError(t, err, "no hash at all")
}

func TestHowUpdatesNameTheirForm(t *testing.T) {
	l := newFixture(t)
	form := typedView(t, plainForm)
	opened := l.open(plainForm)
	_, err := l.api.UpdateView(form, "", "", opened.View.ID)
	assert.NoError(t, err, "by its id")
	_, err = l.api.UpdateView(form, "mine", "", "")
	wantCode(t, "by an id of the bot's own", err, "not_found")
	require.NoError(t, l.team.Client.CloseView(l.ana, opened.View.ID))
	_, err = l.api.UpdateView(form, "", "", opened.View.ID)
	wantCode(t, "a form that was closed", err, "not_found")
}

// Source: the modals page and views.update.
func TestTypedValuesSurviveWhereBothIDsStay(t *testing.T) {
	field := func(block, action, kind string) string {
		return strings.NewReplacer(`"block_id":"name"`, `"block_id":"`+block+`"`, `"action_id":"in"`, `"action_id":"`+action+`"`,
			"plain_text_input", kind).Replace(plainForm)
	}
	for _, c := range []struct{ rule, view, want string }{
		{"both the same", field("name", "in", "plain_text_input"), "typed"},
		{"another block id", field("other", "in", "plain_text_input"), ""},
		{"another action id", field("name", "other", "plain_text_input"), ""},
		{"another kind of field", field("name", "in", "datepicker"), ""},
		{"another start for the same field", strings.Replace(plainForm, `"action_id":"in"`, `"action_id":"in","initial_value":"start"`, 1), "typed"},
	} {
		l := newFixture(t)
		opened := l.open(plainForm)
		require.NoError(t, l.team.Client.Type(l.ana, opened.View.ID, "name", "in", blockkit.Value{Text: "typed"}))
		updated, err := l.api.UpdateView(typedView(t, c.view), "", "", opened.View.ID)
		require.NoError(t, err, "%s: %v", c.rule, updated)
		got := ""
		for _, actions := range updated.View.State.Values {
			for _, v := range actions {
				got += v.Value
			}
		}
		assert.Equal(t, c.want, got, c.rule)
	}
}

func TestHomeTabs(t *testing.T) {
	l := newFixture(t)
	home := slack.HomeTabViewRequest{Type: "home", Blocks: slack.Blocks{BlockSet: []slack.Block{slack.NewDividerBlock()}}}
	_, ok := l.team.Client.Home(l.ana)
	assert.False(t, ok, "there is a home tab before any was published")
	first, err := l.api.PublishView(l.ana, home, "")
	require.NoError(t, err)
	second, err := l.api.PublishView(l.ana, home, first.View.Hash)
	require.NoError(t, err)
	assert.Equal(t, first.View.ID, second.View.ID, "published again")
	_, err = l.api.PublishView(l.ana, home, first.View.Hash)
	wantCode(t, "the old hash", err, "hash_conflict")
	_, err = l.api.PublishView("U99999999", home, "")
	wantCode(t, "nobody's home", err, "invalid_arguments")
	v, ok := l.team.Client.Home(l.ana)
	assert.True(t, ok, "home: got %+v", v)
	assert.Equal(t, "home", v.Type, "home: got %+v", v)
	assert.Len(t, v.Blocks, 1, "home: got %+v", v)
	_, ok = l.team.Client.Home(l.ben)
	assert.False(t, ok, "ben sees ana's home")
}

func TestAViewOf250kBIsTooLarge(t *testing.T) {
	l := newFixture(t)
	block := func(n int) any {
		return map[string]any{"type": "section", "text": map[string]any{"type": "plain_text", "text": strings.Repeat("x", n)}}
	}
	blocks := make([]any, 100)
	for i := range blocks {
		blocks[i] = block(2600)
	}
	view := map[string]any{"type": "modal", "title": map[string]any{"type": "plain_text", "text": "Form"}, "blocks": blocks}
	assert.True(t, l.raw("views.open", map[string]any{"trigger_id": l.trigger(), "view": view})["error"] == "view_too_large", "a view of more than 250 kB")
	for i := range blocks {
		blocks[i] = block(2300)
	}
	r := l.raw("views.open", map[string]any{"trigger_id": l.trigger(), "view": view})
	assert.True(t, r["ok"] == true, "a view of less: got %v", r)
}
