package bot_test

import (
	"bytes"
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// panics notices that a request panicked: that is logged and answered as a failure.
type panics struct {
	slog.Handler
	seen *bool
}

func (p panics) Enabled(context.Context, slog.Level) bool { return true }

func (p panics) Handle(_ context.Context, r slog.Record) error {
	*p.seen = *p.seen || r.Message == "request panicked"
	return nil
}

// signedIn is a bot whose platform answers no call.
func signedIn(tb testing.TB) (handler http.Handler, panicked *bool) {
	tb.Helper()
	panicked = new(bool)
	b, err := bot.New(bot.Config{
		Journal: journal.New(storetest.Client(tb, storetest.Embedded(tb)), journal.Options{}),
		Queue:   jobs.NewVirtual(noon), Chat: chat.New("xoxb-test", "http://127.0.0.1:1/api/", &http.Client{Transport: nobody{}}),
		Logger: slog.New(panics{slog.DiscardHandler, panicked}), Clock: func() time.Time { return noon }, Secret: testSecret,
	})
	require.NoError(tb, err)
	return b.Handler(), panicked
}

// nobody answers that a call is refused.
type nobody struct{}

func (nobody) RoundTrip(r *http.Request) (*http.Response, error) {
	w := httptest.NewRecorder()
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.WriteString(`{"ok":false,"error":"channel_not_found"}`)
	answer := w.Result()
	answer.Request = r
	return answer, nil
}

// where something signed may arrive, and how its content is written.
var doors = []struct{ path, kind string }{
	{"/slack/interactions", "application/x-www-form-urlencoded"},
	{"/slack/commands", "application/x-www-form-urlencoded"},
	{"/slack/events", "application/json"},
}

// FuzzDelivery sends what the platform would never send, signed: it is refused
// or answered, and nothing panics.
func FuzzDelivery(f *testing.F) {
	for _, payload := range []string{
		`{"type":"block_actions","trigger_id":"1.2","team":{"id":"T1"},"user":{"id":"U1"},"actions":[{"action_id":"do/me.mute","value":"{\"k\":\"C1-1\"}"}]}`,
		`{"type":"view_submission","trigger_id":"1.3","team":{"id":"T1"},"user":{"id":"U1"},"view":{"callback_id":"brief.start","private_metadata":"{}","state":{"values":{"title":{"in":{"type":"plain_text_input","value":"x"}}}}}}`,
		`{"type":"message_action","trigger_id":"1.4","callback_id":"log","team":{"id":"T1"},"user":{"id":"U1"},"message":{"text":"x"}}`,
		`{"type":"block_actions","actions":null}`, `{"type":7}`, `[]`, `null`, `{"view":{"blocks":[{"type":"actions","elements":[null]}]}}`,
	} {
		f.Add(0, []byte(url.Values{"payload": {payload}}.Encode()))
	}
	f.Add(1, []byte("command=%2Fsoundings&text=start&trigger_id=1.5&team_id=T1&user_id=U1&channel_id=C1"))
	f.Add(1, []byte("command=%zz&text=%00"))
	f.Add(2, []byte(`{"type":"event_callback","event_id":"E1","team_id":"T1","authorizations":[{"team_id":"T1","user_id":"U9"}],"event":{"type":"channel_archive","channel":"C1","user":"U1"}}`))
	f.Add(2, []byte(`{"type":"event_callback","event":{"type":"app_mention","text":null}}`))
	handler, panicked := signedIn(f)
	f.Fuzz(func(t *testing.T, door int, body []byte) {
		d := doors[uint(door)%uint(len(doors))]
		w, r := httptest.NewRecorder(), signedRequest(d.path, d.kind, string(body))
		r.RemoteAddr = "127.0.0.1:1" // without a limit
		handler.ServeHTTP(w, r)
		require.False(t, *panicked, "a request panicked")
		require.Contains(t, []int{http.StatusOK, http.StatusBadRequest, http.StatusInternalServerError}, w.Code)
	})
}

// FuzzSignature changes what was signed, or the signature: none but the right
// one lets anything in.
func FuzzSignature(f *testing.F) {
	const body = "command=%2Fsoundings&text=help"
	stamp, signed := signature(testSecret, noon, body)
	f.Add(stamp, signed, []byte(body))
	f.Add(stamp, strings.ToUpper(signed), []byte(body))
	f.Add(stamp+" ", signed, []byte(body))
	f.Add("9223372036854775808", "v0=", []byte(body))
	f.Add("-1", strings.TrimPrefix(signed, "v0="), []byte(body))
	handler, _ := signedIn(f)
	f.Fuzz(func(t *testing.T, stamp, signed string, sent []byte) {
		r := httptest.NewRequest(http.MethodPost, "/slack/commands", bytes.NewReader(sent))
		r.RemoteAddr = "127.0.0.1:1" // without a limit
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header["X-Slack-Request-Timestamp"], r.Header["X-Slack-Signature"] = []string{stamp}, []string{signed}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		rightStamp, right := signature(testSecret, noon, string(sent))
		if stamp != rightStamp || signed != right { // the fuzzer knows no other moment's signature
			require.Equal(t, http.StatusUnauthorized, w.Code)
		}
	})
}

// TestDeepPayloads sends JSON and forms of a thousand levels and more: refused or
// answered, and quickly.
func TestDeepPayloads(t *testing.T) {
	t.Parallel()
	handler, panicked := signedIn(t)
	for _, levels := range []int{1_000, 9_000, 200_000} {
		for _, deep := range []string{
			strings.Repeat("[", levels) + strings.Repeat("]", levels),
			strings.Repeat(`{"a":`, levels) + "1" + strings.Repeat("}", levels),
			`{"type":"block_actions","trigger_id":"1.2","team":{"id":"T1"},"user":{"id":"U1"},"actions":` + strings.Repeat("[", levels) + strings.Repeat("]", levels) + `}`,
			`{"type":"block_actions","trigger_id":"1.2","team":{"id":"T1"},"user":{"id":"U1"},"message":{"blocks":` + strings.Repeat(`[{"type":"rich_text","elements":`, min(levels, 20_000)) + "[]" + strings.Repeat("}]", min(levels, 20_000)) + `}}`,
		} {
			for i, body := range []string{url.Values{"payload": {deep}}.Encode(), "text=help&trigger_id=1.2&a=" + deep, deep} {
				if len(body) >= 1<<20 {
					continue // refused by its size
				}
				began := time.Now()
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, signedRequest(doors[i].path, doors[i].kind, body))
				assert.Less(t, time.Since(began), 20*time.Second, "%d levels to %s", levels, doors[i].path)
				assert.Contains(t, []int{http.StatusOK, http.StatusBadRequest, http.StatusInternalServerError}, w.Code)
				assert.False(t, *panicked, "%d levels to %s", levels, doors[i].path)
			}
		}
	}
}
