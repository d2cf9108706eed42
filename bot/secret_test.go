package bot_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/jobs"
)

// A ledger keeps all log lines.
type ledger struct {
	mu    sync.Mutex
	lines bytes.Buffer
}

func (l *ledger) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.lines.Write(p)
}

func (l *ledger) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.lines.String()
}

// A flaky network loses every third call that the queue or a button makes, on
// its way there or on its way back. Forms open: a lost one would end the play.
type flaky struct{ calls int }

var errLost = errors.New("the connection was lost")

func (f *flaky) RoundTrip(r *http.Request) (*http.Response, error) {
	for _, spared := range []string{"views.", "users.", "conversations."} {
		if strings.Contains(r.URL.Path, spared) {
			return transport.RoundTrip(r)
		}
	}
	f.calls++
	switch f.calls % 6 {
	case 2:
		return nil, errLost
	case 5:
		answer, err := transport.RoundTrip(r)
		if err == nil {
			_, _ = io.Copy(io.Discard, answer.Body)
			_ = answer.Body.Close()
		}
		return nil, errLost
	}
	return transport.RoundTrip(r)
}

// TestNothingLeaks goes through a whole kickoff on a bad network and reads
// every log line, down to the least, and every error: there is no secret in
// them, no address that opens something, and nothing that people wrote.
func TestNothingLeaks(t *testing.T) {
	t.Parallel()
	logs := &ledger{}
	h := newTestBot(t, options{transport: &flaky{}, logger: slog.New(slog.NewTextHandler(logs, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	failed := 0
	h.work = func() bool {
		did, err := h.clock.Step(t.Context(), func(ctx context.Context, j jobs.Job) error {
			err := h.bot.Work(ctx, j)
			if err != nil {
				failed++
				_, _ = io.WriteString(logs, "error="+err.Error()+"\n")
			}
			return err
		})
		h.must(err)
		return did
	}
	h.playOn()
	require.Empty(h.t, h.clock.Failed())
	h.front.handler().ServeHTTP(httptest.NewRecorder(), unsigned("payload="+mark))
	h.from("T0ANOTHER")
	at, e := h.find("ana", "open/brief.whole", "")
	h.must(h.ws.Client.Press(t.Context(), h.ids["ana"], at, e.ActionID, e.BlockID, noValue))

	said := logs.String()
	require.GreaterOrEqual(t, failed, 10, "only %d errors, and these lines:\n%s", failed, said)
	require.GreaterOrEqual(t, strings.Count(said, "level="), 5, "only %d errors, and these lines:\n%s", failed, said)
	for _, secret := range []string{testToken, testSecret, mark, strings.ToUpper(mark), "xoxb", "/response/", "/upload/", h.front.trigger, "Ana"} {
		for line := range strings.Lines(said) {
			assert.NotContains(t, line, secret, "stands in")
		}
	}
}

// unsigned is a request that nobody has signed.
func unsigned(body string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, "/slack/interactions", strings.NewReader(body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}
