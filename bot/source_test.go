package bot_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/screens/screen"
)

// A message is kept current at the address of a press in it, which costs no
// Web API call, for as long as the platform takes answers there: half an hour,
// says the platform's page on handling user interaction. After that the Web
// API does it, and nothing is lost.
func TestMessageIsRedrawnAtItsSource(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name           string
		after          time.Duration
		used           int // answers at the address before
		redrawn, calls int
	}{
		{"a question asked at once", time.Minute, 0, 1, 0},
		{"a question long thought about", 40 * time.Minute, 0, 0, 1},
		{"an address that was used up, which is tried in vain", time.Minute, 5, 1, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newPair(t)
			p.begin()
			at, e := p.find("Bo", "open/brief.ask", "")
			p.must(p.ws.Client.Press(t.Context(), p.ids["Bo"], at, e.ActionID, e.BlockID, blockkit.Value{}))
			for range c.used {
				p.answerAt(p.top("Bo"))
			}
			p.pass(c.after)
			got := map[string]int{}
			p.ws.OnCall(func(c fakeslack.Call) {
				if c.Method == fakeslack.ResponseURL || c.Method == "chat.update" && c.Args["ts"] == at.TS {
					got[c.Method]++
				}
			})
			p.submit("Bo", map[string]blockkit.Value{"ask": {Text: "Are tandems part of this?"}})
			p.pass(5 * time.Minute)
			assert.False(t, got[fakeslack.ResponseURL] != c.redrawn || got["chat.update"] != c.calls, "the message was drawn anew by %v, want %d times at its address and %d times by the Web API", got, c.redrawn, c.calls)
			// Once the two have finished, the step closes, and the message says so.
			m, _ := p.ws.Message(at.Channel, at.TS)
			assert.Contains(t, m.Text, "The brief has closed. 2 of 2 answered.", "the message reads")
		})
	}
}

// answerAt uses up one of the answers that the platform takes at the address
// of the message from which a form was opened.
func (p *testBot) answerAt(v fakeslack.View) {
	p.t.Helper()
	args, err := screen.ParseArgs(v.PrivateMetadata)
	p.must(err)
	answer, err := http.Post(args.Source.URL, "application/json", strings.NewReader(`{"text":"One of five.","response_type":"ephemeral"}`))
	p.must(err)
	p.must(answer.Body.Close())
}
