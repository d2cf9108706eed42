package fakeslack

import (
	"encoding/json"
	"errors"
	"testing"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/blockkit"
)

// everyElement has one of each kind that keeps a value or acts at once.
const everyElement = `[
{"type":"section","block_id":"s","text":{"type":"mrkdwn","text":"*Who* decides?"},"accessory":{"type":"users_select","action_id":"who","initial_user":"U00000002"}},
{"type":"actions","block_id":"a","elements":[
 {"type":"button","action_id":"go","value":"v1","style":"primary","text":{"type":"plain_text","text":"Go"}},
 {"type":"static_select","action_id":"level","options":[{"text":{"type":"plain_text","text":"High"},"value":"2"},{"text":{"type":"plain_text","text":"Low"},"value":"1"}]},
 {"type":"multi_static_select","action_id":"many","max_selected_items":2,"option_groups":[{"label":{"type":"plain_text","text":"g"},"options":[{"text":{"type":"plain_text","text":"A"},"value":"a"},{"text":{"type":"plain_text","text":"B"},"value":"b"},{"text":{"type":"plain_text","text":"C"},"value":"c"}]}]},
 {"type":"multi_users_select","action_id":"team"},
 {"type":"overflow","action_id":"more","options":[{"text":{"type":"plain_text","text":"Mute"},"value":"mute"}]},
 {"type":"checkboxes","action_id":"ticks","options":[{"text":{"type":"mrkdwn","text":"One"},"value":"1"},{"text":{"type":"mrkdwn","text":"Two"},"value":"2"}],"initial_options":[{"text":{"type":"mrkdwn","text":"One"},"value":"1"}]},
 {"type":"radio_buttons","action_id":"ring","options":[{"text":{"type":"plain_text","text":"Core"},"value":"core"}]},
 {"type":"datepicker","action_id":"day","initial_date":"2027-03-01"},
 {"type":"timepicker","action_id":"hour"},
 {"type":"datetimepicker","action_id":"moment"},
 {"type":"channels_select","action_id":"place"},
 {"type":"conversations_select","action_id":"talk"},
 {"type":"button","action_id":"mine","visible_to_user_ids":["U00000003"],"text":{"type":"plain_text","text":"Mine"}}]},
{"type":"input","block_id":"i","dispatch_action":true,"label":{"type":"plain_text","text":"Words"},"element":{"type":"plain_text_input","action_id":"words"}},
{"type":"input","block_id":"j","label":{"type":"plain_text","text":"Quiet"},"element":{"type":"plain_text_input","action_id":"quiet"}}]`

func TestEachElementTellsTheBotWhatWasChosen(t *testing.T) {
	l := newLab(t)
	ts := l.postBlocks(everyElement)
	at := Where{Channel: l.channel, TS: ts}
	option := func(a *slack.BlockAction) any { return a.SelectedOption.Value }
	values := func(a *slack.BlockAction) any {
		out := ""
		for _, o := range a.SelectedOptions {
			out += o.Value
		}
		return out
	}
	for _, c := range []struct {
		action string
		value  blockkit.Value
		block  string
		kind   string
		got    func(*slack.BlockAction) any
		want   any
	}{
		{"go", blockkit.Value{}, "a", "button", func(a *slack.BlockAction) any { return a.Value + "/" + a.Text.Text }, "v1/Go"},
		{"who", blockkit.Value{ID: l.ben}, "s", "users_select", func(a *slack.BlockAction) any { return a.SelectedUser + "/" + a.InitialUser }, l.ben + "/" + l.ana},
		{"level", blockkit.Value{Option: "1"}, "a", "static_select", option, "1"},
		{"many", blockkit.Value{Options: []string{"c", "a"}}, "a", "multi_static_select", values, "ca"},
		{"team", blockkit.Value{IDs: []string{l.ana, l.ben}}, "a", "multi_users_select", func(a *slack.BlockAction) any { return len(a.SelectedUsers) }, 2},
		{"more", blockkit.Value{Option: "mute"}, "a", "overflow", option, "mute"},
		{"ticks", blockkit.Value{Options: []string{"2"}}, "a", "checkboxes", values, "2"},
		{"ticks", blockkit.Value{}, "a", "checkboxes", values, ""},
		{"ring", blockkit.Value{Option: "core"}, "a", "radio_buttons", option, "core"},
		{"day", blockkit.Value{Date: "2027-03-28"}, "a", "datepicker", func(a *slack.BlockAction) any { return a.SelectedDate + "/" + a.InitialDate }, "2027-03-28/2027-03-01"},
		{"hour", blockkit.Value{Time: "09:30"}, "a", "timepicker", func(a *slack.BlockAction) any { return a.SelectedTime }, "09:30"},
		{"moment", blockkit.Value{DateTime: 1803891600}, "a", "datetimepicker", func(a *slack.BlockAction) any { return a.SelectedDateTime }, int64(1803891600)},
		{"place", blockkit.Value{ID: l.channel}, "a", "channels_select", func(a *slack.BlockAction) any { return a.SelectedChannel }, l.channel},
		{"talk", blockkit.Value{ID: l.ana}, "a", "conversations_select", func(a *slack.BlockAction) any { return a.SelectedConversation }, l.ana},
		{"words", blockkit.Value{Text: "a < b & c"}, "i", "plain_text_input", func(a *slack.BlockAction) any { return a.Value }, "a < b & c"},
	} {
		l.press(l.ana, at, c.action, c.value)
		actions := l.bot.interaction().ActionCallback.BlockActions
		if len(actions) != 1 {
			t.Fatalf("%s: got %d actions, want 1", c.action, len(actions))
		}
		a := actions[0]
		if got := c.got(a); got != c.want || a.BlockID != c.block || string(a.Type) != c.kind || a.ActionTs == "" {
			t.Errorf("%s: got %v in %s of type %s, want %v in %s of type %s", c.action, got, a.BlockID, a.Type, c.want, c.block, c.kind)
		}
	}
}

func TestThePayloadOfAPressInAMessage(t *testing.T) {
	l := newLab(t)
	parent := l.post(slack.MsgOptionText("parent", false))
	ts := l.post(slack.MsgOptionText("fallback", false), slack.MsgOptionTS(parent), slack.MsgOptionBlocks(typedBlocks(t, everyElement)...))
	l.press(l.ben, Where{Channel: l.channel, TS: ts}, "level", blockkit.Value{Option: "2"})
	l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
	ic := l.bot.interaction()
	if ic.Type != slack.InteractionTypeBlockActions || ic.User.ID != l.ana || ic.Team.ID != l.ws.TeamID() || ic.APIAppID != l.ws.AppID() {
		t.Errorf("who: got %s by %s in %s for %s", ic.Type, ic.User.ID, ic.Team.ID, ic.APIAppID)
	}
	if ic.Channel.ID != l.channel || ic.Message.Timestamp != ts || ic.Message.Text != "fallback" || len(ic.Message.Blocks.BlockSet) != 4 {
		t.Errorf("where: got %s, %+v", ic.Channel.ID, ic.Message)
	}
	if c := ic.Container; c.Type != "message" || c.MessageTs != ts || c.ChannelID != l.channel || c.ThreadTs != parent || c.IsEphemeral {
		t.Errorf("container: got %+v", c)
	}
	if ic.TriggerID == "" || ic.ResponseURL == "" {
		t.Errorf("trigger %q, response URL %q", ic.TriggerID, ic.ResponseURL)
	}
	state := ic.BlockActionState.Values
	if state["a"]["level"].SelectedOption.Value != "" {
		t.Error("ana's state has what ben chose")
	}
	if state["s"]["who"].SelectedUser != l.ana || state["a"]["ticks"].SelectedOptions[0].Value != "1" || state["a"]["day"].SelectedDate != "2027-03-01" {
		t.Errorf("what the elements start with is not in the state: %+v", state)
	}
	if _, ok := state["a"]["go"]; ok {
		t.Error("a button is in the state")
	}
	if v, ok := state["i"]["words"]; !ok || v.Value != "" {
		t.Errorf("an untouched field: got %+v, %v, want it there and empty", v, ok)
	}
	if v := l.bot.payload()["state"].(map[string]any)["values"].(map[string]any)["i"].(map[string]any)["words"].(map[string]any); v["value"] != nil {
		t.Errorf("an untouched field is %v, want null", v["value"])
	}
}

func TestWhatAPersonCannotPress(t *testing.T) {
	l := newLab(t)
	ts := l.postBlocks(everyElement)
	at := Where{Channel: l.channel, TS: ts}
	gone := l.ws.AddUser(User{Deleted: true})
	outside := l.ws.AddUser(User{Guest: true})
	var field *blockkit.InputError
	for _, c := range []struct {
		rule, user string
		at         Where
		action     string
		value      blockkit.Value
		shown      bool // the error is about the value, not about what is there
	}{
		{"a button that is not there", l.ana, at, "nothing", blockkit.Value{}, false},
		{"a message that is not there", l.ana, Where{Channel: l.channel, TS: "1.000000"}, "go", blockkit.Value{}, false},
		{"a form that is not open", l.ana, Where{ViewID: "V99999999"}, "go", blockkit.Value{}, false},
		{"a home tab that was never published", l.ana, Where{Home: true}, "go", blockkit.Value{}, false},
		{"a button shown to another", l.ana, at, "mine", blockkit.Value{}, false},
		{"a deactivated account", gone, at, "go", blockkit.Value{}, false},
		{"a guest of other channels", outside, at, "go", blockkit.Value{}, false},
		{"the bot itself", l.ws.BotUser(), at, "go", blockkit.Value{}, false},
		{"a field that waits for a form's button", l.ana, at, "quiet", blockkit.Value{Text: "x"}, true},
		{"an option that is not listed", l.ana, at, "level", blockkit.Value{Option: "3"}, true},
		{"an overflow without a choice", l.ana, at, "more", blockkit.Value{}, true},
		{"more than may be chosen", l.ana, at, "many", blockkit.Value{Options: []string{"a", "b", "c"}}, true},
		{"somebody who left", l.ana, at, "who", blockkit.Value{ID: gone}, true},
		{"a date that does not exist", l.ana, at, "day", blockkit.Value{Date: "2027-02-29"}, true},
		{"a time that does not exist", l.ana, at, "hour", blockkit.Value{Time: "24:00"}, true},
		{"a private channel in a list of public ones", l.ana, at, "place", blockkit.Value{ID: l.ws.DM(l.ana)}, true},
	} {
		before := len(l.bot.all())
		err := l.ws.Press(t.Context(), c.user, c.at, c.action, "", c.value)
		if c.shown && !errors.As(err, &field) {
			t.Errorf("%s: got %v, want an InputError", c.rule, err)
		}
		if !c.shown && !errors.Is(err, ErrNotShown) {
			t.Errorf("%s: got %v, want ErrNotShown", c.rule, err)
		}
		if len(l.bot.all()) != before {
			t.Errorf("%s: the bot was told", c.rule)
		}
	}
	l.press(l.ben, at, "mine", blockkit.Value{})
}

func TestAButtonThatWasTakenAwayIsGone(t *testing.T) {
	l := newLab(t)
	ts := l.postBlocks(everyElement)
	if _, _, _, err := l.api.UpdateMessage(l.channel, ts, slack.MsgOptionText("closed", false)); err != nil {
		t.Fatal(err)
	}
	err := l.ws.Press(t.Context(), l.ana, Where{Channel: l.channel, TS: ts}, "go", "", blockkit.Value{})
	if !errors.Is(err, ErrNotShown) {
		t.Errorf("got %v, want ErrNotShown", err)
	}
}

func TestPressingInFormsAndOnTheHomeTab(t *testing.T) {
	l := newLab(t)
	opened := l.open(`{"type":"modal","title":{"type":"plain_text","text":"Form"},"submit":{"type":"plain_text","text":"Save"},"private_metadata":"p","blocks":` + everyElement + `}`)
	at := Where{ViewID: opened.View.ID}
	l.press(l.ana, at, "level", blockkit.Value{Option: "2"})
	l.press(l.ana, at, "go", blockkit.Value{})
	ic := l.bot.interaction()
	if ic.Container.Type != "view" || ic.Container.ViewID != opened.View.ID || ic.View.PrivateMetadata != "p" || ic.View.Hash == "" || ic.ResponseURL != "" {
		t.Errorf("in a form: got %+v", ic)
	}
	if got := ic.View.State.Values["a"]["level"].SelectedOption.Value; got != "2" {
		t.Errorf("state of the form: got %q, want 2", got)
	}
	if err := l.ws.Press(t.Context(), l.ben, at, "go", "", blockkit.Value{}); !errors.Is(err, ErrNotShown) {
		t.Errorf("ben in ana's form: got %v, want ErrNotShown", err)
	}
	if _, err := l.api.PushView(ic.TriggerID, typedView(t, plainForm)); err != nil {
		t.Fatal(err)
	}
	if err := l.ws.Press(t.Context(), l.ana, at, "go", "", blockkit.Value{}); !errors.Is(err, ErrNotShown) {
		t.Errorf("in a form below another: got %v, want ErrNotShown", err)
	}

	var home slack.HomeTabViewRequest
	if err := json.Unmarshal([]byte(`{"type":"home","blocks":`+everyElement+`}`), &home); err != nil {
		t.Fatal(err)
	}
	if _, err := l.api.PublishView(l.ana, home, ""); err != nil {
		t.Fatal(err)
	}
	l.press(l.ana, Where{Home: true}, "go", blockkit.Value{})
	if ic := l.bot.interaction(); ic.View.Type != "home" || ic.Container.Type != "view" {
		t.Errorf("on the home tab: got %+v", ic)
	}
}

func TestABotThatDoesNotAcknowledge(t *testing.T) {
	l := newLab(t)
	ts := l.postBlocks(everyElement)
	press := func() error {
		return l.ws.Press(t.Context(), l.ana, Where{Channel: l.channel, TS: ts}, "go", "", blockkit.Value{})
	}
	for _, c := range []struct {
		rule   string
		status int
		good   bool
	}{
		{"200", 200, true},
		{"another success will not do for an interaction", 202, false},
		{"a refusal", 401, false},
		{"an error", 500, false},
	} {
		l.bot.answers(c.status, "")
		if err := press(); errors.Is(err, ErrNoAck) == c.good {
			t.Errorf("%s: got %v", c.rule, err)
		}
	}
	l.ws.SetBotURL("http://127.0.0.1:1")
	if err := press(); !errors.Is(err, ErrNoAck) {
		t.Errorf("nobody at home: got %v, want ErrNoAck", err)
	}
}
