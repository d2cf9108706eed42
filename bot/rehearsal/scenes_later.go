package rehearsal

import (
	"soundings/bot/scenario"

	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
)

// The scenes from the rating on.

// fillBallot goes through the pages of a ballot.
func (p *Play) fillBallot(ctx context.Context, a *actor, s sight) error {
	ballot := p.scenario.Ratings.Round1[a.Key]
	if strings.Contains(s.slot, "rating/2") {
		ballot = p.scenario.Ratings.Round2[a.Key]
	}
	if len(ballot) == 0 {
		return nil
	}
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	for {
		view, open := p.workspace.TopView(a.id)
		if !open || view.CallbackID != "rating.ballot" {
			return nil
		}
		if err := p.fillPage(ctx, a, view, ballot); err != nil {
			return err
		}
		if err := p.submit(ctx, a); err != nil {
			return err
		}
	}
}

// fillPage makes the choices of one page. What the script leaves out is left
// open, and "can't say" is chosen as such.
func (p *Play) fillPage(ctx context.Context, a *actor, view fakeslack.View, ballot map[string]scenario.Pair) error {
	for _, e := range blockkit.Elements(view.Blocks) {
		scale, id, ok := strings.Cut(strings.TrimPrefix(e.ActionID, "rate/"), "/")
		pair, rated := ballot[id]
		if !ok || !rated {
			continue
		}
		value := pair.Importance
		if scale == "evidence" {
			value = pair.Evidence
		}
		if value == 0 {
			value = -1
		}
		err := p.insist(func() error {
			return p.workspace.Press(ctx, a.id, fakeslack.Where{ViewID: view.ID}, e.ActionID, e.BlockID, blockkit.Value{Option: strconv.Itoa(value)})
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// voteKinds goes through the pages of the form on kinds of risk.
func (p *Play) voteKinds(ctx context.Context, a *actor, s sight) error {
	votes := map[string]string{}
	for id, by := range p.scenario.Backlog.Kinds {
		if kind, voted := by[a.Key]; voted {
			votes["kind/"+id] = kind
		}
	}
	if len(votes) == 0 {
		return nil
	}
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	for {
		view, open := p.workspace.TopView(a.id)
		if !open || view.CallbackID != "backlog.kinds" {
			return nil
		}
		for _, e := range blockkit.Elements(view.Blocks) {
			if kind, voted := votes[e.BlockID]; voted {
				if err := p.enter(a, e.BlockID, "in", blockkit.Value{Option: kind}); err != nil {
					return err
				}
			}
		}
		if err := p.submit(ctx, a); err != nil {
			return err
		}
	}
}

// addTests adds the tests of the script in its order: a test waits for the
// one before it, so that both bear the numbers of the script.
func (p *Play) addTests(ctx context.Context, a *actor, s sight) error {
	for i, t := range p.scenario.Backlog.Tests {
		if t.By != a.Key || a.added[testName(i)] {
			continue
		}
		a.added[testName(i)] = true
		if err := p.press(ctx, a, s); err != nil {
			return err
		}
		if err := p.fill(ctx, a, p.testEntries(t)...); err != nil {
			return err
		}
	}
	return nil
}

func testName(i int) string { return fmt.Sprintf("test/%d", i+1) }

func (p *Play) testEntries(t scenario.Test) []entry {
	entries := []entry{{"assumption", blockkit.Value{Option: t.Assumption}}, {"method", blockkit.Value{Text: t.Method}}, {"learn", blockkit.Value{Text: t.Learn}},
		{"effort", blockkit.Value{Text: decimal(t.EffortDays)}}, {"lead", blockkit.Value{Text: decimal(t.LeadDays)}}}
	if t.Pass != nil {
		entries = append(entries, entry{"pass", blockkit.Value{Text: percent(t.Pass.Share)}})
	}
	if t.Size > 0 {
		entries = append(entries, entry{"size", blockkit.Value{Text: strconv.Itoa(t.Size)}})
	}
	if owner := p.person(t.Owner); owner != nil {
		entries = append(entries, entry{"owner", blockkit.Value{ID: owner.id}})
	}
	return entries
}

// percent writes a share as a percentage: 0.6 is 60, 0.125 is 12.5.
func percent(share float64) string {
	text := strconv.FormatFloat(share*100, 'f', 6, 64)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}

// backlogDone is for those who gave anything; a stage without votes from
// somebody means that they did not answer.
func (p *Play) backlogDone(ctx context.Context, a *actor, s sight) error {
	gave := false
	for _, by := range p.scenario.Backlog.Kinds {
		_, voted := by[a.Key]
		gave = gave || voted
	}
	for _, t := range p.scenario.Backlog.Tests {
		gave = gave || t.By == a.Key
	}
	if !gave {
		return nil
	}
	return p.press(ctx, a, s)
}

func (p *Play) voteWeeks(ctx context.Context, a *actor, s sight) error {
	if p.scenario.Timebox == nil {
		return nil
	}
	weeks, votes := p.scenario.Timebox.Votes[a.Key]
	if !votes {
		return nil
	}
	for _, o := range s.element.Options {
		if number, _, _ := strings.Cut(o.Text, " "); number == strconv.Itoa(weeks) {
			return p.choose(ctx, a, s, blockkit.Value{Option: o.Value})
		}
	}
	return fmt.Errorf("%s cannot choose %d weeks", a.Name, weeks)
}

// setTimebox sets what the script says; where it says nothing, the form's
// own proposal is taken.
func (p *Play) setTimebox(ctx context.Context, a *actor, s sight) error {
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	t := p.scenario.Timebox
	if t == nil {
		return p.submit(ctx, a)
	}
	entries := []entry{{"checkin", blockkit.Value{Option: strconv.Itoa(int(t.Checkin))}}, {"stop_if", blockkit.Value{Text: t.StopIf}}, {"build_if", blockkit.Value{Text: t.BuildIf}}}
	if t.Set > 0 {
		entries = append(entries, entry{"weeks", blockkit.Value{Option: strconv.Itoa(t.Set)}})
	}
	return p.fill(ctx, a, entries...)
}

func (p *Play) addActions(ctx context.Context, a *actor, s sight) error {
	for i, action := range p.scenario.Actions {
		name := fmt.Sprintf("action/%d", i)
		if a.added[name] {
			continue
		}
		a.added[name] = true
		if err := p.pressUnlessOpen(ctx, a, s, "close.action"); err != nil {
			return err
		}
		due := p.clock.Now().In(a.hours.Zone).AddDate(0, 0, action.DueDays).Format(time.DateOnly)
		owner := a
		if other := p.person(action.Owner); other != nil {
			owner = other
		}
		err := p.fill(ctx, a, entry{"what", blockkit.Value{Text: action.What}}, entry{"owner", blockkit.Value{ID: owner.id}}, entry{"due", blockkit.Value{Date: due}})
		if err != nil {
			return err
		}
	}
	return nil
}

// report reports the results of the actor's tests, new ratings of evidence,
// and confidence.
func (p *Play) report(ctx context.Context, a *actor, s sight) error {
	n, err := strconv.Atoi(strings.TrimPrefix(s.slot, "checkin/"))
	if u := p.scenario.Underway; err != nil || u == nil || n > len(u.Checkins) {
		return nil
	}
	c := p.scenario.Underway.Checkins[n-1]
	results := p.resultsOf(a, c)
	confidence, votes := c.Confidence[a.Key]
	if len(results) == 0 && !votes && len(c.Evidence[a.Key]) == 0 {
		return nil
	}
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	var entries []entry
	for _, r := range results {
		block, ok := p.testField(a, p.scenario.Backlog.Tests[r.Test-1])
		if !ok {
			return fmt.Errorf("the form of %s has no field for test %d", a.Name, r.Test)
		}
		entries = append(entries, entry{"k/" + block, blockkit.Value{Text: strconv.Itoa(r.K)}}, entry{"n/" + block, blockkit.Value{Text: strconv.Itoa(r.N)}})
	}
	for _, x := range p.scenario.Assumptions {
		if value, rated := c.Evidence[a.Key][x.ID]; rated {
			entries = append(entries, entry{"evidence/" + x.ID, blockkit.Value{Option: strconv.Itoa(value)}})
		}
	}
	if votes {
		entries = append(entries, entry{"confidence", blockkit.Value{Option: strconv.Itoa(confidence)}})
	}
	return p.fill(ctx, a, entries...)
}

// resultsOf are the results that fall to an actor: of tests they own, and for
// the lead of those that nobody owns or whose owner stays silent.
func (p *Play) resultsOf(a *actor, c scenario.Checkin) []scenario.Result {
	var out []scenario.Result
	for _, r := range c.Results {
		owner := p.person(p.scenario.Backlog.Tests[r.Test-1].Owner)
		if owner == nil || owner.SilentIn("underway") {
			owner = p.actors[0]
		}
		if owner == a {
			out = append(out, r)
		}
	}
	return out
}

// testField finds the number of a test on the open form by its assumption
// and method: the bot numbers tests as they come.
func (p *Play) testField(a *actor, t scenario.Test) (string, bool) {
	view, _ := p.workspace.TopView(a.id)
	for _, e := range blockkit.Elements(view.Blocks) {
		n, isCount := strings.CutPrefix(e.BlockID, "k/")
		if isCount && strings.Contains(e.Label, t.Assumption) && strings.Contains(flat(e.Label), flat(beginning(t.Method, 40))) {
			return n, true
		}
	}
	return "", false
}

// beginning is the first characters of a text.
func beginning(text string, most int) string {
	runes := []rune(text)
	return string(runes[:min(most, len(runes))])
}

func (p *Play) voteDecision(ctx context.Context, a *actor, s sight) error {
	d := p.decision()
	if d == nil || !offers(s.element, d.Votes[a.Key], d.Weeks) {
		return nil
	}
	return p.press(ctx, a, s)
}

func (p *Play) settleDecision(ctx context.Context, a *actor, s sight) error {
	d := p.decision()
	if d == nil || !offers(s.element, d.Set, d.Weeks) {
		return nil
	}
	return p.press(ctx, a, s)
}

func (p *Play) decision() *scenario.Decision {
	if p.scenario.Underway == nil {
		return nil
	}
	return p.scenario.Underway.Decision
}

// offers reports whether a button is for a choice, and for another box for
// its weeks. People go by the words on it.
func offers(e blockkit.Element, choice string, weeks int) bool {
	words := strings.ToLower(e.Label)
	if choice == "" || !strings.Contains(words, choice) {
		return false
	}
	return choice != "another" || strings.Contains(words, strconv.Itoa(max(weeks, 2)))
}
