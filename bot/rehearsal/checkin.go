package rehearsal

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// reportCheckin reports the results of the actor's tests, new ratings of evidence,
// and confidence.
func reportCheckin(ctx context.Context, a *actor, b button) error {
	script := a.cast.script
	n, err := strconv.Atoi(strings.TrimPrefix(b.slot, "checkin/"))
	if u := script.Underway; err != nil || u == nil || n > len(u.Checkins) {
		return nil
	}
	c := script.Underway.Checkins[n-1]
	results := a.resultsIn(c)
	confidence, votes := c.Confidence[a.Key]
	if len(results) == 0 && !votes && len(c.Evidence[a.Key]) == 0 {
		return nil
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	var fields []field
	for _, r := range results {
		test, ok := a.testOnForm(script.Backlog.Tests[r.Test-1])
		if !ok {
			return fmt.Errorf("the form of %s has no field for test %d", a.Name, r.Test)
		}
		fields = append(fields, typed("k/"+test, strconv.Itoa(r.K)), typed("n/"+test, strconv.Itoa(r.N)))
	}
	for _, x := range script.Assumptions {
		if value, rated := c.Evidence[a.Key][x.ID]; rated {
			fields = append(fields, chosen("evidence/"+x.ID, strconv.Itoa(value)))
		}
	}
	if votes {
		fields = append(fields, chosen("confidence", strconv.Itoa(confidence)))
	}
	return a.fill(ctx, fields...)
}

// resultsIn are the results that fall to an actor: of tests they own, and for
// the lead of those that nobody owns or whose owner stays silent.
func (a *actor) resultsIn(c scenario.Checkin) []scenario.Result {
	var out []scenario.Result
	for _, r := range c.Results {
		owner := a.cast.person(a.cast.script.Backlog.Tests[r.Test-1].Owner)
		if owner == nil || owner.SilentIn("underway") {
			owner = a.cast.actors[0]
		}
		if owner == a {
			out = append(out, r)
		}
	}
	return out
}

// testOnForm finds the number of a test on the open form by its assumption
// and method: the bot numbers tests as they come.
func (a *actor) testOnForm(t scenario.Test) (string, bool) {
	view, _ := a.view()
	for _, e := range blockkit.Elements(view.Blocks) {
		n, isCount := strings.CutPrefix(e.BlockID, "k/")
		if isCount && strings.Contains(e.Label, t.Assumption) && strings.Contains(flat(e.Label), flat(beginning(t.Method, 40))) {
			return n, true
		}
	}
	return "", false
}
