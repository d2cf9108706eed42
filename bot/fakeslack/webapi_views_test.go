package fakeslack

import (
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/blockkit"
)

const plainForm = `{"type":"modal","callback_id":"f","title":{"type":"plain_text","text":"Form"},"submit":{"type":"plain_text","text":"Save"},
"blocks":[{"type":"input","block_id":"name","label":{"type":"plain_text","text":"Name"},"element":{"type":"plain_text_input","action_id":"in"}}]}`

// Codes of triggers: the method reference of views.open. Three seconds and
// one use: the page on handling interactions.
func TestATriggerOpensOneFormWithinThreeSeconds(t *testing.T) {
	l := newLab(t)
	form := typedView(t, plainForm)
	trigger := l.trigger()
	l.clock.add(3 * time.Second)
	if _, err := l.api.OpenView(trigger, form); err != nil {
		t.Errorf("after three seconds: %v", err)
	}
	_, err := l.api.OpenView(trigger, form)
	wantCode(t, "used twice", err, "exchanged_trigger_id")
	late := l.trigger()
	l.clock.add(3*time.Second + time.Millisecond)
	_, err = l.api.OpenView(late, form)
	wantCode(t, "after more than three seconds", err, "expired_trigger_id")
	_, err = l.api.OpenView("1.2.abc", form)
	wantCode(t, "made up", err, "invalid_trigger_id")
}

func TestAnOpenFormIsAsTheBotMadeIt(t *testing.T) {
	l := newLab(t)
	resp := l.open(strings.Replace(plainForm, `"callback_id":"f"`, `"callback_id":"f","private_metadata":"{}","notify_on_close":true`, 1))
	if !strings.HasPrefix(resp.View.ID, "V") || resp.View.RootViewID != resp.View.ID || resp.View.Hash == "" || resp.View.CallbackID != "f" {
		t.Errorf("answer: got %+v", resp.View)
	}
	views := l.ws.Views(l.ana)
	if len(views) != 1 {
		t.Fatalf("ana has %d forms open, want 1", len(views))
	}
	v := views[0]
	if v.Title != "Form" || v.Submit != "Save" || v.PrivateMetadata != "{}" || !v.NotifyOnClose || v.Hash != resp.View.Hash {
		t.Errorf("form: got %+v", v)
	}
	if len(l.ws.Views(l.ben)) != 0 {
		t.Error("ben has ana's form before him")
	}
}

func TestAStackHoldsThreeForms(t *testing.T) {
	l := newLab(t)
	root := l.open(plainForm)
	form := typedView(t, plainForm)
	second, err := l.api.PushView(l.trigger(), form)
	if err != nil {
		t.Fatal(err)
	}
	if second.View.RootViewID != root.View.ID || second.View.PreviousViewID != root.View.ID {
		t.Errorf("second: root %s, previous %s, want %s", second.View.RootViewID, second.View.PreviousViewID, root.View.ID)
	}
	if _, err := l.api.PushView(l.trigger(), form); err != nil {
		t.Fatal(err)
	}
	_, err = l.api.PushView(l.trigger(), form)
	wantCode(t, "a fourth", err, "push_limit_reached")
	if got := len(l.ws.Views(l.ana)); got != 3 {
		t.Errorf("open forms: got %d, want 3", got)
	}
	if _, err := l.api.OpenView(l.trigger(), form); err != nil {
		t.Fatal(err)
	}
	if got := len(l.ws.Views(l.ana)); got != 1 {
		t.Errorf("after opening anew: got %d forms, want 1", got)
	}
}

func TestAStaleHashIsRefused(t *testing.T) {
	l := newLab(t)
	opened := l.open(plainForm)
	form := typedView(t, plainForm)
	updated, err := l.api.UpdateView(form, "", opened.View.Hash, opened.View.ID)
	if err != nil {
		t.Fatal(err)
	}
	if updated.View.Hash == opened.View.Hash {
		t.Error("the hash stayed the same")
	}
	_, err = l.api.UpdateView(form, "", opened.View.Hash, opened.View.ID)
	wantCode(t, "the old hash", err, "hash_conflict")
	if _, err = l.api.UpdateView(form, "", "", opened.View.ID); err != nil {
		t.Errorf("no hash at all: %v", err)
	}
}

func TestHowUpdatesNameTheirForm(t *testing.T) {
	l := newLab(t)
	form := typedView(t, plainForm)
	form.ExternalID = "mine"
	opened, err := l.api.OpenView(l.trigger(), form)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.api.UpdateView(form, "mine", "", ""); err != nil {
		t.Errorf("by its own id: %v", err)
	}
	_, err = l.api.UpdateView(form, "mine", "", opened.View.ID)
	wantCode(t, "by both", err, "invalid_arguments")
	_, err = l.api.UpdateView(form, "other", "", "")
	wantCode(t, "by an unknown one", err, "not_found")
	_, err = l.api.PushView(l.trigger(), form)
	wantCode(t, "an id that is taken", err, "duplicate_external_id")
	if err := l.ws.CloseView(t.Context(), l.ana, opened.View.ID); err != nil {
		t.Fatal(err)
	}
	_, err = l.api.UpdateView(typedView(t, plainForm), "", "", opened.View.ID)
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
		{"another kind of field", field("name", "in", "email_text_input"), ""},
		{"another start for the same field", strings.Replace(plainForm, `"action_id":"in"`, `"action_id":"in","initial_value":"start"`, 1), "typed"},
	} {
		l := newLab(t)
		opened := l.open(plainForm)
		if err := l.ws.Type(l.ana, opened.View.ID, "name", "in", blockkit.Value{Text: "typed"}); err != nil {
			t.Fatal(err)
		}
		updated, err := l.api.UpdateView(typedView(t, c.view), "", "", opened.View.ID)
		if err != nil {
			t.Fatalf("%s: %v", c.rule, viewError(updated, err))
		}
		got := ""
		for _, actions := range updated.View.State.Values {
			for _, v := range actions {
				got += v.Value
			}
		}
		if got != c.want {
			t.Errorf("%s: got %q, want %q", c.rule, got, c.want)
		}
	}
}

func TestHomeTabs(t *testing.T) {
	l := newLab(t)
	home := slack.HomeTabViewRequest{Type: "home", Blocks: slack.Blocks{BlockSet: []slack.Block{slack.NewDividerBlock()}}}
	if _, ok := l.ws.Home(l.ana); ok {
		t.Error("there is a home tab before any was published")
	}
	first, err := l.api.PublishView(l.ana, home, "")
	if err != nil {
		t.Fatal(err)
	}
	second, err := l.api.PublishView(l.ana, home, first.View.Hash)
	if err != nil || second.View.ID != first.View.ID {
		t.Errorf("published again: got %s, %v, want the same id %s", second.View.ID, err, first.View.ID)
	}
	_, err = l.api.PublishView(l.ana, home, first.View.Hash)
	wantCode(t, "the old hash", err, "hash_conflict")
	_, err = l.api.PublishView("U99999999", home, "")
	wantCode(t, "nobody's home", err, "invalid_arguments")
	if v, ok := l.ws.Home(l.ana); !ok || v.Type != "home" || len(v.Blocks) != 1 {
		t.Errorf("home: got %+v", v)
	}
	if _, ok := l.ws.Home(l.ben); ok {
		t.Error("ben sees ana's home")
	}
}

func TestAViewOf250kBIsTooLarge(t *testing.T) {
	l := newLab(t)
	block := func(n int) any {
		return map[string]any{"type": "section", "text": map[string]any{"type": "plain_text", "text": strings.Repeat("x", n)}}
	}
	blocks := make([]any, 100)
	for i := range blocks {
		blocks[i] = block(2600)
	}
	view := map[string]any{"type": "modal", "title": map[string]any{"type": "plain_text", "text": "Form"}, "blocks": blocks}
	if r := l.raw("views.open", map[string]any{"trigger_id": l.trigger(), "view": view}); r["error"] != "view_too_large" {
		t.Errorf("a view of more than 250 kB: got %v", r["error"])
	}
	for i := range blocks {
		blocks[i] = block(2300)
	}
	if r := l.raw("views.open", map[string]any{"trigger_id": l.trigger(), "view": view}); r["ok"] != true {
		t.Errorf("a view of less: got %v", r)
	}
}
