package fakeslack

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

// Unless a test names another source, what is checked here is on the
// platform's page on Socket Mode.

// The fields are those of the page's example.
func TestHelloComesFirst(t *testing.T) {
	l := newFixture(t)
	url := l.openURL()
	want := "ws" + strings.TrimPrefix(l.url, "http") + "/link/?ticket="
	assert.True(t, strings.HasPrefix(url, want), "address: got %s, want it to begin with %s", url, want)
	w, err := l.dial(url)
	require.NoError(t, err)
	go w.read()
	hello := w.next()
	for _, c := range []struct {
		got, want any
	}{
		{hello["type"], "hello"},
		{hello["num_connections"], 1.0},
		{hello.at("connection_info", "app_id"), l.team.AppID()},
		{hello.at("debug_info", "approximate_connection_time"), 3600.0},
	} {
		assert.True(t, c.got == c.want, "hello: got %v, want %v in %v", c.got, c.want, hello)
	}
	second, err := l.dial(l.openURL())
	require.NoError(t, err)
	go second.read()
	assert.Equal(t, 2.0, second.next()["num_connections"], "second hello")
}

// That a ticket is good once is not documented; the strict reading is.
func TestTicketIsGoodOnce(t *testing.T) {
	l := newFixture(t)
	url := l.openURL()
	_, err := l.dial(url)
	require.NoError(t, err)
	for _, bad := range []string{url, strings.Replace(l.openURL(), "ticket=", "ticket=0", 1)} {
		_, err := l.dial(bad)
		assert.ErrorIs(t, err, websocket.ErrBadHandshake)
	}
}

func TestOnlyAppTokensOpenSockets(t *testing.T) {
	l := newFixture(t)
	api := slack.New("xoxb-test", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xoxb-test"))
	_, _, err := api.StartSocketModeContext(t.Context())
	wantCode(t, "apps.connections.open", err, "not_allowed_token_type")
}

func TestEnvelopesOfEachKind(t *testing.T) {
	l := newFixture(t)
	w := l.plug()
	ts := l.postBlocks(`[{"type":"actions","block_id":"b","elements":[{"type":"button","action_id":"go","text":{"type":"plain_text","text":"Go"}}]}]`)
	for _, c := range []struct {
		name, kind string
		payload    []string // where the payload says what it is
		want       string
		accepts    bool
		retries    bool
		act        func() error
	}{
		{name: "events say which try they are", kind: "events_api", payload: []string{"payload", "event", "type"}, want: "app_mention", retries: true,
			act: func() error { return l.mention("hello") }},
		{name: "a command takes an answer", kind: "slash_commands", payload: []string{"payload", "command"}, want: "/ferry", accepts: true,
			act: func() error { return l.team.Client.Command(t.Context(), l.ana, l.channel, "/ferry", "now") }},
		{name: "a press takes none", kind: "interactive", payload: []string{"payload", "type"}, want: "block_actions",
			act: func() error {
				return l.team.Client.Press(t.Context(), l.ana, Where{Channel: l.channel, TS: ts}, "go", "b", blockkit.Value{})
			}},
		{name: "a shortcut takes none", kind: "interactive", payload: []string{"payload", "callback_id"}, want: "log",
			act: func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }},
	} {
		t.Run(c.name, func(t *testing.T) {
			var f frame
			require.NoError(t, during(c.act, func() { f = w.ack("") }), "it was acknowledged, and the person sees")
			assert.False(t, f["type"] != c.kind || f.at(c.payload...) != c.want || f["accepts_response_payload"] != c.accepts, "got %v", f)
			attempt, told := f["retry_attempt"]
			assert.False(t, told != c.retries || told && (attempt != 0.0 || f["retry_reason"] != ""), "retry fields: got %v and %v", attempt, f["retry_reason"])
			id, _ := f["envelope_id"].(string)
			assert.Len(t, id, 36, "envelope_id: got %q", id)
		})
	}
	assert.Empty(t, l.bot.all(), "deliveries went to the HTTP address while a socket was open")
}

// mention has Ana say something to the bot.
func (l *fixture) mention(text string) error {
	_, err := l.team.Client.Say(context.Background(), l.ana, l.channel, "<@"+l.team.BotUser()+"> "+text, "")
	return err
}

func TestAnswerInTheAckIsApplied(t *testing.T) {
	l := newFixture(t)
	form := `{"type":"modal","title":{"type":"plain_text","text":"One"},"submit":{"type":"plain_text","text":"Next"},
		"blocks":[{"type":"input","block_id":"b","optional":true,"label":{"type":"plain_text","text":"L"},"element":{"type":"plain_text_input","action_id":"a"}}]}`
	opened := l.open(form)
	w := l.plug()
	submit := func() error {
		_, err := l.team.Client.Submit(t.Context(), l.ana, opened.ID)
		return err
	}
	second := strings.Replace(form, "One", "Two", 1)
	require.NoError(t, during(submit, func() { w.ack(`{"response_action":"update","view":` + second + `}`) }))
	v, _ := l.team.Client.TopView(l.ana)
	assert.Equal(t, "Two", v.Title, "the form")
	// @slack/socket-mode 3.1.0 puts {} into every acknowledgement that says nothing.
	require.NoError(t, during(submit, func() { w.ack(`{}`) }))
	_, open := l.team.Client.TopView(l.ana)
	assert.False(t, open, "an empty payload left the form open")
	command := func() error { return l.team.Client.Command(t.Context(), l.ana, l.channel, "/ferry", "") }
	require.NoError(t, during(command, func() { w.ack(`{"text":"the ferry leaves at nine"}`) }))
	assert.Contains(t, l.ephemeralTexts(l.ana), "the ferry leaves at nine", "the answer to the command is not shown")
}

// Source of the 20 kB: slack-go's socketmode.go and its issue 1196.
func TestHeavyAckIsDroppedSilently(t *testing.T) {
	for _, c := range []struct {
		name  string
		bytes int
		shown bool
	}{
		{"one byte less than 20 kB is taken", 20*1024 - 1, true},
		{"20 kB are not", 20 * 1024, false},
		{"300 kB do not end the socket either", 300 * 1024, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := newFixture(t)
			w := l.plug()
			if !c.shown {
				l.team.sockets.ackWithin = hurry
			}
			command := func() error { return l.team.Client.Command(t.Context(), l.ana, l.channel, "/ferry", "") }
			answer := func() {
				id, _ := w.next()["envelope_id"].(string)
				w.send(heavy(c.bytes, id))
			}
			err := during(command, answer)
			if c.shown {
				assert.NoError(t, err)
				assert.Len(t, l.ephemeralTexts(l.ana), 1)
				return
			}
			wantNoAck(t, "what the person sees", err, "http_timeout")
			l.team.sockets.ackWithin = soon
			assert.NoError(t, during(command, func() { w.ack("") }), "the socket no longer works")
		})
	}
}

// The schedule is that of the Events API page, the reason that of the clients'
// recorded payloads.
func TestUnacknowledgedEventComesAgain(t *testing.T) {
	l := newFixture(t, impatient)
	w := l.plug()
	wantNoAck(t, "the mention", l.mention("hello"), "http_timeout")
	first, second := w.next(), w.next()
	assert.False(t, second["retry_attempt"] != 1.0 || second["retry_reason"] != "timeout", "second try: got attempt %v, reason %v", second["retry_attempt"], second["retry_reason"])
	assert.False(t, first.at("payload", "event_id") != second.at("payload", "event_id") || first["envelope_id"] == second["envelope_id"], "a redelivery is the same event in another envelope")
	l.clock.add(time.Minute)
	l.team.sockets.ackWithin = soon
	assert.NoError(t, during(func() error { return l.team.Outbox.Redeliver(t.Context()) }, func() {
		assert.True(t, w.ack("")["retry_attempt"] == 2.0, "after a minute: got attempt")
	}), "redeliver")
	due, waiting := l.team.Outbox.NextRedelivery()
	assert.False(t, waiting, "an acknowledged event is due at %v", due)
}

func TestUnacknowledgedActIsAnError(t *testing.T) {
	l := newFixture(t, impatient)
	w := l.plug()
	err := l.team.Client.Command(t.Context(), l.ana, l.channel, "/ferry", "")
	wantNoAck(t, "the command", err, "http_timeout")
	late := w.next()
	w.answer(late, `{"text":"too late"}`)
	l.team.sockets.ackWithin = soon
	assert.NoError(t, during(func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }, func() { w.ack("") }), "after a late acknowledgement")
	assert.Empty(t, l.ephemeralTexts(l.ana), "a late answer was shown")
}

func TestPayloadsTakeTurns(t *testing.T) {
	l := newFixture(t)
	first, second := l.plug(), l.plug()
	act := func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }
	for i := range 2 {
		for n, w := range []*line{first, second} {
			assert.NoError(t, during(act, func() { w.ack("") }), "round %d, socket %d", i+1, n+1)
		}
	}
}

// An acknowledgement on another socket counts for nothing; what the platform
// does there is not documented.
func TestAckCountsOnItsOwnSocket(t *testing.T) {
	l := newFixture(t, impatient)
	first, second := l.plug(), l.plug()
	err := during(func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }, func() { second.answer(first.next(), "") })
	wantNoAck(t, "the shortcut", err, "http_timeout")
}

func TestEndOfASocketIsNoAck(t *testing.T) {
	l := newFixture(t)
	w := l.plug()
	err := during(func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }, func() {
		w.next()
		l.team.DropSockets()
	})
	wantNoAck(t, "the shortcut", err, "connection_failed")
	w.ends()
	assert.Equal(t, 0, l.team.Sockets(), "sockets are open")
	assert.NoError(t, l.team.Client.Shortcut(t.Context(), l.ana, "log"))
	assert.Len(t, l.bot.all(), 1, "with no socket the HTTP address serves again")
}

func TestReconnectingAppIsWaitedFor(t *testing.T) {
	l := newFixture(t)
	l.team.SetBotURL("")
	l.plug()
	l.team.DropSockets()
	err := during(func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }, func() { l.plug().ack("") })
	assert.NoError(t, err, "the app came back in time, and the person sees")
}

func TestDisconnectReasons(t *testing.T) {
	for _, reason := range []string{DisconnectWarning, DisconnectRefresh, DisconnectOff} {
		t.Run(reason, func(t *testing.T) {
			l := newFixture(t)
			w := l.plug()
			l.team.Disconnect(reason)
			f := w.next()
			assert.False(t, f["type"] != "disconnect" || f["reason"] != reason || f.at("debug_info", "host") == nil, "got %v", f)
			if reason == DisconnectOff {
				w.ends()
				return
			}
			act := func() error { return l.team.Client.Shortcut(t.Context(), l.ana, "log") }
			assert.NoError(t, during(act, func() { w.ack("") }), "until another is open it still serves")
			other := l.plug()
			for range 2 {
				assert.NoError(t, during(act, func() { other.ack("") }), "the new socket gets everything")
			}
		})
	}
}

// Ten connections, says the page; the word for an eleventh is from
// node-slack-sdk's issue 1654.
func TestElevenAreTooMany(t *testing.T) {
	l := newFixture(t)
	for range 10 {
		l.plug()
	}
	w, err := l.dial(l.openURL())
	require.NoError(t, err)
	go w.read()
	f := w.next()
	assert.False(t, f["type"] != "disconnect" || f["reason"] != "too_many_websockets", "got %v", f)
	w.ends()
	assert.Equal(t, 10, l.team.Sockets(), "sockets are open")
}

// Clients give up after 30 s without a ping (slack-go and @slack/socket-mode).
func TestPingsKeepASocketAlive(t *testing.T) {
	assert.Less(t, pingEvery, time.Duration(10*time.Second), "a ping every %v is too rare", pingEvery)
	l := newFixture(t)
	l.team.sockets.pingEvery = 5 * time.Millisecond
	w, err := l.dial(l.openURL())
	require.NoError(t, err)
	pinged := make(chan string, 100)
	pong := w.conn.PingHandler()
	w.conn.SetPingHandler(func(data string) error {
		pinged <- data
		return pong(data)
	})
	go w.read()
	for range 3 {
		select {
		case <-pinged:
		case <-time.After(soon):
			t.Fatal("no ping came")
		}
	}
}

func TestSilentClientIsCutOff(t *testing.T) {
	l := newFixture(t)
	l.team.sockets.pingEvery = 5 * time.Millisecond // so that three go unanswered soon
	w, err := l.dial(l.openURL())
	require.NoError(t, err)
	w.conn.SetPingHandler(func(string) error { return nil })
	go w.read()
	w.next() // hello
	w.ends()
	assert.Equal(t, 0, l.team.Sockets(), "sockets are open")
}

func TestSocketIsRefreshedAtTheEndOfItsLife(t *testing.T) {
	l := newFixture(t)
	l.team.sockets.life, l.team.sockets.warned = 60*time.Millisecond, 30*time.Millisecond
	w := l.plug()
	for _, reason := range []string{DisconnectWarning, DisconnectRefresh} {
		f := w.next()
		assert.False(t, f["type"] != "disconnect" || f["reason"] != reason, "got %v, want a disconnect for %s", f, reason)
	}
	w.ends()
}

// The tier is 1 a minute; that ten may be opened at once follows from the ten
// that may be held.
func TestRateOfOpening(t *testing.T) {
	l := newFixture(t, func(c *Config) { c.EnforceRates = true })
	api := slack.New("xoxb-test", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xapp-test"))
	open := func() error {
		_, _, err := api.StartSocketModeContext(t.Context())
		return err
	}
	for range 9 {
		require.NoError(t, open())
	}
	w := l.plug()
	var limited *slack.RateLimitedError
	err := open()
	assert.ErrorAs(t, err, &limited, "the eleventh: got %v, want to wait a minute", err)
	assert.Equal(t, time.Minute, limited.RetryAfter, "the eleventh: got %v, want to wait a minute", err)
	l.team.DropSockets()
	w.ends()
	assert.NoError(t, open(), "what the platform ended may be opened anew")
	l.clock.add(time.Minute)
	assert.NoError(t, open(), "after a minute")
}

func TestCloseEndsEverySocket(t *testing.T) {
	l := newFixture(t)
	first, second := l.plug(), l.plug()
	l.team.Close()
	first.ends()
	second.ends()
	w, err := l.dial(l.openURL())
	require.NoError(t, err)
	go w.read()
	f := w.next()
	assert.True(t, f["type"] == "disconnect", "after the end: got %v", f)
}
