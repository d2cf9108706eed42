package fakeslack

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

func TestTokensAreTakenFromEveryPlace(t *testing.T) {
	l := newFixture(t)
	r := l.form("auth.test", url.Values{"token": {"xoxb-form"}})
	assert.True(t, r["ok"] == true, "token in the form: %v", r)
	r = l.raw("auth.test", nil)
	assert.True(t, r["ok"] == true, "token in the header: %v", r)
	req, _ := http.NewRequest(http.MethodPost, l.url+"/api/auth.test", strings.NewReader(`{"token":"xoxb-json"}`))
	req.Header.Set("Content-Type", "application/json")
	r = l.answerTo(req)
	assert.True(t, r["ok"] == true, "token in the JSON body: %v", r)
	r = l.form("auth.test", nil)
	assert.True(t, r["error"] == "not_authed", "no token: %v", r)
	r = l.form("auth.test", url.Values{"token": {"xapp-1"}})
	assert.True(t, r["error"] == "not_allowed_token_type", "an app token where a bot's belongs: %v", r)
}

func TestCallsThatAreNotWellFormed(t *testing.T) {
	l := newFixture(t)
	for _, c := range []struct{ rule, kind, body, want string }{
		{"a body that is no JSON", "application/json", `{"channel":`, "invalid_json"},
		{"a JSON list", "application/json", `[]`, "json_not_object"},
		{"a body of another kind", "text/html", `<p>`, "invalid_post_type"},
		{"a body without a kind", "", `x`, "missing_post_type"},
		{"a form that is none", "application/x-www-form-urlencoded", `%zz`, "invalid_form_data"},
	} {
		req, _ := http.NewRequest(http.MethodPost, l.url+"/api/auth.test", strings.NewReader(c.body))
		req.Header.Set("Authorization", "Bearer xoxb-test")
		if c.kind != "" {
			req.Header.Set("Content-Type", c.kind)
		}
		r := l.answerTo(req)
		assert.True(t, r["error"] == c.want, "%s: got %v", c.rule, r)
	}
	r := l.raw("chat.unheardOf", nil)
	assert.False(t, r["error"] != "unknown_method" || r["req_method"] != "chat.unheardOf", "a method that does not exist: %v", r)
}

func TestAuthTestNamesTheBot(t *testing.T) {
	l := newFixture(t)
	who, err := l.api.AuthTest()
	require.NoError(t, err)
	assert.Equal(t, l.team.BotUser(), who.UserID, "auth.test: got %+v", who)
	assert.Equal(t, l.team.TeamID(), who.TeamID, "auth.test: got %+v", who)
	assert.Equal(t, "Harbour Lines", who.Team, "auth.test: got %+v", who)
	assert.Equal(t, "soundings", who.User, "auth.test: got %+v", who)
	assert.Equal(t, "https://harbour-lines.example/", who.URL, "address of the team")
}

func TestScopesAreAskedForWhenTheyAreGiven(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.Scopes = []string{"chat:write"} })
	l.post(slack.MsgOptionText("allowed", false))
	_, err := l.api.GetUserInfo(l.ana)
	var refused slack.SlackErrorResponse
	assert.ErrorAs(t, err, &refused, "users.info without its scope: got %v", err)
	assert.Equal(t, "missing_scope", refused.Err, "users.info without its scope: got %v", err)
	assert.Equal(t, "users:read", refused.Needed, "users.info without its scope: got %v", err)
	assert.Equal(t, "chat:write", refused.Provided, "users.info without its scope: got %v", err)
}

func TestSocketModeIsOff(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.NoSocketMode = true })
	api := slack.New("xoxb-test", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xapp-test"))
	_, _, err := api.StartSocketModeContext(context.Background())
	wantCode(t, "apps.connections.open", err, "socket_mode_not_enabled")
}

// Tiers as in java-slack-sdk's rate_limit_tiers.json; the number a minute is
// the platform's lower bound, taken as the limit.
func TestRatesFollowTheTier(t *testing.T) {
	for method, perMinute := range map[string]int{
		"users.list": 20, "pins.add": 20, "chat.update": 50, "conversations.info": 50,
		"users.info": 100, "views.open": 100, "chat.postEphemeral": 100, "conversations.members": 100,
	} {
		l := newFixture(t, func(c *Config) { c.EnforceRates = true })
		for i := range perMinute {
			require.False(t, l.raw(method, nil)["error"] == "ratelimited", "%s: call %d of %d was one too many", method, i+1, perMinute)
		}
		r := l.raw(method, nil)
		assert.True(t, r["error"] == "ratelimited", "%s: call %d was taken: %v", method, perMinute+1, r)
		r = l.raw("auth.test", nil)
		assert.True(t, r["ok"] == true, "%s keeps other methods out: %v", method, r)
		l.clock.add(time.Minute)
		assert.False(t, l.raw(method, nil)["error"] == "ratelimited", "%s: still too often a minute later", method)
	}
}

func TestAChannelTakesOneMessageASecondAfterABurst(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.EnforceRates = true })
	for range 5 {
		l.post(slack.MsgOptionText("burst", false))
	}
	_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionText("six", false))
	var limited *slack.RateLimitedError
	require.ErrorAs(t, err, &limited, "the sixth at once: got %v, want a wait of 1s", err)
	require.Equal(t, time.Second, limited.RetryAfter, "the sixth at once: got %v, want a wait of 1s", err)
	other := l.team.AddChannel(Channel{Name: "other", Members: []string{l.team.BotUser()}})
	_, _, err = l.api.PostMessage(other, slack.MsgOptionText("elsewhere", false))
	assert.NoError(t, err, "another channel")
	l.clock.add(time.Second)
	l.post(slack.MsgOptionText("six", false))
	_, _, err = l.api.PostMessage(l.channel, slack.MsgOptionText("seven", false))
	assert.ErrorAs(t, err, &limited, "a second one in the same second: got %v", err)
}

func TestTheTraceShowsCallsAsTheyWereMeant(t *testing.T) {
	l := newFixture(t)
	var calls []Call
	l.team.OnCall(func(c Call) { calls = append(calls, c) })
	l.post(slack.MsgOptionText("hello", false),
		slack.MsgOptionBlocks(slack.NewDividerBlock()),
		slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "kickoff", EventPayload: map[string]any{"n": 1}}))
	_, _, _, err := l.api.UpdateMessage(l.channel, "1.000000", slack.MsgOptionText("x", false))
	wantCode(t, "update of nothing", err, "message_not_found")

	require.Len(t, calls, 2, "calls")
	post := calls[0]
	want := map[string]any{
		"channel": l.channel, "text": "hello",
		"blocks":   []any{map[string]any{"type": "divider"}},
		"metadata": map[string]any{"event_type": "kickoff", "event_payload": map[string]any{"n": json.Number("1")}},
	}
	assert.Equal(t, want, post.Args, "args")
	assert.Equal(t, "chat.postMessage", post.Method, "call: got %+v", post)
	assert.Equal(t, 200, post.Status, "call: got %+v", post)
	assert.True(t, post.OK, "call: got %+v", post)
	assert.True(t, post.At.Equal(l.clock.Now()), "call: got %+v", post)
	c := calls[1]
	assert.False(t, c.OK, "refused call: got %+v", c)
	assert.Equal(t, "message_not_found", c.Error, "refused call: got %+v", c)
	assert.Equal(t, 200, c.Status, "refused call: got %+v", c)
	assert.NotContains(t, string(wire.Encode(calls)), "xoxb", "the trace has the token")
}

// The same acts in the same order give the same bytes, whatever the ports.
func TestTheSameRunGivesTheSameBytes(t *testing.T) {
	start := time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)
	run := func() string {
		l := &fixture{t: t, clock: &handClock{now: start}}
		l.team = NewTeam(Config{Clock: l.clock.Now, URL: "http://team.example"})
		l.ana = l.team.AddUser(User{RealName: "Ana"})
		l.channel = l.team.AddChannel(Channel{Name: "ferry", Members: []string{l.team.BotUser(), l.ana}})
		var calls []Call
		l.team.OnCall(func(c Call) { calls = append(calls, c) })
		server := serveTest(t, l.team.Handler())
		api := slack.New("xoxb-test", slack.OptionAPIURL(server+"/api/"))
		for i := range 3 {
			_, _, err := api.PostMessage(l.channel, slack.MsgOptionBlocks(typedBlocks(t, `[{"type":"actions","elements":[{"type":"button","text":{"type":"plain_text","text":"Go"}}]}]`)...))
			require.NoError(t, err)
			_, err = l.team.Client.Say(context.Background(), l.ana, l.channel, "noted", "")
			require.NoError(t, err)
			l.clock.add(time.Duration(i) * time.Hour)
		}
		return string(wire.Encode([]any{l.team.Messages(l.channel), l.team.Users(), l.team.Channels(), calls}))
	}
	first, second := run(), run()
	assert.Equal(t, second, first, "two runs differ")
	assert.Contains(t, first, `"TS":"1803891600.000000"`, "timestamps do not derive from the clock")
}

func TestTimestampsOnlyEverGrow(t *testing.T) {
	l := newFixture(t)
	last := ""
	for i := range 20 {
		ts := l.post(slack.MsgOptionText("x", false))
		require.Len(t, ts, 17, "ts %q is not 10 digits, a point and 6 digits", ts)
		require.Equal(t, byte('.'), ts[10], "ts %q is not 10 digits, a point and 6 digits", ts)
		assert.Greater(t, ts, last, "ts %s comes after", ts)
		last = ts
		if i%5 == 0 {
			l.clock.add(-time.Second) // also when the clock goes back
		}
	}
}
