package rehearsal_test

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"

	"soundings/bot/journal"
	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
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
	want := playFile(t, embedded(t), "five.yaml")
	data, err := os.ReadFile(scenarios + "five.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := scenario.Parse("five.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	network := &losing{next: http.DefaultTransport}
	p, err := rehearsal.NewPlay(rehearsal.PlayConfig{Scenario: s, Journal: journal.New(embedded(t), journal.Options{}), Transport: network})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.Close)
	if err := p.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
	if network.lost < 10 {
		t.Fatalf("the network lost only %d calls", network.lost)
	}
	got, wanted := texts(p), texts(want.play)
	for text, n := range wanted {
		if got[text] != n {
			t.Errorf("got %d times, want %d: %q", got[text], n, text)
		}
	}
	for text := range got {
		if wanted[text] == 0 {
			t.Errorf("nobody should have posted: %q", text)
		}
	}
	files, err := p.Files(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !bytes.Equal(f.Data, want.files[f.Name]) {
			t.Errorf("%s differs: %s", f.Name, firstDifference(f.Data, want.files[f.Name]))
		}
	}
}

// texts counts the messages of the bot in the channel by their slot.
func texts(p *rehearsal.Play) map[string]int {
	out := map[string]int{}
	for _, m := range p.Workspace().Messages(p.Channel()) {
		if m.Metadata != nil {
			slot, _ := m.Metadata.EventPayload["slot"].(string)
			out[slot]++
		}
	}
	return out
}
