package rehearsal_test

import (
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/rehearsal"
)

// losing is a network that loses things: of the calls that the bot makes
// from its queue, some never arrive and some arrive but their answer is lost.
// Which ones is counted, not drawn, so that every run is the same.
type losing struct {
	next  http.RoundTripper
	calls int
	lost  int
}

var errLost = errors.New("the connection was lost")

func (l *losing) RoundTrip(r *http.Request) (*http.Response, error) {
	queued := false
	for _, method := range []string{"chat.postMessage", "chat.update", "pins.add", "files.completeUploadExternal"} {
		queued = queued || strings.HasSuffix(r.URL.Path, method)
	}
	if !queued {
		return l.next.RoundTrip(r)
	}
	l.calls++
	switch l.calls % 5 {
	case 1: // never arrives
		l.lost++
		return nil, errLost
	case 3: // is done, but nobody hears of it
		l.lost++
		answer, err := l.next.RoundTrip(r)
		if err == nil {
			_, _ = io.Copy(io.Discard, answer.Body)
			_ = answer.Body.Close()
		}
		return nil, errLost
	}
	return l.next.RoundTrip(r)
}

// TestLostAnswersChangeNothing plays with a network that loses two calls in
// five: the channel holds the same messages, each once, and the files are the
// same bytes.
func TestLostAnswersChangeNothing(t *testing.T) {
	t.Parallel()
	want := playedOnce(t, "five.yaml")
	network := &losing{next: http.DefaultTransport}
	p := run(t, rehearsal.PlayConfig{Scenario: readScenario(t, "five.yaml"), Transport: network})
	require.GreaterOrEqual(t, network.lost, 10, "the network lost only %d calls", network.lost)
	got, wanted := texts(p), texts(want.play)
	for text, n := range wanted {
		assert.Equal(t, n, got[text], "got %d times, want %d: %q", got[text], n, text)
	}
	for text := range got {
		assert.NotEqual(t, wanted[text], 0, "nobody should have posted: %q", text)
	}
	sameFiles(t, "lost answers", filesOf(t, p), want.files)
}

// texts counts the messages of the bot in the channel by their slot.
func texts(p *rehearsal.Play) map[string]int {
	out := map[string]int{}
	for _, m := range p.Team().Messages(p.Team().Channels()[0].ID) {
		if m.Metadata != nil {
			slot, _ := m.Metadata.EventPayload["slot"].(string)
			out[slot]++
		}
	}
	return out
}
