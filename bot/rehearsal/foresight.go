package rehearsal

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// sayForesight chooses in the message of a button what an actor expects of each test.
// Where a list is gone it is too late, or asked elsewhere.
func sayForesight(ctx context.Context, a *actor, b button) error {
	for _, t := range a.cast.script.AllTests() {
		expects, says := t.Expects[a.Key]
		if !says {
			continue
		}
		if err := a.retry(func() error {
			m, ok := a.cast.team.Message(b.channel, b.ts)
			if !ok {
				return fmt.Errorf("the message of %s is gone", b.ActionID)
			}
			for i := range m.Blocks {
				of := m.Blocks[i : i+1]
				for _, e := range blockkit.Elements(of) {
					if e.ActionID == b.ActionID && a.cast.isAbout(t, allText(of)) {
						return a.cast.team.Client.Press(ctx, a.id, fakeslack.Where{Channel: b.channel, TS: b.ts}, e.ActionID, e.BlockID,
							blockkit.Value{Option: e.Options[fifth(expects)].Value})
					}
				}
			}
			return nil
		}); err != nil {
			return err
		}
	}
	return nil
}

// isAbout reports that a text names a test as messages and forms do.
func (c *cast) isAbout(t scenario.Test, text string) bool {
	text = flat(text)
	return strings.Contains(text, c.number(t.Assumption)) && strings.Contains(text, flat(beginning(t.Method, 40)))
}

// fifth is in which of five equal parts a share lies, from 0.
func fifth(share float64) int { return min(4, int(share*5+1e-9)) }

// foresightFields say on the page of a check-in that is open what an actor expects of tests.
func (a *actor) foresightFields() []field {
	view, _ := a.view()
	var fields []field
	for _, e := range blockkit.Elements(view.Blocks) {
		for _, t := range a.cast.script.AllTests() {
			if expects, says := t.Expects[a.Key]; says && strings.HasPrefix(e.BlockID, "expect/") && a.cast.isAbout(t, e.Label) {
				fields = append(fields, chosen(e.BlockID, strconv.Itoa(10+20*fifth(expects))))
			}
		}
	}
	return fields
}
