package fakeslack

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A line is one socket as the app sees it, frame by frame.
type line struct {
	t    *testing.T
	conn *websocket.Conn
	got  chan frame
}

type frame map[string]any

const (
	soon  = 30 * time.Second // bounds what must come, on a busy machine too
	hurry = 100 * time.Millisecond
)

// openURL asks for the address of a socket.
func (l *fixture) openURL() string {
	l.t.Helper()
	api := slack.New("xoxb-test", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xapp-test"))
	_, url, err := api.StartSocketModeContext(l.t.Context())
	require.NoError(l.t, err, "apps.connections.open")
	return url
}

// dial connects, with an Origin as the clients send it.
func (l *fixture) dial(url string) (*line, error) {
	l.t.Helper()
	conn, resp, err := websocket.DefaultDialer.DialContext(l.t.Context(), url, http.Header{"Origin": {"https://api.slack.com"}})
	if resp != nil {
		_ = resp.Body.Close()
	}
	if err != nil {
		return nil, err
	}
	w := &line{t: l.t, conn: conn, got: make(chan frame, 100)}
	l.t.Cleanup(func() { _ = conn.Close() })
	return w, nil
}

// plug opens a socket and takes its hello.
func (l *fixture) plug() *line {
	l.t.Helper()
	w, err := l.dial(l.openURL())
	require.NoError(l.t, err, "dial")
	go w.read()
	if l.team.sockets.ackWithin == AckWithin {
		l.team.sockets.ackWithin = soon
	}
	hello := w.next()
	require.True(l.t, hello["type"] == "hello", "the first frame is %v, want hello", hello)
	return w
}

// read takes frames in until the connection ends.
func (w *line) read() {
	defer close(w.got)
	for {
		_, data, err := w.conn.ReadMessage()
		if err != nil {
			return
		}
		var f frame
		if !assert.NoError(w.t, json.Unmarshal(data, &f), "a frame is no JSON") {
			return
		}
		w.got <- f
	}
}

func (w *line) next() frame {
	w.t.Helper()
	select {
	case f, open := <-w.got:
		require.True(w.t, open, "the socket has ended")
		return f
	case <-time.After(soon):
		w.t.Fatal("no frame came")
	}
	return nil
}

// ends waits for the end of the connection.
func (w *line) ends() {
	w.t.Helper()
	for {
		select {
		case f, open := <-w.got:
			if !open {
				return
			}
			w.t.Errorf("before its end the socket says %v", f)
		case <-time.After(soon):
			w.t.Fatal("the socket does not end")
		}
	}
}

func (w *line) send(text string) {
	w.t.Helper()
	require.NoError(w.t, w.conn.WriteMessage(websocket.TextMessage, []byte(text)), "send")
}

// ack acknowledges the next envelope and returns it. payload is JSON, or
// empty for none.
func (w *line) ack(payload string) frame {
	w.t.Helper()
	f := w.next()
	w.answer(f, payload)
	return f
}

func (w *line) answer(f frame, payload string) {
	w.t.Helper()
	id, _ := f["envelope_id"].(string)
	if payload == "" {
		w.send(`{"envelope_id":"` + id + `"}`)
		return
	}
	w.send(`{"envelope_id":"` + id + `","payload":` + payload + `}`)
}

// at follows keys through nested objects.
func (f frame) at(keys ...string) any {
	var v any = map[string]any(f)
	for _, k := range keys {
		o, _ := v.(map[string]any)
		v = o[k]
	}
	return v
}

// during runs what a person does while the app does its part, and returns
// what the person was shown.
func during(act func() error, app func()) error {
	shown := make(chan error, 1)
	go func() { shown <- act() }()
	app()
	return <-shown
}

// impatient is a team that waits for acknowledgements only so long.
func impatient(c *Config) { c.AckWithin = hurry }

func wantNoAck(t *testing.T, what string, err error, reason string) {
	t.Helper()
	var failure *deliveryError
	assert.ErrorAs(t, err, &failure, what)
	assert.ErrorIs(t, err, ErrNoAck, what)
	assert.Equal(t, reason, failure.reason, what)
}

// ephemeralTexts are the texts that only user sees in the fixture's channel.
func (l *fixture) ephemeralTexts(user string) []string {
	l.t.Helper()
	var out []string
	for _, m := range l.team.Client.Ephemerals(l.channel, user) {
		out = append(out, m.Text)
	}
	return out
}

func heavy(bytes int, envelope string) string {
	head, tail := `{"envelope_id":"`+envelope+`","payload":{"text":"`, `"}}`
	return head + strings.Repeat("x", bytes-len(head)-len(tail)) + tail
}
