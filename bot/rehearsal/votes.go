package rehearsal

import (
	"context"
	"fmt"
	"hash/fnv"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"soundings/bot/block"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// markRead is for all but the lead, for whom starting it was reading it.
func markRead(ctx context.Context, a *actor, b button) error {
	if a.lead {
		return nil
	}
	return a.press(ctx, b)
}

// voteFraming waits until the wordings that the actor ticks are on the form.
func voteFraming(ctx context.Context, a *actor, b button) error {
	vote, votes := a.cast.script.Framing.Votes[a.Key]
	if !votes {
		return nil
	}
	if !a.cast.wordingsThere(b) && a.timeLeft(b) {
		return errNotYet // a look at the message is cheaper than a form
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	ticked := map[string][]string{}
	for _, n := range vote.Ticks {
		if n > 0 && a.cast.joined.unwritten[n-1] {
			continue
		}
		block, value, ok := a.wordingOnForm(n)
		if !ok {
			return fmt.Errorf("wording %d is not on the form: %w", n, errNotYet)
		}
		ticked[block] = append(ticked[block], value)
	}
	if a.cast.joined.own {
		a.tickHalf(ticked)
	}
	fields := []field{chosen("level", strconv.Itoa(vote.Level))}
	for _, block := range slices.Sorted(maps.Keys(ticked)) {
		fields = append(fields, field{block, blockkit.Value{Options: ticked[block]}})
	}
	return a.fill(ctx, fields...)
}

// tickHalf ticks every second of the wordings on the form that people have written.
func (a *actor) tickHalf(ticked map[string][]string) {
	view, _ := a.view()
	n := a.index
	for _, e := range blockkit.Elements(view.Blocks) {
		for _, o := range e.Options {
			if strings.HasPrefix(e.BlockID, "ticks") && o.Value != "0" {
				if n++; n%2 == 0 {
					ticked[e.BlockID] = append(ticked[e.BlockID], o.Value)
				}
			}
		}
	}
}

// countedWordings is how the message of the framing says how many there are.
var countedWordings = regexp.MustCompile(`(\d+) wordings? so far`)

// wordingsThere reports whether the message of a button counts as many wordings as
// the script has people write, the original among them.
func (c *cast) wordingsThere(b button) bool {
	m, ok := c.team.Message(b.channel, b.ts)
	if !ok {
		return false
	}
	shown := countedWordings.FindStringSubmatch(flat(allText(m.Blocks)))
	if shown == nil {
		return false
	}
	n, err := strconv.Atoi(shown[1])
	wanted := 1
	for i, w := range c.script.Framing.Wordings {
		if by := c.person(w.By); by != nil && !by.SilentIn("framing") && !c.joined.unwritten[i] {
			wanted++
		}
	}
	return err == nil && n >= wanted
}

// wordingOnForm finds the box of wording n of the script. The bot numbers
// wordings as they come; people go by the words.
func (a *actor) wordingOnForm(n int) (block, value string, ok bool) {
	view, _ := a.view()
	for _, e := range blockkit.Elements(view.Blocks) {
		if !strings.HasPrefix(e.BlockID, "ticks") {
			continue
		}
		for _, o := range e.Options {
			if n == 0 && o.Value == "0" || n > 0 && o.Value != "0" && sameStart(o.Text, a.cast.script.Framing.Wordings[n-1].Text) {
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

// placeSelf presses the ring that the script says. People go by the words.
func placeSelf(ctx context.Context, a *actor, b button) error {
	if ring := a.cast.script.Roles.Self[a.Key]; ring == "" || !strings.EqualFold(ring, b.Label) {
		return nil
	}
	return a.press(ctx, b)
}

// placeInCore is for the core team, who are asked for their days as well.
func placeInCore(ctx context.Context, a *actor, b button) error {
	roles := a.cast.script.Roles
	if roles.Self[a.Key] != "core" {
		return nil
	}
	var fields []field
	if days, given := roles.Days[a.Key]; given {
		fields = append(fields, chosen("days", decimal(math.Round(days*2)/2)))
	}
	return a.openAndFill(ctx, b, fields...)
}

// fillBallot goes through the pages of a ballot. What the script leaves out is
// left open, and "can't say" is chosen as such.
func fillBallot(ctx context.Context, a *actor, b button) error {
	ballot := a.cast.script.Ratings.Round1[a.Key]
	if strings.Contains(b.slot, "rating/2") {
		ballot = a.cast.script.Ratings.Round2[a.Key]
	}
	if len(ballot) == 0 {
		return nil
	}
	err := a.onEachPage(ctx, b, func(view fakeslack.View, e blockkit.Element) error {
		if a.cast.joined.room {
			a.cast.learn(flat(allText(view.Blocks)))
		}
		scale, number, ok := strings.Cut(strings.TrimPrefix(e.ActionID, "rate/"), "/")
		id, scripted := a.cast.scripted(number)
		pair, rated := ballot[id]
		if !scripted {
			pair, rated = a.opinionOn(number), true
		}
		if !ok || !rated {
			return nil
		}
		value := pair.Importance
		if scale == "evidence" {
			value = pair.Evidence
		}
		if value == 0 {
			value = -1
		}
		return a.retry(func() error {
			return a.cast.team.Client.Press(ctx, a.id, fakeslack.Where{ViewID: view.ID}, e.ActionID, e.BlockID, blockkit.Value{Option: strconv.Itoa(value)})
		})
	})
	for err == nil { // what a ballot asks at its end stays as it is
		view, open := a.view()
		if !open || view.Submit == "" {
			break
		}
		if view.CallbackID == "rating.because" {
			err = a.sayWhy(view)
		}
		if err == nil {
			err = a.submit(ctx)
		}
	}
	return err
}

// sayWhy fills in what the evidence rests on, where the script knows.
func (a *actor) sayWhy(view fakeslack.View) error {
	for _, e := range blockkit.Elements(view.Blocks) {
		name := block.FieldOf(e.BlockID)
		if text := a.cast.script.Ratings.Because[a.Key][strings.TrimPrefix(name, "because/")]; text != "" {
			if err := a.enter(typed(name, text)); err != nil {
				return err
			}
		}
	}
	return nil
}

// opinionOn is how an actor rates what a person among them has added: as important, or
// nearly, and not known for certain, each a little differently.
func (a *actor) opinionOn(number string) scenario.Pair {
	h := fnv.New32a()
	_, _ = h.Write([]byte(number)) // it takes everything
	about := int(h.Sum32() % 9)
	lean := (a.index + about) % 3
	return scenario.Pair{Importance: 5 + about%3 + lean, Evidence: 1 + about/3 + (lean+a.index)%3}
}

// kindVotes are the kinds of risk that an actor votes for, by their field.
func (a *actor) kindVotes() map[string]string {
	votes := map[string]string{}
	for id, by := range a.cast.script.Backlog.Kinds {
		if kind, voted := by[a.Key]; voted {
			votes["kind/"+a.cast.number(id)] = kind
		}
	}
	return votes
}

func voteKinds(ctx context.Context, a *actor, b button) error {
	votes := a.kindVotes()
	if len(votes) == 0 {
		return nil
	}
	return a.onEachPage(ctx, b, func(_ fakeslack.View, e blockkit.Element) error {
		if kind, voted := votes[e.BlockID]; voted {
			return a.enter(chosen(e.BlockID, kind))
		}
		return nil
	})
}

// backlogDone is for those who gave anything; a stage without votes from
// somebody means that they did not answer.
func backlogDone(ctx context.Context, a *actor, b button) error {
	plans := func(t scenario.Test) bool { return t.By == a.Key }
	if len(a.kindVotes()) == 0 && !slices.ContainsFunc(a.cast.script.Backlog.Tests, plans) {
		return nil
	}
	return a.press(ctx, b)
}

// costsOnScreen are how the message says what a script's word costs.
var costsOnScreen = map[string]string{"day": "A day", "quarter": "A quarter", "name": "The company"}

// voteWeeks chooses the weeks last: they finish the stage.
func voteWeeks(ctx context.Context, a *actor, b button) error {
	t := a.cast.script.Timebox
	if t == nil {
		return nil
	}
	if worth, says := t.Worth[a.Key]; says && !a.byHand["do/timebox.worth"] {
		if err := a.chooseBeside(ctx, b, "do/timebox.worth", strconv.Itoa(worth)); err != nil {
			return err
		}
	}
	if cost, says := t.Cost[a.Key]; says && !a.byHand["do/timebox.cost"] {
		if err := a.chooseBeside(ctx, b, "do/timebox.cost", costsOnScreen[cost]); err != nil {
			return err
		}
	}
	if weeks, votes := t.Votes[a.Key]; votes {
		return a.chooseBeside(ctx, b, "do/timebox.vote", strconv.Itoa(weeks))
	}
	return nil
}

// chooseBeside chooses the option of a list that begins with some words, in the
// message of a button. It does nothing where the list is gone: the stage is over.
func (a *actor) chooseBeside(ctx context.Context, b button, action, begins string) error {
	m, ok := a.cast.team.Message(b.channel, b.ts)
	if !ok {
		return fmt.Errorf("the message of %s is gone", action)
	}
	for _, e := range blockkit.Elements(m.Blocks) {
		if e.ActionID != action {
			continue
		}
		for _, o := range e.Options {
			if o.Text == begins || strings.HasPrefix(o.Text, begins+" ") || strings.HasPrefix(o.Text, begins+"’") {
				return a.choose(ctx, button{Element: e, channel: b.channel, ts: b.ts}, blockkit.Value{Option: o.Value})
			}
		}
		return fmt.Errorf("%s cannot choose %q", a.Name, begins)
	}
	return nil
}

func voteDecision(ctx context.Context, a *actor, b button) error {
	return a.decide(ctx, b, func(d *scenario.Decision) string { return d.Votes[a.Key] })
}
