package fakeslack

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

// tool asks the door for tools. body is JSON or a form, as kind says.
func (l *fixture) tool(method, path, kind, body string) (int, map[string]any) {
	l.t.Helper()
	req, err := http.NewRequestWithContext(l.t.Context(), method, l.url+path, strings.NewReader(body))
	require.NoError(l.t, err)
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	resp, err := http.DefaultClient.Do(req)
	require.NoError(l.t, err)
	defer resp.Body.Close()
	var out map[string]any
	require.NoError(l.t, json.NewDecoder(resp.Body).Decode(&out), "%s %s answers no JSON", method, path)
	return resp.StatusCode, out
}

func (l *fixture) say(fields map[string]string) (int, map[string]any) {
	l.t.Helper()
	body, err := json.Marshal(fields)
	require.NoError(l.t, err)
	return l.tool("POST", "/room/say", "application/json", string(body))
}

func TestRoomSaysWhereEverythingIs(t *testing.T) {
	l := newFixture(t)
	gone := l.team.AddUser(User{Name: "gone", Deleted: true})
	status, room := l.tool("GET", "/room.json", "", "")
	assert.False(t, status != http.StatusOK || room["api"] != l.url+"/api/" || room["channel"] != l.channel || room["bot_user"] != l.team.BotUser(), "got %d, %v", status, room)
	people, _ := room["people"].([]any)
	var got []string
	for _, p := range people {
		o, _ := p.(map[string]any)
		got = append(got, wire.Str(o, "id")+" "+wire.Str(o, "name")+" "+wire.Str(o, "zone"))
	}
	want := []string{l.ana + " Ana Europe/Lisbon", l.ben + " Ben Asia/Kolkata"}
	assert.Equal(t, want, got, "people: got %v, want %v: neither the bot nor %s", got, want, gone)
}

func TestTriggerOpensOneForm(t *testing.T) {
	l := newFixture(t)
	view := typedView(t, `{"type":"modal","title":{"type":"plain_text","text":"One"},"blocks":[{"type":"divider"}]}`)
	trigger := l.triggerFor(l.ben)
	_, err := l.api.OpenView(trigger, view)
	require.NoError(t, err)
	v, open := l.team.Client.TopView(l.ben)
	assert.True(t, open, "the form is not before Ben: %v", v)
	assert.Equal(t, "One", v.Title, "the form is not before Ben: %v", v)
	_, err = l.api.OpenView(trigger, view)
	wantCode(t, "the same trigger again", err, "exchanged_trigger_id")
	late := l.triggerFor(l.ben)
	l.clock.add(triggerLife + 1)
	_, err = l.api.OpenView(late, view)
	wantCode(t, "a trigger after three seconds", err, "expired_trigger_id")
}

// Whatever way the app listens, it hears each message, and mentions besides.
func TestSayReachesTheApp(t *testing.T) {
	l := newFixture(t)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"every message is heard", "a & b", []string{"message"}},
		{"a mention is heard twice", "<@" + l.team.BotUser() + "> hello", []string{"message", "app_mention"}},
	} {
		t.Run(c.name+" over HTTP", func(t *testing.T) {
			before := len(l.bot.all())
			status, out := l.say(map[string]string{"user": l.ana, "channel": l.channel, "text": c.text})
			require.Equal(t, http.StatusOK, status, "got %d, %v", status, out)
			require.True(t, out["delivered"] == true, "got %d, %v", status, out)
			var got []string
			for _, d := range l.bot.all()[before:] {
				var e map[string]any
				require.NoError(t, json.Unmarshal(d.body, &e))
				inner := wire.Obj(e, "event")
				got = append(got, wire.Str(inner, "type"))
				assert.False(t, wire.Str(inner, "user") != l.ana || wire.Str(inner, "channel") != l.channel || wire.Str(inner, "ts") != out["ts"], "event: got %v", inner)
			}
			assert.Equal(t, c.want, got, "events")
			m, ok := l.team.Message(l.channel, wire.Str(out, "ts"))
			assert.True(t, ok, "the message does not stand: %v", m)
			assert.Equal(t, l.ana, m.User, "the message does not stand: %v", m)
		})
	}
	t.Run("a client on a socket hears it instead", func(t *testing.T) {
		w, before := l.plug(), len(l.bot.all())
		var out map[string]any
		var f frame
		_ = during(func() error {
			_, out = l.say(map[string]string{"user": l.ben, "channel": l.channel, "text": "hello"})
			return nil
		}, func() { f = w.ack("{}") })
		assert.True(t, out["delivered"] == true, "got %v for %v", out, f)
		assert.True(t, f.at("payload", "event", "type") == "message", "got %v for %v", out, f)
		assert.True(t, f.at("payload", "event", "channel_type") == "channel", "got %v for %v", out, f)
		n := len(l.bot.all())
		assert.Equal(t, before, n, "%d deliveries went elsewhere", n-before)
	})
}

func TestSayTakesFormsAndThreads(t *testing.T) {
	l := newFixture(t)
	fields := url.Values{"user": {l.ana}, "channel": {l.channel}, "text": {"one"}}
	_, first := l.tool("POST", "/room/say", "application/x-www-form-urlencoded", fields.Encode())
	_, second := l.say(map[string]string{"user": l.ben, "channel": l.channel, "text": "two", "thread_ts": wire.Str(first, "ts")})
	m, ok := l.team.Message(l.channel, wire.Str(second, "ts"))
	assert.True(t, ok, "the reply is not in its thread: %v", m)
	assert.Equal(t, wire.Str(first, "ts"), m.ThreadTS, "the reply is not in its thread: %v", m)
	inner := wire.Obj(l.bot.event(), "event")
	assert.Equal(t, wire.Str(first, "ts"), wire.Str(inner, "thread_ts"), "event: got %v", inner)
}

func TestSayWithNobodyThere(t *testing.T) {
	l := newFixture(t)
	l.team.SetBotURL("")
	status, out := l.say(map[string]string{"user": l.ana, "channel": l.channel, "text": "hello"})
	assert.False(t, status != http.StatusOK || out["ok"] != true || out["delivered"] != false, "got %d, %v", status, out)
	_, waiting := l.team.Outbox.NextRedelivery()
	assert.True(t, waiting, "it is not tried again")
}

func TestToolsAreToldWhatIsWrong(t *testing.T) {
	l := newFixture(t)
	other := l.team.AddChannel(Channel{Name: "other", Members: []string{l.ben}})
	for _, c := range []struct {
		name, path, body string
		want             int
	}{
		{"nobody of that id", "/room/trigger?user=U99999999", "", http.StatusNotFound},
		{"no user at all", "/room/trigger", "", http.StatusNotFound},
		{"the bot presses nothing", "/room/trigger?user=" + l.team.BotUser(), "", http.StatusForbidden},
		{"no such channel", "/room/say", `{"user":"` + l.ana + `","channel":"C99999999","text":"x"}`, http.StatusNotFound},
		{"not in the channel", "/room/say", `{"user":"` + l.ana + `","channel":"` + other + `","text":"x"}`, http.StatusForbidden},
		{"nothing said", "/room/say", `{"user":"` + l.ana + `","channel":"` + l.channel + `","text":""}`, http.StatusBadRequest},
		{"no JSON", "/room/say", `{`, http.StatusBadRequest},
	} {
		t.Run(c.name, func(t *testing.T) {
			kind := ""
			if c.body != "" {
				kind = "application/json"
			}
			status, out := l.tool("POST", c.path, kind, c.body)
			assert.False(t, status != c.want || out["ok"] != false || wire.Str(out, "error") == "", "got %d, %v; want %d", status, out, c.want)
		})
	}
}
