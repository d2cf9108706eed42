package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

// The scenes: what the script has an actor do when a button is noticed.

// notice plans what a button calls for, if the script says so.
func (p *Play) notice(a *actor, s sight) {
	scene, ok := p.scenes()[s.element.ActionID]
	if strings.HasPrefix(s.slot, "reminder/") {
		return // whoever will act has seen the message itself
	}
	if !ok || a.SilentIn(scene.stage) || scene.leads && !a.lead {
		return
	}
	now := p.clock.Now()
	p.plan(a, a.at(now, scene.after+a.pause(), s.closes), scene.what, func(ctx context.Context) error {
		defer p.close(ctx, a)
		return p.retrying(a, s, scene, scene.do(ctx, a, s))
	})
}

// errNotYet says that an actor waits for what somebody else has still to do.
var errNotYet = errors.New("not yet")

// retrying plans a scene again that had to wait, as long as there is time.
func (p *Play) retrying(a *actor, s sight, sc scene, err error) error {
	if !errors.Is(err, errNotYet) {
		return err
	}
	if !p.timeLeft(a, s) {
		return fmt.Errorf("%s waits in vain: %w", a.Name, err)
	}
	p.plan(a, p.nextLook(a, s), sc.what, func(ctx context.Context) error {
		defer p.close(ctx, a)
		return p.retrying(a, s, sc, sc.do(ctx, a, s))
	})
	return nil
}

// nextLook is when an actor who has to wait looks again.
func (p *Play) nextLook(a *actor, s sight) time.Time {
	return a.at(p.clock.Now(), 20*time.Minute, s.closes)
}

// timeLeft reports whether waiting once more makes sense.
func (p *Play) timeLeft(a *actor, s sight) bool {
	again := p.nextLook(a, s)
	return again.After(p.clock.Now()) && (s.closes.IsZero() || again.Before(s.closes))
}

// A scene is what an actor does with a button.
type scene struct {
	stage string // in which a silent person does not act
	leads bool   // only the lead
	after time.Duration
	what  string
	do    func(ctx context.Context, a *actor, s sight) error
}

func (p *Play) scenes() map[string]scene {
	return map[string]scene{
		"open/brief.ask":       {stage: "brief", what: "ask about the brief", do: p.askQuestions},
		"do/brief.read":        {stage: "brief", after: 10 * time.Minute, what: "mark the brief as read", do: p.markRead},
		"open/brief.answer":    {stage: "brief", leads: true, what: "answer a question", do: p.answer},
		"open/framing.add":     {stage: "framing", what: "add wordings", do: p.addWordings},
		"open/framing.vote":    {stage: "framing", after: time.Hour, what: "choose level and wordings", do: p.voteFraming},
		"do/framing.confirm":   {leads: true, what: "confirm the problem", do: p.press},
		"open/roles.place":     {stage: "roles", after: 10 * time.Minute, what: "join the core team", do: p.placeInCore},
		"do/roles.place":       {stage: "roles", after: 10 * time.Minute, what: "say where they stand", do: p.placeSelf},
		"open/roles.name":      {stage: "roles", what: "name who is missing", do: p.namePeople},
		"open/roles.settle":    {leads: true, what: "settle the roles", do: p.settleRoles},
		"open/assumptions.add": {stage: "assumptions", what: "add assumptions", do: p.addAssumptions},
		"do/assumptions.done":  {stage: "assumptions", after: 20 * time.Minute, what: "say that this is all", do: p.press},
		"open/rating.ballot":   {stage: "rating", what: "fill in the ballot", do: p.fillBallot},
		"open/backlog.kinds":   {stage: "backlog", what: "vote on kinds of risk", do: p.voteKinds},
		"open/backlog.test":    {stage: "backlog", after: 10 * time.Minute, what: "plan tests", do: p.addTests},
		"do/backlog.done":      {stage: "backlog", after: 25 * time.Minute, what: "say that this is all", do: p.backlogDone},
		"do/timebox.vote":      {stage: "timebox", what: "vote on the weeks", do: p.voteWeeks},
		"open/timebox.settle":  {leads: true, what: "set the time box", do: p.setTimebox},
		"open/close.action":    {stage: "close", leads: true, what: "note actions", do: p.addActions},
		"do/close.post":        {stage: "close", leads: true, after: 30 * time.Minute, what: "post the summary", do: p.press},
		"open/checkin.report":  {stage: "underway", what: "report at the check-in", do: p.report},
		"do/decision.vote":     {stage: "underway", what: "vote on how to go on", do: p.voteDecision},
		"do/decision.settle":   {leads: true, what: "settle the decision", do: p.settleDecision},
	}
}

// noticeMessage moves the script along where no button calls for it: the
// early decision after the last check-in, and the end.
func (p *Play) noticeMessage(a *actor, slot string) {
	if !a.lead {
		return
	}
	u := p.scenario.Underway
	switch {
	case slot == "summary" && (u == nil || len(u.Checkins) == 0 && u.Decision == nil):
		p.finish()
	case slot == "summary" && len(u.Checkins) == 0, u != nil && slot == fmt.Sprintf("moved/%d", len(u.Checkins)):
		p.lastCheckinIsOver(a)
	case strings.HasPrefix(slot, "outcome/"):
		p.finish()
	}
}

func (p *Play) lastCheckinIsOver(a *actor) {
	if p.scenario.Underway.Decision == nil {
		p.finish()
		return
	}
	p.plan(a, a.at(p.clock.Now(), time.Hour, time.Time{}), "open the decision", func(ctx context.Context) error {
		return p.pressAnywhere(ctx, a, "do/lead.decide")
	})
}

// pressAnywhere presses a button in an actor's private messages, if it is
// still there: the bot may have done by itself what it is for.
func (p *Play) pressAnywhere(ctx context.Context, a *actor, action string) error {
	for _, m := range p.workspace.Messages(p.workspace.DM(a.id)) {
		for _, e := range blockkit.Elements(m.Blocks) {
			if e.ActionID == action {
				return p.press(ctx, a, sight{channel: m.Channel, ts: m.TS, element: e})
			}
		}
	}
	return nil
}

// start types the command and fills in the brief.
func (p *Play) start(ctx context.Context, a *actor) error {
	err := p.insist(func() error { return p.workspace.Command(ctx, a.id, p.channel, "/soundings", "start") })
	if err != nil {
		return err
	}
	b := p.scenario.Brief
	var people []string
	for _, other := range p.actors {
		people = append(people, other.id)
	}
	return p.fill(ctx, a,
		entry{"title", blockkit.Value{Text: p.scenario.Title}}, entry{"why", blockkit.Value{Text: b.Why}}, entry{"outcome", blockkit.Value{Text: b.Outcome}},
		entry{"out_of_bounds", blockkit.Value{Text: b.OutOfBounds}}, entry{"links", blockkit.Value{Text: strings.Join(b.Links, "\n")}},
		entry{"problem", blockkit.Value{Text: b.Problem}}, entry{"people", blockkit.Value{IDs: people}},
		entry{"pace", blockkit.Value{Option: strconv.Itoa(p.scenario.PaceDays)}})
}

func (p *Play) askQuestions(ctx context.Context, a *actor, s sight) error {
	for _, q := range p.scenario.Brief.Questions {
		if q.By != a.Key {
			continue
		}
		if err := p.press(ctx, a, s); err != nil {
			return err
		}
		if err := p.fill(ctx, a, entry{"ask", blockkit.Value{Text: q.Ask}}); err != nil {
			return err
		}
	}
	return nil
}

func (p *Play) markRead(ctx context.Context, a *actor, s sight) error {
	if a.lead {
		return nil // starting it was reading it
	}
	return p.press(ctx, a, s)
}

// answer answers the question of the message in which the button stands.
func (p *Play) answer(ctx context.Context, a *actor, s sight) error {
	m, ok := p.workspace.Message(s.channel, s.ts)
	if !ok {
		return nil
	}
	shown := allText(m.Blocks)
	for _, q := range p.scenario.Brief.Questions {
		if q.Answer == "" || a.added["answer/"+q.Ask] || !strings.Contains(shown, q.Ask) {
			continue
		}
		a.added["answer/"+q.Ask] = true
		if err := p.press(ctx, a, s); err != nil {
			return err
		}
		return p.fill(ctx, a, entry{"answer", blockkit.Value{Text: q.Answer}})
	}
	return nil
}

// allText is every text of a message's blocks, one after the other.
func allText(v any) string {
	var out strings.Builder
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			if text, ok := v["text"].(string); ok {
				out.WriteString(text + "\n")
			}
			for _, key := range slices.Sorted(keysOf(v)) {
				walk(v[key])
			}
		case []any:
			for _, inner := range v {
				walk(inner)
			}
		case []blockkit.Block:
			for _, inner := range v {
				walk(inner)
			}
		}
	}
	walk(v)
	return out.String()
}

func keysOf(m map[string]any) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

func (p *Play) addWordings(ctx context.Context, a *actor, s sight) error {
	for _, w := range p.scenario.Framing.Wordings {
		if w.By != a.Key {
			continue
		}
		if err := p.press(ctx, a, s); err != nil {
			return err
		}
		if err := p.fill(ctx, a, entry{"level", blockkit.Value{Option: strconv.Itoa(w.Level)}}, entry{"text", blockkit.Value{Text: w.Text}}); err != nil {
			return err
		}
	}
	return nil
}

// voteFraming waits until the wordings that the actor ticks are on the form.
func (p *Play) voteFraming(ctx context.Context, a *actor, s sight) error {
	vote, votes := p.scenario.Framing.Votes[a.Key]
	if !votes {
		return nil
	}
	if !p.shows(s, vote.Ticks) && p.timeLeft(a, s) {
		return errNotYet // a look at the message is cheaper than a form
	}
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	ticked := map[string][]string{}
	for _, n := range vote.Ticks {
		block, value, ok := p.wording(a, n)
		if !ok {
			return fmt.Errorf("wording %d is not on the form: %w", n, errNotYet)
		}
		ticked[block] = append(ticked[block], value)
	}
	entries := []entry{{"level", blockkit.Value{Option: strconv.Itoa(vote.Level)}}}
	for _, block := range slices.Sorted(mapKeys(ticked)) {
		entries = append(entries, entry{block, blockkit.Value{Options: ticked[block]}})
	}
	return p.fill(ctx, a, entries...)
}

func mapKeys[V any](m map[string]V) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// shows reports whether the message with the ladder lists those wordings yet.
func (p *Play) shows(s sight, wordings []int) bool {
	m, ok := p.workspace.Message(s.channel, s.ts)
	if !ok {
		return false
	}
	listed := flat(allText(m.Blocks))
	for _, n := range wordings {
		if n > 0 && !strings.Contains(listed, flat(beginning(p.scenario.Framing.Wordings[n-1].Text, 40))) {
			return false
		}
	}
	return true
}

// wording finds the box of wording n of the script. The bot numbers wordings
// as they come; people go by the words.
func (p *Play) wording(a *actor, n int) (block, value string, ok bool) {
	view, _ := p.workspace.TopView(a.id)
	text := p.scenario.Brief.Problem
	if n > 0 {
		text = p.scenario.Framing.Wordings[n-1].Text
	}
	for _, e := range blockkit.Elements(view.Blocks) {
		if !strings.HasPrefix(e.BlockID, "ticks") {
			continue
		}
		for _, o := range e.Options {
			if n == 0 && o.Value == "0" || n > 0 && o.Value != "0" && sameStart(o.Text, text) {
				return e.BlockID, o.Value, true
			}
		}
	}
	return "", "", false
}

// sameStart compares an option, which shows a number and the first words,
// with a whole text.
func sameStart(shown, text string) bool {
	_, words, found := strings.Cut(shown, " · ")
	if !found {
		words = shown
	}
	words = strings.TrimRight(strings.TrimSuffix(words, "…"), " \n\t")
	return words != "" && strings.HasPrefix(flat(text), flat(words))
}

func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

func (p *Play) namePeople(ctx context.Context, a *actor, s sight) error {
	for _, n := range p.scenario.Roles.Named {
		if n.By != a.Key {
			continue
		}
		if err := p.press(ctx, a, s); err != nil {
			return err
		}
		who := entry{"name", blockkit.Value{Text: n.Name}}
		if known := p.known(n.Name); known != nil {
			who = entry{"user", blockkit.Value{ID: known.id}}
		}
		if err := p.fill(ctx, a, who, entry{"ring", blockkit.Value{Option: n.Ring}}); err != nil {
			return err
		}
	}
	return nil
}

// known finds somebody in the channel by key or by name.
func (p *Play) known(name string) *actor {
	for _, a := range p.actors {
		if a.Key == name || a.Name == name {
			return a
		}
	}
	return nil
}

// placeSelf presses the ring that the script says. People go by the words.
func (p *Play) placeSelf(ctx context.Context, a *actor, s sight) error {
	if ring := p.scenario.Roles.Self[a.Key]; ring == "" || !strings.EqualFold(ring, s.element.Label) {
		return nil
	}
	return p.press(ctx, a, s)
}

// placeInCore is for the core team, who are asked for their days as well.
func (p *Play) placeInCore(ctx context.Context, a *actor, s sight) error {
	if p.scenario.Roles.Self[a.Key] != "core" {
		return nil
	}
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	var entries []entry
	if days, given := p.scenario.Roles.Days[a.Key]; given {
		entries = append(entries, entry{"days", blockkit.Value{Text: decimal(days)}})
	}
	return p.fill(ctx, a, entries...)
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func (p *Play) settleRoles(ctx context.Context, a *actor, s sight) error {
	if len(p.scenario.Roles.Settled) == 0 {
		return p.pressAnywhere(ctx, a, "do/roles.confirm")
	}
	if err := p.press(ctx, a, s); err != nil {
		return err
	}
	var entries []entry
	for _, other := range p.actors {
		if ring, settled := p.scenario.Roles.Settled[other.Key]; settled {
			entries = append(entries, entry{"ring/" + other.id, blockkit.Value{Option: ring}})
		}
	}
	return p.fill(ctx, a, entries...)
}

func (p *Play) addAssumptions(ctx context.Context, a *actor, s sight) error {
	for _, x := range p.scenario.Assumptions {
		if x.By != a.Key || a.added["assumption/"+x.ID] {
			continue
		}
		a.added["assumption/"+x.ID] = true
		if err := p.pressUnlessOpen(ctx, a, s, "assumptions.add"); err != nil {
			return err
		}
		err := p.fill(ctx, a, entry{"text", blockkit.Value{Text: x.Text}}, entry{"because", blockkit.Value{Text: x.Because}}, entry{"id", blockkit.Value{Text: x.ID}})
		if err != nil {
			return err
		}
	}
	return nil
}
