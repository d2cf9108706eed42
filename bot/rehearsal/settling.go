package rehearsal

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
	"soundings/bot/scenario"
	"soundings/flows"
	"soundings/flows/tally"
)

// answerQuestion answers the question of the message in which the button stands.
func answerQuestion(ctx context.Context, a *actor, b button) error {
	m, ok := a.cast.team.Message(b.channel, b.ts)
	if !ok {
		return nil
	}
	if !slices.ContainsFunc(blockkit.Elements(m.Blocks), func(e blockkit.Element) bool { return e.ActionID == b.ActionID && e.Label == b.Label }) {
		return nil // somebody has answered it
	}
	shown := allText(m.Blocks)
	for _, q := range a.cast.script.Brief.Questions {
		if q.Answer == "" || a.added["answer/"+q.Ask] || !strings.Contains(shown, q.Ask) {
			continue
		}
		a.added["answer/"+q.Ask] = true
		return a.openAndFill(ctx, b, typed("answer", q.Answer))
	}
	return nil
}

// leaveOut takes the ticks off the steps that the script does without, and ticks that
// the lead's own ratings are left out where the script says so.
func leaveOut(ctx context.Context, a *actor, _ button) error {
	left := a.cast.script.LeaveOut
	if !choosesSteps(a.cast.script) || a.added["steps"] {
		return nil
	}
	if err := a.pressAsLead(ctx, "open/lead.steps"); err != nil {
		return err
	}
	var kept []string
	for _, s := range flows.Optional() {
		if !slices.Contains(left, string(s)) {
			kept = append(kept, string(s))
		}
	}
	a.added["steps"] = true
	fields := []field{{"steps", blockkit.Value{Options: kept}}}
	if a.cast.script.WithoutLead {
		fields = append(fields, field{"own", blockkit.Value{Options: []string{"out"}}})
	}
	return a.fill(ctx, fields...)
}

// choosesSteps reports whether the lead of a script has anything to say on that page.
func choosesSteps(s *scenario.Scenario) bool { return len(s.LeaveOut) > 0 || s.WithoutLead }

// chooseDeal has the list dealt out where the script says so. A long list that it
// says nothing of is not: its ballots are whole.
func chooseDeal(ctx context.Context, a *actor, _ button) error {
	if a.added["deal"] {
		return nil
	}
	fields := []field{chosen("how", "all")}
	if deal := a.cast.script.Deal; deal != nil {
		fields = []field{chosen("how", "share"), typed("each", strconv.Itoa(deal.Each)), typed("second", strconv.Itoa(deal.Second))}
	}
	a.added["deal"] = true
	if err := a.pressAsLead(ctx, "open/rating.deal"); err != nil {
		return err
	}
	return a.fill(ctx, fields...)
}

// dealsOut reports whether the script has its lead say who rates what.
func (a *actor) dealsOut() bool {
	return a.cast.script.Deal != nil || len(a.cast.script.Assumptions) > tally.LongList
}

func settleRoles(ctx context.Context, a *actor, b button) error {
	settled := a.cast.script.Roles.Settled
	if len(settled) == 0 {
		return a.pressInDM(ctx, "do/roles.confirm")
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	rings := map[string]string{}
	for _, other := range a.cast.actors {
		if ring, given := settled[other.Key]; given && !other.byHand["do/roles.place"] {
			rings[other.id] = ring
		}
	}
	var fields []field
	for _, ring := range []string{"core", "consulted", "informed"} {
		list := field{"ring/" + ring, blockkit.Value{Options: slices.DeleteFunc(a.listed("ring/"+ring), func(id string) bool { return rings[id] != "" })}}
		for _, other := range a.cast.actors {
			if rings[other.id] == ring {
				list.value.Options = append(list.value.Options, other.id)
			}
		}
		fields = append(fields, list)
	}
	return a.fill(ctx, fields...)
}

// listed are the values that stand in a list of the form that is open.
func (a *actor) listed(field string) []string {
	v, _ := a.view()
	var values []string
	for _, input := range v.State[field] {
		for _, o := range wire.List(input, "selected_options") {
			if o, is := o.(wire.Object); is {
				values = append(values, wire.Str(o, "value"))
			}
		}
	}
	return values
}

// setTimebox sets what the script says; where it says nothing, the form's
// own proposal is taken.
func setTimebox(ctx context.Context, a *actor, b button) error {
	if err := a.press(ctx, b); err != nil {
		return err
	}
	t := a.cast.script.Timebox
	if t == nil {
		return a.submit(ctx)
	}
	fields := []field{chosen("checkin", strconv.Itoa(int(t.Checkin))), typed("stop_if", t.StopIf), typed("build_if", t.BuildIf)}
	if t.StopOn != "" {
		fields = append(fields, chosen("stop_on", a.cast.number(t.StopOn)))
	}
	if t.BuildOn != "" {
		fields = append(fields, chosen("build_on", a.cast.number(t.BuildOn)))
	}
	if t.Set > 0 {
		fields = append(fields, chosen("weeks", strconv.Itoa(t.Set)))
	}
	return a.fill(ctx, fields...)
}

func settleDecision(ctx context.Context, a *actor, b button) error {
	return a.decide(ctx, b, func(d *scenario.Decision) string { return d.Set })
}

// decide presses the button of a choice on how to go on, and for another box
// that of its weeks. People go by the words on it.
func (a *actor) decide(ctx context.Context, b button, choice func(*scenario.Decision) string) error {
	d := a.cast.decisionAt(b)
	if d == nil {
		return nil
	}
	made, words := choice(d), strings.ToLower(b.Label)
	if made == "" || !strings.Contains(words, made) ||
		made == "another" && !strings.Contains(words, strconv.Itoa(max(d.Weeks, 2))) {
		return nil
	}
	if strings.HasPrefix(b.ActionID, "open/") { // against the marks or the votes
		return a.openAndFill(ctx, b, typed("why", cmp.Or(d.Why, "The script does not say.")))
	}
	return a.press(ctx, b)
}

// decisionAt is how the script ends the time box whose decision a button is about;
// nil if it does not.
func (c *cast) decisionAt(b button) *scenario.Decision {
	_, about, _ := strings.Cut(b.slot, "decision/") // also of the lead's message: settle/decision/1/@…
	number, _, _ := strings.Cut(about, "/")
	n, err := strconv.Atoi(number)
	if boxes := c.script.Boxes(); err == nil && n <= len(boxes) {
		return boxes[n-1].Decision
	}
	return nil
}
