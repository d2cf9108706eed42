package fakeslack

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/blockkit"
)

// Unless a test names another source, what is checked here is on the
// platform's page on Socket Mode.

// The fields are those of the page's example.
func TestHelloComesFirst(t *testing.T) {
	l := newLab(t)
	url := l.openURL()
	if want := "ws" + strings.TrimPrefix(l.url, "http") + "/link/?ticket="; !strings.HasPrefix(url, want) {
		t.Errorf("address: got %s, want it to begin with %s", url, want)
	}
	w, err := l.dial(url)
	if err != nil {
		t.Fatal(err)
	}
	go w.read()
	hello := w.next()
	for _, c := range []struct {
		got, want any
	}{
		{hello["type"], "hello"},
		{hello["num_connections"], 1.0},
		{hello.at("connection_info", "app_id"), l.ws.AppID()},
		{hello.at("debug_info", "approximate_connection_time"), 3600.0},
	} {
		if c.got != c.want {
			t.Errorf("hello: got %v, want %v in %v", c.got, c.want, hello)
		}
	}
	second, err := l.dial(l.openURL() + "&debug_reconnects=true")
	if err != nil {
		t.Fatal(err)
	}
	go second.read()
	hello = second.next()
	if n, life := hello["num_connections"], hello.at("debug_info", "approximate_connection_time"); n != 2.0 || life != 360.0 {
		t.Errorf("second hello: got %v connections of %v s, want 2 of 360", n, life)
	}
}

// That a ticket is good once is not documented; the strict reading is.
func TestTicketIsGoodOnce(t *testing.T) {
	l := newLab(t)
	url := l.openURL()
	if _, err := l.dial(url); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{url, strings.Replace(l.openURL(), "ticket=", "ticket=0", 1)} {
		if _, err := l.dial(bad); !errors.Is(err, websocket.ErrBadHandshake) {
			t.Errorf("got %v, want a refusal", err)
		}
	}
}

func TestOnlyAppTokensOpenSockets(t *testing.T) {
	l := newLab(t)
	api := slack.New("xoxb-lab", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xoxb-lab"))
	_, _, err := api.StartSocketModeContext(t.Context())
	wantCode(t, "apps.connections.open", err, "not_allowed_token_type")
}

func TestEnvelopesOfEachKind(t *testing.T) {
	l := newLab(t)
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
			act: func() error { return l.ws.Command(t.Context(), l.ana, l.channel, "/ferry", "now") }},
		{name: "a press takes none", kind: "interactive", payload: []string{"payload", "type"}, want: "block_actions",
			act: func() error {
				return l.ws.Press(t.Context(), l.ana, Where{Channel: l.channel, TS: ts}, "go", "b", blockkit.Value{})
			}},
		{name: "a shortcut takes none", kind: "interactive", payload: []string{"payload", "callback_id"}, want: "log",
			act: func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }},
	} {
		t.Run(c.name, func(t *testing.T) {
			var f frame
			if err := during(c.act, func() { f = w.ack("") }); err != nil {
				t.Fatalf("it was acknowledged, and the person sees %v", err)
			}
			if f["type"] != c.kind || f.at(c.payload...) != c.want || f["accepts_response_payload"] != c.accepts {
				t.Errorf("got %v", f)
			}
			if attempt, told := f["retry_attempt"]; told != c.retries || told && (attempt != 0.0 || f["retry_reason"] != "") {
				t.Errorf("retry fields: got %v and %v", attempt, f["retry_reason"])
			}
			if id, _ := f["envelope_id"].(string); len(id) != 36 {
				t.Errorf("envelope_id: got %q", id)
			}
		})
	}
	if n := len(l.bot.all()); n != 0 {
		t.Errorf("%d deliveries went to the HTTP address while a socket was open", n)
	}
}

// mention has Ana say something to the bot.
func (l *lab) mention(text string) error {
	_, err := l.ws.Say(context.Background(), l.ana, l.channel, "<@"+l.ws.BotUser()+"> "+text, "")
	return err
}

func TestAnswerInTheAckIsApplied(t *testing.T) {
	l := newLab(t)
	form := `{"type":"modal","title":{"type":"plain_text","text":"One"},"submit":{"type":"plain_text","text":"Next"},
		"blocks":[{"type":"input","block_id":"b","optional":true,"label":{"type":"plain_text","text":"L"},"element":{"type":"plain_text_input","action_id":"a"}}]}`
	opened := l.open(form)
	w := l.plug()
	submit := func() error {
		_, err := l.ws.Submit(t.Context(), l.ana, opened.ID)
		return err
	}
	second := strings.Replace(form, "One", "Two", 1)
	if err := during(submit, func() { w.ack(`{"response_action":"update","view":` + second + `}`) }); err != nil {
		t.Fatal(err)
	}
	if v, _ := l.ws.TopView(l.ana); v.Title != "Two" {
		t.Errorf("the form is %q, want the one of the answer", v.Title)
	}
	// @slack/socket-mode 3.1.0 puts {} into every acknowledgement that says nothing.
	if err := during(submit, func() { w.ack(`{}`) }); err != nil {
		t.Fatal(err)
	}
	if _, open := l.ws.TopView(l.ana); open {
		t.Error("an empty payload left the form open")
	}
	command := func() error { return l.ws.Command(t.Context(), l.ana, l.channel, "/ferry", "") }
	if err := during(command, func() { w.ack(`{"text":"the ferry leaves at nine"}`) }); err != nil {
		t.Fatal(err)
	}
	if got := l.whispers(l.ana); !slices.Contains(got, "the ferry leaves at nine") {
		t.Errorf("the answer to the command is not shown: %v", got)
	}
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
			l := newLab(t)
			w := l.plug()
			if !c.shown {
				l.ws.sockets.ackWithin = hurry
			}
			command := func() error { return l.ws.Command(t.Context(), l.ana, l.channel, "/ferry", "") }
			answer := func() {
				id, _ := w.next()["envelope_id"].(string)
				w.send(heavy(c.bytes, id))
			}
			err := during(command, answer)
			if c.shown {
				if err != nil || len(l.whispers(l.ana)) != 1 {
					t.Errorf("got %v and %d answers, want the answer", err, len(l.whispers(l.ana)))
				}
				return
			}
			wantNoAck(t, "what the person sees", err, "http_timeout")
			l.ws.sockets.ackWithin = soon
			if err := during(command, func() { w.ack("") }); err != nil {
				t.Errorf("the socket no longer works: %v", err)
			}
		})
	}
}

// The schedule is that of the Events API page, the reason that of the clients'
// recorded payloads.
func TestUnacknowledgedEventComesAgain(t *testing.T) {
	l := newLab(t, impatient)
	w := l.plug()
	wantNoAck(t, "the mention", l.mention("hello"), "http_timeout")
	first, second := w.next(), w.next()
	if second["retry_attempt"] != 1.0 || second["retry_reason"] != "timeout" {
		t.Errorf("second try: got attempt %v, reason %v", second["retry_attempt"], second["retry_reason"])
	}
	if first.at("payload", "event_id") != second.at("payload", "event_id") || first["envelope_id"] == second["envelope_id"] {
		t.Error("a redelivery is the same event in another envelope")
	}
	l.clock.add(time.Minute)
	l.ws.sockets.ackWithin = soon
	if err := during(func() error { return l.ws.Redeliver(t.Context()) }, func() {
		if third := w.ack(""); third["retry_attempt"] != 2.0 {
			t.Errorf("after a minute: got attempt %v, want 2", third["retry_attempt"])
		}
	}); err != nil {
		t.Errorf("redeliver: %v", err)
	}
	if due, waiting := l.ws.NextRedelivery(); waiting {
		t.Errorf("an acknowledged event is due at %v", due)
	}
}

func TestUnacknowledgedActIsAnError(t *testing.T) {
	l := newLab(t, impatient)
	w := l.plug()
	err := l.ws.Command(t.Context(), l.ana, l.channel, "/ferry", "")
	wantNoAck(t, "the command", err, "http_timeout")
	late := w.next()
	w.answer(late, `{"text":"too late"}`)
	l.ws.sockets.ackWithin = soon
	if err := during(func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }, func() { w.ack("") }); err != nil {
		t.Errorf("after a late acknowledgement: %v", err)
	}
	if got := l.whispers(l.ana); len(got) != 0 {
		t.Errorf("a late answer was shown: %v", got)
	}
}

func TestPayloadsTakeTurns(t *testing.T) {
	l := newLab(t)
	first, second := l.plug(), l.plug()
	act := func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }
	for i := range 2 {
		for n, w := range []*line{first, second} {
			if err := during(act, func() { w.ack("") }); err != nil {
				t.Errorf("round %d, socket %d: %v", i+1, n+1, err)
			}
		}
	}
}

// An acknowledgement on another socket counts for nothing; what the platform
// does there is not documented.
func TestAckCountsOnItsOwnSocket(t *testing.T) {
	l := newLab(t, impatient)
	first, second := l.plug(), l.plug()
	err := during(func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }, func() { second.answer(first.next(), "") })
	wantNoAck(t, "the shortcut", err, "http_timeout")
}

func TestEndOfASocketIsNoAck(t *testing.T) {
	l := newLab(t)
	w := l.plug()
	err := during(func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }, func() {
		w.next()
		l.ws.DropSockets()
	})
	wantNoAck(t, "the shortcut", err, "connection_failed")
	w.ends()
	if n := l.ws.Sockets(); n != 0 {
		t.Errorf("%d sockets are open", n)
	}
	if err := l.ws.Shortcut(t.Context(), l.ana, "log"); err != nil || len(l.bot.all()) != 1 {
		t.Errorf("with no socket the HTTP address serves again: got %v and %d deliveries", err, len(l.bot.all()))
	}
}

func TestReconnectingAppIsWaitedFor(t *testing.T) {
	l := newLab(t)
	l.ws.SetBotURL("")
	l.plug()
	l.ws.DropSockets()
	err := during(func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }, func() { l.plug().ack("") })
	if err != nil {
		t.Errorf("the app came back in time, and the person sees %v", err)
	}
}

func TestDisconnectReasons(t *testing.T) {
	for _, reason := range []string{DisconnectWarning, DisconnectRefresh, DisconnectOff} {
		t.Run(reason, func(t *testing.T) {
			l := newLab(t)
			w := l.plug()
			l.ws.Disconnect(reason)
			if f := w.next(); f["type"] != "disconnect" || f["reason"] != reason || f.at("debug_info", "host") == nil {
				t.Errorf("got %v", f)
			}
			if reason == DisconnectOff {
				w.ends()
				return
			}
			act := func() error { return l.ws.Shortcut(t.Context(), l.ana, "log") }
			if err := during(act, func() { w.ack("") }); err != nil {
				t.Errorf("until another is open it still serves: %v", err)
			}
			other := l.plug()
			for range 2 {
				if err := during(act, func() { other.ack("") }); err != nil {
					t.Errorf("the new socket gets everything: %v", err)
				}
			}
		})
	}
}

// Ten connections, says the page; the word for an eleventh is from
// node-slack-sdk's issue 1654.
func TestElevenAreTooMany(t *testing.T) {
	l := newLab(t)
	for range 10 {
		l.plug()
	}
	w, err := l.dial(l.openURL())
	if err != nil {
		t.Fatal(err)
	}
	go w.read()
	if f := w.next(); f["type"] != "disconnect" || f["reason"] != "too_many_websockets" {
		t.Errorf("got %v", f)
	}
	w.ends()
	if n := l.ws.Sockets(); n != 10 {
		t.Errorf("%d sockets are open, want 10", n)
	}
}

// Clients give up after 30 s without a ping (slack-go and @slack/socket-mode).
func TestPingsKeepASocketAlive(t *testing.T) {
	if pingEvery >= 10*time.Second {
		t.Errorf("a ping every %v is too rare", pingEvery)
	}
	l := newLab(t)
	l.ws.sockets.pingEvery = 5 * time.Millisecond
	w, err := l.dial(l.openURL())
	if err != nil {
		t.Fatal(err)
	}
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
	l := newLab(t)
	l.ws.sockets.pingEvery = 5 * time.Millisecond // so that three go unanswered soon
	w, err := l.dial(l.openURL())
	if err != nil {
		t.Fatal(err)
	}
	w.conn.SetPingHandler(func(string) error { return nil })
	go w.read()
	w.next() // hello
	w.ends()
	if n := l.ws.Sockets(); n != 0 {
		t.Errorf("%d sockets are open", n)
	}
}

func TestSocketIsRefreshedAtTheEndOfItsLife(t *testing.T) {
	l := newLab(t)
	l.ws.sockets.life, l.ws.sockets.warned = 60*time.Millisecond, 30*time.Millisecond
	w := l.plug()
	for _, reason := range []string{DisconnectWarning, DisconnectRefresh} {
		if f := w.next(); f["type"] != "disconnect" || f["reason"] != reason {
			t.Errorf("got %v, want a disconnect for %s", f, reason)
		}
	}
	w.ends()
}

// The tier is 1 a minute; that ten may be opened at once follows from the ten
// that may be held.
func TestRateOfOpening(t *testing.T) {
	l := newLab(t, func(c *Config) { c.EnforceRates = true })
	api := slack.New("xoxb-lab", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xapp-lab"))
	open := func() error {
		_, _, err := api.StartSocketModeContext(t.Context())
		return err
	}
	for range 9 {
		if err := open(); err != nil {
			t.Fatal(err)
		}
	}
	w := l.plug()
	var limited *slack.RateLimitedError
	if err := open(); !errors.As(err, &limited) || limited.RetryAfter != time.Minute {
		t.Errorf("the eleventh: got %v, want to wait a minute", err)
	}
	l.ws.DropSockets()
	w.ends()
	if err := open(); err != nil {
		t.Errorf("what the platform ended may be opened anew: %v", err)
	}
	l.clock.add(time.Minute)
	if err := open(); err != nil {
		t.Errorf("after a minute: %v", err)
	}
}

func TestCloseEndsEverySocket(t *testing.T) {
	l := newLab(t)
	first, second := l.plug(), l.plug()
	l.ws.Close()
	first.ends()
	second.ends()
	w, err := l.dial(l.openURL())
	if err != nil {
		t.Fatal(err)
	}
	go w.read()
	if f := w.next(); f["type"] != "disconnect" {
		t.Errorf("after the end: got %v", f)
	}
}
