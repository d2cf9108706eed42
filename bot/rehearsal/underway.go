package rehearsal

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

var underwayScenes = []scene{
	{action: "open/checkin.report", what: "report at the check-in", do: reportCheckin},
	{action: "do/decision.vote", what: "vote on how to go on", do: voteDecision},
	{action: "do/decision.settle", settles: true, what: "settle the decision", do: settleDecision},
}

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
		fields = append(fields, field{"k/" + test, blockkit.Value{Text: strconv.Itoa(r.K)}}, field{"n/" + test, blockkit.Value{Text: strconv.Itoa(r.N)}})
	}
	for _, x := range script.Assumptions {
		if value, rated := c.Evidence[a.Key][x.ID]; rated {
			fields = append(fields, field{"evidence/" + x.ID, blockkit.Value{Option: strconv.Itoa(value)}})
		}
	}
	if votes {
		fields = append(fields, field{"confidence", blockkit.Value{Option: strconv.Itoa(confidence)}})
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

func voteDecision(ctx context.Context, a *actor, b button) error {
	d := a.cast.decision()
	if d == nil || !offers(b, d.Votes[a.Key], d.Weeks) {
		return nil
	}
	return a.press(ctx, b)
}

func settleDecision(ctx context.Context, a *actor, b button) error {
	d := a.cast.decision()
	if d == nil || !offers(b, d.Set, d.Weeks) {
		return nil
	}
	return a.press(ctx, b)
}

// decision is how the script ends the time box; nil if it does not.
func (c *cast) decision() *scenario.Decision {
	if c.script.Underway == nil {
		return nil
	}
	return c.script.Underway.Decision
}

// offers reports whether a button is for a choice, and for another box for
// its weeks. People go by the words on it.
func offers(b button, choice string, weeks int) bool {
	words := strings.ToLower(b.Label)
	if choice == "" || !strings.Contains(words, choice) {
		return false
	}
	return choice != "another" || strings.Contains(words, strconv.Itoa(max(weeks, 2)))
}
