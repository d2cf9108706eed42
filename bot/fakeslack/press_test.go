package fakeslack

import (
	"encoding/json"
	"errors"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
 {"type":"checkboxes","action_id":"ticks","options":[{"text":{"type":"mrkdwn","text":"One"},"value":"1"},{"text":{"type":"mrkdwn","text":"Two"},"value":"2"}],"initial_options":[{"text":{"type":"mrkdwn","text":"One"},"value":"1"}]},
 {"type":"radio_buttons","action_id":"ring","options":[{"text":{"type":"plain_text","text":"Core"},"value":"core"}]},
 {"type":"datepicker","action_id":"day","initial_date":"2027-03-01"},
 {"type":"conversations_select","action_id":"talk"},
 {"type":"button","action_id":"mine","visible_to_user_ids":["U00000003"],"text":{"type":"plain_text","text":"Mine"}}]},
{"type":"input","block_id":"i","label":{"type":"plain_text","text":"Words"},"element":{"type":"plain_text_input","action_id":"words"}},
{"type":"input","block_id":"j","label":{"type":"plain_text","text":"Quiet"},"element":{"type":"plain_text_input","action_id":"quiet"}}]`

func TestEachElementTellsTheBotWhatWasChosen(t *testing.T) {
	l := newFixture(t)
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
		{"ticks", blockkit.Value{Options: []string{"2"}}, "a", "checkboxes", values, "2"},
		{"ticks", blockkit.Value{}, "a", "checkboxes", values, ""},
		{"ring", blockkit.Value{Option: "core"}, "a", "radio_buttons", option, "core"},
		{"day", blockkit.Value{Date: "2027-03-28"}, "a", "datepicker", func(a *slack.BlockAction) any { return a.SelectedDate + "/" + a.InitialDate }, "2027-03-28/2027-03-01"},
		{"talk", blockkit.Value{ID: l.ana}, "a", "conversations_select", func(a *slack.BlockAction) any { return a.SelectedConversation }, l.ana},
	} {
		l.press(l.ana, at, c.action, c.value)
		actions := l.bot.interaction().ActionCallback.BlockActions
		require.Len(t, actions, 1, "%s: got %d actions, want 1", c.action, len(actions))
		a := actions[0]
		got := c.got(a)
		assert.True(t, got == c.want, "%s: got %v in %s of type %s, want %v in %s of type", c.action, got, a.BlockID, a.Type, c.want, c.block)
		assert.Equal(t, c.block, a.BlockID, "%s: got %v in %s of type %s, want %v in %s of type", c.action, got, a.BlockID, a.Type, c.want, c.block)
		assert.Equal(t, c.kind, string(a.Type), "%s: got %v in %s of type %s, want %v in %s of type", c.action, got, a.BlockID, a.Type, c.want, c.block)
		assert.NotEqual(t, "", a.ActionTs, "%s: got %v in %s of type %s, want %v in %s of type", c.action, got, a.BlockID, a.Type, c.want, c.block)
	}
}

func TestThePayloadOfAPressInAMessage(t *testing.T) {
	l := newFixture(t)
	parent := l.post(slack.MsgOptionText("parent", false))
	ts := l.post(slack.MsgOptionText("fallback", false), slack.MsgOptionTS(parent), slack.MsgOptionBlocks(typedBlocks(t, everyElement)...))
	l.press(l.ben, Where{Channel: l.channel, TS: ts}, "level", blockkit.Value{Option: "2"})
	l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
	ic := l.bot.interaction()
	assert.Equal(t, slack.InteractionTypeBlockActions, ic.Type, "who: got %s by %s in %s for", ic.Type, ic.User.ID, ic.Team.ID)
	assert.Equal(t, l.ana, ic.User.ID, "who: got %s by %s in %s for", ic.Type, ic.User.ID, ic.Team.ID)
	assert.Equal(t, l.team.TeamID(), ic.Team.ID, "who: got %s by %s in %s for", ic.Type, ic.User.ID, ic.Team.ID)
	assert.Equal(t, l.team.AppID(), ic.APIAppID, "who: got %s by %s in %s for", ic.Type, ic.User.ID, ic.Team.ID)
	assert.Equal(t, l.channel, ic.Channel.ID, "where: got %s, %+v", ic.Channel.ID, ic.Message)
	assert.Equal(t, ts, ic.Message.Timestamp, "where: got %s, %+v", ic.Channel.ID, ic.Message)
	assert.Equal(t, "fallback", ic.Message.Text, "where: got %s, %+v", ic.Channel.ID, ic.Message)
	assert.Len(t, ic.Message.Blocks.BlockSet, 4, "where: got %s, %+v", ic.Channel.ID, ic.Message)
	c := ic.Container
	assert.Equal(t, "message", c.Type, "container: got %+v", c)
	assert.Equal(t, ts, c.MessageTs, "container: got %+v", c)
	assert.Equal(t, l.channel, c.ChannelID, "container: got %+v", c)
	assert.Equal(t, parent, c.ThreadTs, "container: got %+v", c)
	assert.False(t, c.IsEphemeral, "container: got %+v", c)
	assert.NotEqual(t, "", ic.TriggerID, "trigger %q, response URL", ic.TriggerID)
	assert.NotEqual(t, "", ic.ResponseURL, "trigger %q, response URL", ic.TriggerID)
	state := ic.BlockActionState.Values
	assert.Equal(t, "", state["a"]["level"].SelectedOption.Value, "ana's state has what ben chose")
	assert.False(t, state["s"]["who"].SelectedUser != l.ana || state["a"]["ticks"].SelectedOptions[0].Value != "1" || state["a"]["day"].SelectedDate != "2027-03-01", "what the elements start with is not in the state: %+v", state)
	_, ok := state["a"]["go"]
	assert.False(t, ok, "a button is in the state")
	v, ok := state["i"]["words"]
	assert.True(t, ok, "an untouched field: got %+v, %v, want it there and empty", v, ok)
	assert.Equal(t, "", v.Value, "an untouched field: got %+v, %v, want it there and empty", v, ok)
	assert.Nil(t, l.bot.payload()["state"].(map[string]any)["values"].(map[string]any)["i"].(map[string]any)["words"].(map[string]any)["value"], "an untouched field")
}

func TestWhatAPersonCannotPress(t *testing.T) {
	l := newFixture(t)
	ts := l.postBlocks(everyElement)
	at := Where{Channel: l.channel, TS: ts}
	gone := l.team.AddUser(User{Deleted: true})
	outside := l.team.AddUser(User{Guest: true})
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
		{"the bot itself", l.team.BotUser(), at, "go", blockkit.Value{}, false},
		{"a field that waits for a form's button", l.ana, at, "quiet", blockkit.Value{Text: "x"}, true},
		{"an option that is not listed", l.ana, at, "level", blockkit.Value{Option: "3"}, true},
		{"more than may be chosen", l.ana, at, "many", blockkit.Value{Options: []string{"a", "b", "c"}}, true},
		{"somebody who left", l.ana, at, "who", blockkit.Value{ID: gone}, true},
		{"a date that does not exist", l.ana, at, "day", blockkit.Value{Date: "2027-02-29"}, true},
		{"a conversation that does not exist", l.ana, at, "talk", blockkit.Value{ID: "C99999999"}, true},
	} {
		before := len(l.bot.all())
		err := l.team.Client.Press(t.Context(), c.user, c.at, c.action, "", c.value)
		assert.False(t, c.shown && !errors.As(err, &field), "%s: got %v, want an InputError", c.rule, err)
		assert.False(t, !c.shown && !errors.Is(err, ErrNotShown), "%s: got %v, want ErrNotShown", c.rule, err)
		assert.Len(t, l.bot.all(), before, "%s: the bot was told", c.rule)
	}
	l.press(l.ben, at, "mine", blockkit.Value{})
}

func TestAButtonThatWasTakenAwayIsGone(t *testing.T) {
	l := newFixture(t)
	ts := l.postBlocks(everyElement)
	_, _, _, err := l.api.UpdateMessage(l.channel, ts, slack.MsgOptionText("closed", false))
	require.NoError(t, err)
	err = l.team.Client.Press(t.Context(), l.ana, Where{Channel: l.channel, TS: ts}, "go", "", blockkit.Value{})
	assert.ErrorIs(t, err, ErrNotShown)
}

func TestPressingInFormsAndOnTheHomeTab(t *testing.T) {
	l := newFixture(t)
	opened := l.open(`{"type":"modal","title":{"type":"plain_text","text":"Form"},"submit":{"type":"plain_text","text":"Save"},"private_metadata":"p","blocks":` + everyElement + `}`)
	at := Where{ViewID: opened.View.ID}
	l.press(l.ana, at, "level", blockkit.Value{Option: "2"})
	l.press(l.ana, at, "go", blockkit.Value{})
	ic := l.bot.interaction()
	assert.Equal(t, "view", ic.Container.Type, "in a form: got %+v", ic)
	assert.Equal(t, opened.View.ID, ic.Container.ViewID, "in a form: got %+v", ic)
	assert.Equal(t, "p", ic.View.PrivateMetadata, "in a form: got %+v", ic)
	assert.NotEqual(t, "", ic.View.Hash, "in a form: got %+v", ic)
	assert.Equal(t, "", ic.ResponseURL, "in a form: got %+v", ic)
	assert.Equal(t, "2", ic.View.State.Values["a"]["level"].SelectedOption.Value, "state of the form")
	assert.ErrorIs(t, l.team.Client.Press(t.Context(), l.ben, at, "go", "", blockkit.Value{}), ErrNotShown, "ben in ana's form")
	_, err := l.api.PushView(ic.TriggerID, typedView(t, plainForm))
	require.NoError(t, err)
	assert.ErrorIs(t, l.team.Client.Press(t.Context(), l.ana, at, "go", "", blockkit.Value{}), ErrNotShown, "in a form below another")

	var home slack.HomeTabViewRequest
	require.NoError(t, json.Unmarshal([]byte(`{"type":"home","blocks":`+everyElement+`}`), &home))
	_, err = l.api.PublishView(l.ana, home, "")
	require.NoError(t, err)
	l.press(l.ana, Where{Home: true}, "go", blockkit.Value{})
	ic = l.bot.interaction()
	assert.Equal(t, slack.ViewType("home"), ic.View.Type, "on the home tab: got %+v", ic)
	assert.Equal(t, "view", ic.Container.Type, "on the home tab: got %+v", ic)
}

func TestABotThatDoesNotAcknowledge(t *testing.T) {
	l := newFixture(t)
	ts := l.postBlocks(everyElement)
	press := func() error {
		return l.team.Client.Press(t.Context(), l.ana, Where{Channel: l.channel, TS: ts}, "go", "", blockkit.Value{})
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
		err := press()
		assert.NotEqual(t, c.good, errors.Is(err, ErrNoAck), "%s: got %v", c.rule, err)
	}
	l.team.SetBotURL("http://127.0.0.1:1")
	assert.ErrorIs(t, press(), ErrNoAck, "nobody at home")
}
