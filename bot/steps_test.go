package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/fakeslack/blockkit"
)

// Whoever wants a list rated and no more pastes it right after the start, changes it,
// and has the map and the summary after two steps of one working day. Nothing speaks
// of what was left out, and the kickoff ends with its summary.
func TestOnlyRateAList(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.must(p.ws.Client.Command(t.Context(), p.ids["Ana"], p.channel, "/soundings", "start"))
	p.pressIn("Ana", "turn/brief.start", "")
	v := p.top("Ana")
	for block, value := range map[string]blockkit.Value{
		"title":   {Text: "Bicycles on the ferry"},
		"problem": {Text: "Passengers with bicycles cannot tell, before they reach the pier, whether there is room."},
		"people":  {IDs: []string{p.ids["Bo"]}}, "size": {Option: "rate"},
	} {
		p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, block, "in", value))
	}
	p.sendOn("Ana")
	assert.Equal(t, "Paste a list", p.top("Ana").Title)
	p.fill("Ana", text("csv", "Passengers look at their phone before they set out\nThe crew can count bicycles"))
	p.sendOn("Ana")
	assert.Equal(t, "The assumptions", p.top("Ana").Title)
	p.pressIn("Ana", "open/assumptions.edit", "A2")
	p.fill("Ana", text("text", "The crew can count bicycles in time"))
	p.send("Ana")
	p.pass(5 * time.Minute)
	assert.Contains(t, p.slot("stage/brief"), "Step 1 of 3")

	p.press("Bo", "do/brief.read")
	p.pass(5 * time.Minute)
	assert.Contains(t, p.slot("stage/rating/1"), "Step 2 of 3")
	p.pass(72 * time.Hour) // nobody rates: it closes by itself, and so does the summary
	p.pass(72 * time.Hour)
	assert.Equal(t, []string{"stage/brief", "stage/rating/1", "result/rating/1", "ratings/rating/1", "stage/close", "summary",
		"part/problem", "part/map", "part/questions", "part/actions"}, p.stages(), "there stand")
	summary := p.slot("summary") + p.slot("part/problem") + p.slot("part/map") + p.slot("stage/close")
	for _, gone := range []string{"No test is planned", "time box begins", "ladder", "ring"} {
		assert.NotContains(t, summary, gone)
	}
	assert.Contains(t, p.slot("summary"), "The kickoff has ended with its summary. It has no time box.")
	_, waits := p.clock.Next()
	assert.False(t, waits, "something is still due")
	p.reads("Ana", p.openHome("Ana"), "Ended with its summary.")
	p.begin()
}

// sendOn submits the form that somebody has open, and stays on what follows.
func (p *testBot) sendOn(who string) {
	p.t.Helper()
	faults, err := p.ws.Client.Submit(p.t.Context(), p.ids[who], p.top(who).ID)
	p.must(err)
	assert.Empty(p.t, faults, "the form of %s says", who)
}
