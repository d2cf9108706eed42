package rehearsal

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/bot/block"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/jobs"
	"soundings/bot/scenario"
	"soundings/engine"
)

// A cast is everybody who takes part, and what all of them have at hand.
type cast struct {
	script  *scenario.Scenario
	team    *fakeslack.Team
	clock   *jobs.Virtual
	channel string
	actors  []*actor      // in the order of the script: the lead first
	early   time.Duration // how long before a window closes people answer at the latest; two minutes unless set

	joined joined // with a person among them
}

// gather puts everybody into the channel, the bot among them.
func (c *cast) gather() {
	members := []string{c.team.BotUser()}
	for i, person := range c.script.People {
		id := c.team.AddUser(fakeslack.User{Name: person.Key, RealName: person.Name, Zone: person.Zone})
		zone, err := time.LoadLocation(person.Zone)
		if err != nil {
			panic(fmt.Sprintf("rehearsal: zone %s of a checked scenario: %v", person.Zone, err))
		}
		c.actors = append(c.actors, &actor{Person: person, cast: c, id: id, index: i, lead: i == 0,
			hours: engine.WorkingHours(zone), seen: map[string]bool{}, added: map[string]bool{}, byHand: map[string]bool{}})
		members = append(members, id)
	}
	c.channel = c.team.AddChannel(fakeslack.Channel{Name: "kickoff", Members: members})
}

// person finds an actor by key.
func (c *cast) person(key string) *actor {
	for _, a := range c.actors {
		if a.Key == key {
			return a
		}
	}
	return nil
}

// wait lets time pass on the play's clock.
func (c *cast) wait(d time.Duration) { c.clock.Advance(c.clock.Now().Add(d)) }

// An actor is one scripted person. They see what the platform shows them, and
// press and fill in what they find there, in their own working hours.
type actor struct {
	scenario.Person
	cast  *cast
	id    string // in the team
	dm    string // the bot's channel to them, once there is one
	index int
	lead  bool
	hours engine.Hours
	seen  map[string]bool // buttons they have noticed, by place and action
	added map[string]bool // what they have entered, by a name of its own

	acts   int             // what they have pressed, chosen and handed in so far; not what only opens a form
	byHand map[string]bool // what a person has done in their place: matters, see scene
}

// A button is something to press or choose that an actor has noticed in a
// message.
type button struct {
	blockkit.Element
	channel, ts string
	slot        string    // the bot's name for the message in which it stands
	closes      time.Time // when the message says that it closes; zero if it does not
}

// pause is how long an actor takes to notice: a little longer for each
// person, so that no two act at the same minute.
func (a *actor) pause() time.Duration { return time.Duration(6+7*a.index) * time.Minute }

// at is when an actor gets to something noticed at from: after a while of
// their own working time, but not so late that it has closed.
func (a *actor) at(from time.Time, after time.Duration, closes time.Time) time.Time {
	t, err := engine.FairClose(from, after, []engine.Hours{a.hours}, a.hours)
	if err != nil {
		panic(fmt.Sprintf("rehearsal: working hours of %s: %v", a.Key, err)) // they come from a checked scenario
	}
	if last := closes.Add(-cmp.Or(a.cast.early, 2*time.Minute)); !closes.IsZero() && t.After(last) {
		// Rather out of hours than too late.
		t = last.Add(-time.Duration(a.index) * time.Second)
	}
	if t.Before(from) {
		return from
	}
	return t
}

// nextTry is when an actor who has to wait for others looks again.
func (a *actor) nextTry(b button) time.Time {
	return a.at(a.cast.clock.Now(), 20*time.Minute, b.closes)
}

// timeLeft reports whether waiting once more makes sense.
func (a *actor) timeLeft(b button) bool {
	again := a.nextTry(b)
	return again.After(a.cast.clock.Now()) && (b.closes.IsZero() || again.Before(b.closes))
}

const (
	// tries is how often a scripted person tries what the platform shows an
	// error for, and betweenTries how long they wait in between. Together they
	// stay below the two minutes that at leaves before something closes.
	tries        = 8
	betweenTries = 10 * time.Second
)

// retry does what a person does until the platform shows no error, a few
// times at most. Whatever else is wrong will not pass by itself.
func (a *actor) retry(act func() error) error {
	for range tries - 1 {
		err := act()
		if !errors.Is(err, fakeslack.ErrNoAck) {
			return err
		}
		a.cast.wait(betweenTries)
	}
	return act()
}

// press presses a button in the message where it was seen.
func (a *actor) press(ctx context.Context, b button) error { return a.choose(ctx, b, blockkit.Value{}) }

// choose makes a choice in a list that stands in a message. It looks for the
// list again, since the message may have been drawn anew.
func (a *actor) choose(ctx context.Context, b button, v blockkit.Value) error {
	return a.retry(func() error {
		m, ok := a.cast.team.Message(b.channel, b.ts)
		if !ok {
			return fmt.Errorf("the message of %s is gone", b.ActionID)
		}
		for _, e := range blockkit.Elements(m.Blocks) {
			if e.ActionID == b.ActionID && e.Value == b.Value {
				if !strings.HasPrefix(e.ActionID, "open/") {
					a.acts++
				}
				return a.cast.team.Client.Press(ctx, a.id, fakeslack.Where{Channel: b.channel, TS: b.ts}, e.ActionID, e.BlockID, v)
			}
		}
		if strings.HasPrefix(b.ActionID, "do/") {
			return nil // what it was for has happened already
		}
		return fmt.Errorf("the button “%s” is gone", b.Label)
	})
}

// pressInDM presses a button in an actor's private messages, if it is still
// there: the bot may have done by itself what it is for.
func (a *actor) pressInDM(ctx context.Context, action string) error {
	for _, m := range a.cast.team.Messages(a.cast.team.DM(a.id)) {
		for _, e := range blockkit.Elements(m.Blocks) {
			if e.ActionID == action {
				return a.press(ctx, button{Element: e, channel: m.Channel, ts: m.TS})
			}
		}
	}
	return nil
}

// pressAsLead presses what a lead finds in their messages, or behind More; what is
// not there has happened already.
func (a *actor) pressAsLead(ctx context.Context, action string) error {
	var more *button
	for _, m := range slices.Backward(a.cast.team.Messages(a.cast.team.DM(a.id))) {
		for _, e := range blockkit.Elements(m.Blocks) {
			switch b := (button{Element: e, channel: m.Channel, ts: m.TS}); {
			case e.ActionID == action:
				return a.press(ctx, b)
			case e.ActionID == "open/lead.more" && more == nil:
				more = &b
			}
		}
	}
	if more == nil {
		return nil
	}
	if err := a.press(ctx, *more); err != nil {
		return err
	}
	return a.pressOnTop(ctx, action)
}

// pressOnTop presses a button of the open form; what is not there has happened already.
func (a *actor) pressOnTop(ctx context.Context, action string) error {
	return a.retry(func() error {
		view, _ := a.view() // anew each time: a press whose answer was lost may have changed it
		for _, e := range blockkit.Elements(view.Blocks) {
			if e.ActionID == action {
				return a.cast.team.Client.Press(ctx, a.id, fakeslack.Where{ViewID: view.ID}, e.ActionID, e.BlockID, blockkit.Value{})
			}
		}
		return nil
	})
}

// view is the form that an actor has open.
func (a *actor) view() (fakeslack.View, bool) { return a.cast.team.Client.TopView(a.id) }

// A field is what an actor puts into one field of a form.
type field struct {
	block string
	value blockkit.Value
}

func typed(block, text string) field    { return field{block, blockkit.Value{Text: text}} }
func chosen(block, option string) field { return field{block, blockkit.Value{Option: option}} }

// openAndFill presses the button of a form, and fills the form in.
func (a *actor) openAndFill(ctx context.Context, b button, fields ...field) error {
	if err := a.press(ctx, b); err != nil {
		return err
	}
	return a.fill(ctx, fields...)
}

// pressOnward presses the button of a form. Where a page comes first on which there
// is nothing to enter, it goes on from there.
func (a *actor) pressOnward(ctx context.Context, b button) error {
	if err := a.press(ctx, b); err != nil {
		return err
	}
	view, open := a.view()
	isField := func(e blockkit.Element) bool { return e.ActionID == block.InputAction }
	if !open || view.Submit == "" || slices.ContainsFunc(blockkit.Elements(view.Blocks), isField) {
		return nil
	}
	return a.submit(ctx)
}

// fill enters values into the open form, and submits it. A form that asks
// "are you sure" is submitted once more as it is.
func (a *actor) fill(ctx context.Context, fields ...field) error {
	for _, f := range fields {
		if err := a.enter(f); err != nil {
			return err
		}
	}
	before, _ := a.view()
	err := a.submit(ctx)
	if at := (*faultyField)(nil); errors.As(err, &at) && block.FieldOf(at.field) == "id" {
		// Somebody has given their own assumption this number: ours takes the next one.
		err = errors.Join(a.enter(typed("id", "")), a.submit(ctx))
	}
	if err != nil {
		return err
	}
	after, open := a.view()
	if open && after.CallbackID == before.CallbackID && after.Submit != "" && !empty(after) {
		return a.submit(ctx)
	}
	return nil
}

// empty reports that a form is shown for another entry: nothing stands in
// the first field that has to be filled in.
func empty(v fakeslack.View) bool {
	for _, e := range blockkit.Elements(v.Blocks) {
		if e.Type == "plain_text_input" {
			return e.Value == ""
		}
	}
	return false
}

// enter types or chooses in one field of the open form.
func (a *actor) enter(f field) error {
	view, open := a.view()
	if !open {
		return fmt.Errorf("%s has no form open to enter %s", a.Name, f.block)
	}
	for _, e := range blockkit.Elements(view.Blocks) {
		if block.FieldOf(e.BlockID) == f.block {
			f.block = e.BlockID
		}
	}
	return a.cast.team.Client.Type(a.id, view.ID, f.block, "in", f.value)
}

// submit submits the open form; what the bot has against it is an error.
func (a *actor) submit(ctx context.Context) error {
	return a.retry(func() error {
		view, open := a.view()
		if !open {
			return fmt.Errorf("%s has no form open to submit", a.Name)
		}
		faults, err := a.cast.team.Client.Submit(ctx, a.id, view.ID)
		if err != nil {
			return err
		}
		a.acts++
		for field, fault := range faults {
			return &faultyField{field, fmt.Errorf("the form “%s” of %s says at %s: %s", view.Title, a.Name, field, fault)}
		}
		return nil
	})
}

// A faultyField is what the bot has against one field of a form.
type faultyField struct {
	field string
	error
}

// close closes whatever an actor still has open.
func (a *actor) close() {
	for {
		view, open := a.view()
		if !open || a.cast.team.Client.CloseView(a.id, view.ID) != nil {
			return
		}
	}
}

// onEachPage presses the button of a form, and fills in its pages one after
// the other, element by element.
func (a *actor) onEachPage(ctx context.Context, b button, fillIn func(fakeslack.View, blockkit.Element) error) error {
	if err := a.press(ctx, b); err != nil {
		return err
	}
	for {
		view, open := a.view()
		if !open || "open/"+view.CallbackID != b.ActionID {
			return nil
		}
		for _, e := range blockkit.Elements(view.Blocks) {
			if err := fillIn(view, e); err != nil {
				return err
			}
		}
		if err := a.submit(ctx); err != nil {
			return err
		}
	}
}
