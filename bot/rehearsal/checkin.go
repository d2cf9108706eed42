package rehearsal

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/block"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// reportCheckin goes through the check-in page by page: the results of the actor's
// tests and what was learnt, what became of their actions, confidence, and by a tick
// evidence and the rest.
func reportCheckin(ctx context.Context, a *actor, b button) error {
	c, known := a.cast.checkinOf(b)
	if !known {
		return nil
	}
	results := slices.DeleteFunc(a.resultsIn(c), func(r scenario.Result) bool { return r.Why != "" })
	_, votes := c.Confidence[a.Key]
	if len(results)+len(c.Evidence[a.Key])+len(c.Ratings[a.Key]) == 0 && !votes {
		return nil
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	pages := 0
	for view, open := a.view(); open && "open/"+view.CallbackID == b.ActionID; view, open = a.view() {
		// The answer to a page may have been lost: then the form says that the report
		// counts already, and asks for the fields to be emptied.
		counted := strings.Contains(allText(view.Blocks), "reported exactly this")
		for _, f := range append(a.checkinFields(c, results), a.doneFields(b)...) {
			kind, _, _ := strings.Cut(f.block, "/")
			if counted && slices.Contains([]string{"k", "n", "yes", "figure"}, kind) {
				f.value = blockkit.Value{}
			}
			if err := a.enter(f); err != nil {
				return err
			}
		}
		if err := a.submit(ctx); err != nil {
			return err
		}
		if pages++; pages > mostPages {
			return fmt.Errorf("the check-in of %s does not end", a.Name)
		}
	}
	return nil
}

// mostPages is more than any check-in of a script has.
const mostPages = 40

// checkinFields are what the script has for the fields of the page that is open.
func (a *actor) checkinFields(c scenario.Checkin, results []scenario.Result) []field {
	var fields []field
	for _, r := range results {
		test, ok := a.testOnForm(a.cast.script.AllTests()[r.Test-1])
		if !ok {
			continue
		}
		fields = append(fields, a.reportFields(r, test)...)
		for name, text := range map[string]string{"learnt": r.Learnt, "surprise": r.Surprise, "quote": r.Quote, "link": r.Link} {
			if text != "" {
				fields = append(fields, typed(name+"/"+test, text))
			}
		}
	}
	evidence, ratings := c.Evidence[a.Key], c.Ratings[a.Key]
	if a.byHand["open/checkin.report"] || a.leftOut() {
		evidence, ratings = nil, nil // what was rated by hand stands
	}
	for id, value := range evidence {
		fields = append(fields, chosen("evidence/"+a.cast.number(id), strconv.Itoa(value)))
	}
	for id, pair := range ratings {
		fields = append(fields, chosen("importance/"+a.cast.number(id), strconv.Itoa(pair.Importance)), chosen("known/"+a.cast.number(id), strconv.Itoa(pair.Evidence)))
	}
	fields = append(fields, a.foresightFields()...)
	if confidence, votes := c.Confidence[a.Key]; votes {
		fields = append(fields, chosen("confidence", strconv.Itoa(confidence)))
	}
	if more := a.moreOf(c, results); len(more) > 0 {
		fields = append(fields, field{"more", blockkit.Value{Options: more}})
	}
	view, _ := a.view()
	var here []field
	for _, e := range blockkit.Elements(view.Blocks) { // in the order of the page
		for _, f := range fields {
			if f.block == block.FieldOf(e.BlockID) {
				here = append(here, f)
			}
		}
	}
	return here
}

// notedTalk is how the action begins that the bot notes for a split that lasts. No
// script has it: people have talked by the first check-in.
const notedTalk = "Talk with those who see "

// doneFields say of the actor's actions on the open page that they are done, where the
// script has them done by this check-in.
func (a *actor) doneFields(b button) []field {
	view, _ := a.view()
	var fields []field
	actions := append(slices.Clone(a.cast.script.Actions), scenario.Action{What: notedTalk, DoneAt: 1})
	for _, e := range blockkit.Elements(view.Blocks) {
		kind, _, _ := strings.Cut(e.BlockID, "/")
		for _, action := range actions {
			if kind == "action" && b.slot == fmt.Sprintf("checkin/%d", action.DoneAt) && strings.Contains(flat(e.Label), flat(beginning(action.What, 40))) {
				fields = append(fields, chosen(block.FieldOf(e.BlockID), "done"))
			}
		}
	}
	return fields
}

// leftOut reports that the actor is a lead who has their own ratings left out.
func (a *actor) leftOut() bool { return a.lead && a.cast.script.WithoutLead }

// moreOf is what an actor ticks for further pages.
func (a *actor) moreOf(c scenario.Checkin, results []scenario.Result) []string {
	var more []string
	if len(c.Evidence[a.Key]) > 0 && !a.leftOut() {
		more = append(more, "evidence")
	}
	if slices.ContainsFunc(results, func(r scenario.Result) bool { return r.Surprise+r.Quote+r.Link != "" }) {
		more = append(more, "told")
	}
	owned := func(r scenario.Result) bool {
		owner := a.cast.script.AllTests()[r.Test-1].Owner
		return owner != a.Key && a.cast.person(owner) != nil
	}
	if slices.ContainsFunc(results, owned) {
		more = append(more, "others")
	}
	return more
}

// reportFields are the fields of one report, in the words of its pass mark.
func (a *actor) reportFields(r scenario.Result, test string) []field {
	switch pass := a.cast.script.AllTests()[r.Test-1].Pass; {
	case pass != nil && pass.Yes && r.Yes:
		return []field{chosen("yes/"+test, "yes")}
	case pass != nil && pass.Yes:
		return []field{chosen("yes/"+test, "no")}
	case pass != nil && pass.Unit != "":
		return []field{typed("figure/"+test, decimal(r.Figure))}
	}
	return []field{typed("k/"+test, strconv.Itoa(r.K)), typed("n/"+test, strconv.Itoa(r.N))}
}

// correctReport corrects the last report of a test by which the script says so.
func correctReport(ctx context.Context, a *actor, b button) error {
	c, due := a.cast.checkinOf(b)
	for i, r := range a.resultsIn(c) {
		name := fmt.Sprintf("%s/correction/%d", b.slot, i)
		if !due || r.Why == "" || a.added[name] {
			continue
		}
		if err := a.press(ctx, b); err != nil {
			return err
		}
		test := a.cast.script.AllTests()[r.Test-1]
		if err := a.pressOnForm(ctx, "open/checkin.correct", test); err != nil {
			return err
		}
		a.added[name] = true
		view, _ := a.view()
		_, number, _ := strings.Cut(blockkit.Elements(view.Blocks)[0].BlockID, "/")
		if err := a.fill(ctx, append(a.reportFields(r, number), typed("why", r.Why))...); err != nil {
			return err
		}
	}
	return nil
}

// dropTests gives up the tests of which the script says so.
func dropTests(ctx context.Context, a *actor, b button) error {
	c, _ := a.cast.checkinOf(b)
	for i, d := range c.Drops {
		name := fmt.Sprintf("%s/drop/%d", b.slot, i)
		if d.By != a.Key || a.added[name] {
			continue
		}
		if err := a.press(ctx, b); err != nil {
			return err
		}
		if err := a.pressOnForm(ctx, "open/backlog.edit", a.cast.script.AllTests()[d.Test-1]); err != nil {
			return err
		}
		a.added[name] = true
		if err := a.fill(ctx, typed("why", d.Why)); err != nil {
			return err
		}
		a.close()
	}
	return nil
}

// resultsIn are the results that fall to an actor: of tests they own, and for
// the lead of those that nobody owns or whose owner stays silent.
func (a *actor) resultsIn(c scenario.Checkin) []scenario.Result {
	var out []scenario.Result
	for _, r := range c.Results {
		owner := a.cast.person(a.cast.script.AllTests()[r.Test-1].Owner)
		if owner == nil || owner.SilentIn("underway") {
			owner = a.cast.actors[0]
		}
		if owner == a {
			out = append(out, r)
		}
	}
	return out
}

// checkinOf is the check-in of the script to which a button belongs.
func (c *cast) checkinOf(b button) (in scenario.Checkin, known bool) {
	n, err := strconv.Atoi(strings.TrimPrefix(b.slot, "checkin/"))
	if all := c.script.Checkins(); err == nil && n <= len(all) {
		return all[n-1], true
	}
	return in, false
}

// testOnForm finds the number of a test on the open form by its assumption
// and method: the bot numbers tests as they come.
func (a *actor) testOnForm(t scenario.Test) (string, bool) {
	view, _ := a.view()
	for _, e := range blockkit.Elements(view.Blocks) {
		kind, n, _ := strings.Cut(e.BlockID, "/")
		asks := slices.Contains([]string{"k", "yes", "figure", "surprise", "expect"}, kind)
		if asks && strings.Contains(e.Label, a.cast.number(t.Assumption)) && strings.Contains(flat(e.Label), flat(beginning(t.Method, 40))) {
			return n, true
		}
	}
	return "", false
}

// pressOnForm presses the first button of the open form that stands below a line
// about that test.
func (a *actor) pressOnForm(ctx context.Context, action string, t scenario.Test) error {
	view, _ := a.view()
	for i := 1; i < len(view.Blocks); i++ {
		above := flat(allText(view.Blocks[i-1 : i]))
		for _, e := range blockkit.Elements(view.Blocks[i : i+1]) {
			if e.ActionID == action && strings.Contains(above, a.cast.number(t.Assumption)) && strings.Contains(above, flat(beginning(t.Method, 40))) {
				return a.retry(func() error {
					return a.cast.team.Client.Press(ctx, a.id, fakeslack.Where{ViewID: view.ID}, e.ActionID, e.BlockID, blockkit.Value{})
				})
			}
		}
	}
	return fmt.Errorf("the form “%s” of %s has no button about %s", view.Title, a.Name, t.Method)
}
