package fakeslack

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/wire"
)

func TestTokensAreTakenFromEveryPlace(t *testing.T) {
	l := newLab(t)
	if r := l.form("auth.test", url.Values{"token": {"xoxb-form"}}); r["ok"] != true {
		t.Errorf("token in the form: %v", r)
	}
	if r := l.raw("auth.test", nil); r["ok"] != true {
		t.Errorf("token in the header: %v", r)
	}
	req, _ := http.NewRequest(http.MethodPost, l.url+"/api/auth.test", strings.NewReader(`{"token":"xoxb-json"}`))
	req.Header.Set("Content-Type", "application/json")
	if r := l.answerTo(req); r["ok"] != true {
		t.Errorf("token in the JSON body: %v", r)
	}
	if r := l.form("auth.test", nil); r["error"] != "not_authed" {
		t.Errorf("no token: %v", r)
	}
	if r := l.form("auth.test", url.Values{"token": {"xapp-1"}}); r["error"] != "not_allowed_token_type" {
		t.Errorf("an app token where a bot's belongs: %v", r)
	}
}

func TestCallsThatAreNotWellFormed(t *testing.T) {
	l := newLab(t)
	for _, c := range []struct{ rule, kind, body, want string }{
		{"a body that is no JSON", "application/json", `{"channel":`, "invalid_json"},
		{"a JSON list", "application/json", `[]`, "json_not_object"},
		{"a body of another kind", "text/html", `<p>`, "invalid_post_type"},
		{"a body without a kind", "", `x`, "missing_post_type"},
		{"a form that is none", "application/x-www-form-urlencoded", `%zz`, "invalid_form_data"},
	} {
		req, _ := http.NewRequest(http.MethodPost, l.url+"/api/auth.test", strings.NewReader(c.body))
		req.Header.Set("Authorization", "Bearer xoxb-lab")
		if c.kind != "" {
			req.Header.Set("Content-Type", c.kind)
		}
		if r := l.answerTo(req); r["error"] != c.want {
			t.Errorf("%s: got %v, want %s", c.rule, r, c.want)
		}
	}
	if r := l.raw("chat.unheardOf", nil); r["error"] != "unknown_method" || r["req_method"] != "chat.unheardOf" {
		t.Errorf("a method that does not exist: %v", r)
	}
}

func TestAuthTestNamesTheBot(t *testing.T) {
	l := newLab(t)
	who, err := l.api.AuthTest()
	if err != nil {
		t.Fatal(err)
	}
	if who.UserID != l.ws.BotUser() || who.TeamID != l.ws.TeamID() || who.Team != "Harbour Lines" || who.User != "soundings" {
		t.Errorf("auth.test: got %+v", who)
	}
	if who.URL != "https://harbour-lines.example/" {
		t.Errorf("address of the workspace: got %s", who.URL)
	}
}

func TestScopesAreAskedForWhenTheyAreGiven(t *testing.T) {
	l := newLab(t, func(c *Config) { c.Scopes = []string{"chat:write"} })
	l.post(slack.MsgOptionText("allowed", false))
	_, err := l.api.GetUserInfo(l.ana)
	var refused slack.SlackErrorResponse
	if !errors.As(err, &refused) || refused.Err != "missing_scope" || refused.Needed != "users:read" || refused.Provided != "chat:write" {
		t.Errorf("users.info without its scope: got %v", err)
	}
}

func TestSocketModeIsOff(t *testing.T) {
	l := newLab(t, func(c *Config) { c.NoSocketMode = true })
	api := slack.New("xoxb-lab", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xapp-lab"))
	_, _, err := api.StartSocketModeContext(context.Background())
	wantCode(t, "apps.connections.open", err, "socket_mode_not_enabled")
}

// Tiers as in java-slack-sdk's rate_limit_tiers.json; the number a minute is
// the platform's lower bound, taken as the limit.
func TestRatesFollowTheTier(t *testing.T) {
	for method, perMinute := range map[string]int{
		"conversations.list": 20, "pins.list": 20, "chat.update": 50, "conversations.info": 50,
		"users.info": 100, "views.open": 100, "chat.postEphemeral": 100, "conversations.members": 100,
	} {
		l := newLab(t, func(c *Config) { c.EnforceRates = true })
		for i := range perMinute {
			if r := l.raw(method, nil); r["error"] == "ratelimited" {
				t.Fatalf("%s: call %d of %d was one too many", method, i+1, perMinute)
			}
		}
		if r := l.raw(method, nil); r["error"] != "ratelimited" {
			t.Errorf("%s: call %d was taken: %v", method, perMinute+1, r)
		}
		if r := l.raw("auth.test", nil); r["ok"] != true {
			t.Errorf("%s keeps other methods out: %v", method, r)
		}
		l.clock.add(time.Minute)
		if r := l.raw(method, nil); r["error"] == "ratelimited" {
			t.Errorf("%s: still too often a minute later", method)
		}
	}
}

func TestAChannelTakesOneMessageASecondAfterABurst(t *testing.T) {
	l := newLab(t, func(c *Config) { c.EnforceRates = true })
	for range 5 {
		l.post(slack.MsgOptionText("burst", false))
	}
	_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionText("six", false))
	var limited *slack.RateLimitedError
	if !errors.As(err, &limited) || limited.RetryAfter != time.Second {
		t.Fatalf("the sixth at once: got %v, want a wait of 1s", err)
	}
	other := l.ws.AddChannel(Channel{Name: "other", Members: []string{l.ws.BotUser()}})
	if _, _, err := l.api.PostMessage(other, slack.MsgOptionText("elsewhere", false)); err != nil {
		t.Errorf("another channel: %v", err)
	}
	l.clock.add(time.Second)
	l.post(slack.MsgOptionText("six", false))
	_, _, err = l.api.PostMessage(l.channel, slack.MsgOptionText("seven", false))
	if !errors.As(err, &limited) {
		t.Errorf("a second one in the same second: got %v", err)
	}
}

func TestTheTraceShowsCallsAsTheyWereMeant(t *testing.T) {
	l := newLab(t)
	var calls []Call
	l.ws.OnCall(func(c Call) { calls = append(calls, c) })
	l.post(slack.MsgOptionText("hello", false),
		slack.MsgOptionBlocks(slack.NewDividerBlock()),
		slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "kickoff", EventPayload: map[string]any{"n": 1}}))
	_, _, _, err := l.api.UpdateMessage(l.channel, "1.000000", slack.MsgOptionText("x", false))
	wantCode(t, "update of nothing", err, "message_not_found")

	if len(calls) != 2 {
		t.Fatalf("calls: got %d, want 2", len(calls))
	}
	post := calls[0]
	want := map[string]any{
		"channel": l.channel, "text": "hello",
		"blocks":   []any{map[string]any{"type": "divider"}},
		"metadata": map[string]any{"event_type": "kickoff", "event_payload": map[string]any{"n": json.Number("1")}},
	}
	if !reflect.DeepEqual(post.Args, want) {
		t.Errorf("args: got %v, want %v", post.Args, want)
	}
	if post.Method != "chat.postMessage" || post.Status != 200 || !post.OK || !post.At.Equal(l.clock.Now()) {
		t.Errorf("call: got %+v", post)
	}
	if c := calls[1]; c.OK || c.Error != "message_not_found" || c.Status != 200 {
		t.Errorf("refused call: got %+v", c)
	}
	if all := string(wire.Encode(calls)); strings.Contains(all, "xoxb") {
		t.Errorf("the trace has the token: %s", all)
	}
}

// The same acts in the same order give the same bytes, whatever the ports.
func TestTheSameRunGivesTheSameBytes(t *testing.T) {
	start := time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)
	run := func() string {
		l := &lab{t: t, clock: &handClock{now: start}}
		l.ws = NewTeam(Config{Clock: l.clock.Now, URL: "http://workspace.example"})
		l.ana = l.ws.AddUser(User{RealName: "Ana"})
		l.channel = l.ws.AddChannel(Channel{Name: "ferry", Members: []string{l.ws.BotUser(), l.ana}})
		var calls []Call
		l.ws.OnCall(func(c Call) { calls = append(calls, c) })
		server := serveTest(t, l.ws.Handler())
		api := slack.New("xoxb-lab", slack.OptionAPIURL(server+"/api/"))
		for i := range 3 {
			_, _, err := api.PostMessage(l.channel, slack.MsgOptionBlocks(typedBlocks(t, `[{"type":"actions","elements":[{"type":"button","text":{"type":"plain_text","text":"Go"}}]}]`)...))
			if err != nil {
				t.Fatal(err)
			}
			if _, err := l.ws.Say(context.Background(), l.ana, l.channel, "noted", ""); err != nil {
				t.Fatal(err)
			}
			l.clock.add(time.Duration(i) * time.Hour)
		}
		return string(wire.Encode([]any{l.ws.Messages(l.channel), l.ws.Users(), l.ws.Channels(), calls}))
	}
	first, second := run(), run()
	if first != second {
		t.Errorf("two runs differ:\n%s\n%s", first, second)
	}
	if !strings.Contains(first, `"TS":"1803891600.000000"`) {
		t.Errorf("timestamps do not derive from the clock: %s", first)
	}
}

func TestTimestampsOnlyEverGrow(t *testing.T) {
	l := newLab(t)
	last := ""
	for i := range 20 {
		ts := l.post(slack.MsgOptionText("x", false))
		if len(ts) != 17 || ts[10] != '.' {
			t.Fatalf("ts %q is not 10 digits, a point and 6 digits", ts)
		}
		if ts <= last {
			t.Errorf("ts %s comes after %s", ts, last)
		}
		last = ts
		if i%5 == 0 {
			l.clock.add(-time.Second) // also when the clock goes back
		}
	}
}
