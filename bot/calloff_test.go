package bot_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// A lead calls a kickoff off from behind More. The channel hears it in one message with
// the files below it, a form that somebody still has open answers with a plain
// sentence, nothing is sent any more, and the channel is free for another kickoff.
func TestCallOff(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.press("Bo", "open/brief.ask")
	p.fill("Bo", text("ask", "How many piers are there?"))

	p.press("Ana", "open/lead.call-off")
	p.fill("Ana", text("why", "The pier closes for good."))
	p.send("Ana")
	p.settle()

	v := p.top("Bo")
	faults, err := p.ws.Client.Submit(t.Context(), p.ids["Bo"], v.ID)
	p.must(err)
	said := strings.Join(faultTexts(faults), " ")
	if after, open := p.ws.Client.TopView(p.ids["Bo"]); open {
		said += " " + wordsOf(after.Blocks)
	}
	assert.Contains(t, said, "This kickoff was called off, so nothing was changed.")

	assert.Equal(t, []string{"stage/brief", "called-off"}, p.stages(), "there stand")
	assert.Contains(t, p.slot("called-off"), "The pier closes for good.")
	var names []string
	for _, m := range p.ws.Messages(p.channel) {
		for _, id := range m.Files {
			f, ok := p.ws.File(id)
			assert.True(t, ok)
			names = append(names, f.Name)
			if f.Name == "assumptions.csv" {
				assert.True(t, bytes.HasPrefix(f.Content, []byte("\xef\xbb\xbfrank,id,")), "a table in a thread begins with its encoding: %q", f.Content)
			}
		}
	}
	assert.Contains(t, names, "summary.html", "in its thread")
	assert.Contains(t, names, "kickoff.json", "in its thread")

	before := p.called("chat.postMessage")
	p.pass(14 * 24 * time.Hour)
	assert.Equal(t, before, p.called("chat.postMessage"), "something was sent after the end")
	_, waits := p.clock.Next()
	assert.False(t, waits, "something is still due")
	p.reads("Bo", p.openHome("Bo"), "Earlier kickoffs", "Called off by", "The pier closes for good.")
	p.begin()
	assert.Equal(t, []string{"stage/brief", "called-off", "stage/brief"}, p.stages(), "there stand")
}

func faultTexts(faults map[string]string) (all []string) {
	for _, f := range faults {
		all = append(all, f)
	}
	return all
}
