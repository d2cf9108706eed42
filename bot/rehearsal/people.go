package rehearsal

import (
	"context"
	"fmt"
	"strings"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
	"soundings/bot/scenario"
	"soundings/bot/screens"
	"soundings/engine"
)

// An actor is one scripted person. They see what the platform shows them,
// and press and fill what they find there, in their own working hours.
type actor struct {
	scenario.Person
	id    string // in the workspace
	index int
	lead  bool
	hours engine.Hours
	seen  map[string]bool // buttons they have noticed, by place and action
	added map[string]bool // what they have entered, by a name of its own
}

// A sight is a button that an actor has noticed.
type sight struct {
	channel, ts string
	slot        string // which message of the bot it stands in
	element     blockkit.Element
	closes      time.Time // when the message says that it closes; zero if it does not
}

// A task is something that an actor is going to do.
type task struct {
	at    time.Time
	order int
	who   *actor
	what  string
	do    func(ctx context.Context) error
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
	if last := closes.Add(-2 * time.Minute); !closes.IsZero() && t.After(last) {
		// A last look at the phone, out of hours.
		t = last.Add(-time.Duration(a.index) * time.Second)
	}
	if t.Before(from) {
		return from
	}
	return t
}

// A scan is a message as everybody sees it: read once, for all who look.
type scan struct {
	message  fakeslack.Message
	slot     string
	closes   time.Time
	elements []blockkit.Element
}

func scanned(messages []fakeslack.Message) []scan {
	out := make([]scan, len(messages))
	for i, m := range messages {
		out[i] = scan{message: m, slot: slotOf(m), elements: blockkit.Elements(m.Blocks)}
		if len(out[i].elements) > 0 {
			out[i].closes = closingTime(m.Blocks)
		}
	}
	return out
}

// look notices the buttons that are new to an actor, and turns those that the
// script has an answer for into tasks.
func (p *Play) look(a *actor, scans []scan) {
	for _, s := range scans {
		place := s.message.Channel + "/" + s.message.TS
		for _, e := range s.elements {
			key := place + "/" + e.ActionID + "/" + e.Value
			if e.ActionID == "" || a.seen[key] {
				continue
			}
			a.seen[key] = true
			p.notice(a, sight{channel: s.message.Channel, ts: s.message.TS, slot: s.slot, element: e, closes: s.closes})
		}
		if !a.seen[place] {
			a.seen[place] = true
			p.noticeMessage(a, s.slot)
		}
	}
}

// slotOf reads which message of the bot this is from its metadata.
func slotOf(m fakeslack.Message) string {
	if m.Metadata == nil {
		return ""
	}
	slot, _ := m.Metadata.EventPayload["slot"].(string)
	return slot
}

// closingTime is the last date that a message names: when it closes.
func closingTime(blocks []blockkit.Block) time.Time {
	var last int64
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			if v["type"] == "date" {
				if seconds, ok := wire.Whole(v, "timestamp"); ok {
					last = max(last, int64(seconds))
				}
			}
			for _, inner := range v {
				walk(inner)
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
	walk(blocks)
	if last == 0 {
		return time.Time{}
	}
	return time.Unix(last, 0).UTC()
}

// plan adds a task for an actor.
func (p *Play) plan(a *actor, at time.Time, what string, do func(ctx context.Context) error) {
	p.order++
	p.tasks = append(p.tasks, task{at: at, order: p.order, who: a, what: what, do: do})
}

// press presses a button in the message where it was seen, a few times if
// the platform shows an error.
func (p *Play) press(ctx context.Context, a *actor, s sight) error {
	return p.choose(ctx, a, s, blockkit.Value{})
}

// choose makes a choice in a list that stands in a message.
func (p *Play) choose(ctx context.Context, a *actor, s sight, v blockkit.Value) error {
	return p.insist(func() error { return p.pressOnce(ctx, a, s, v) })
}

// pressUnlessOpen presses the button of a form, unless the form stands open
// for another entry.
func (p *Play) pressUnlessOpen(ctx context.Context, a *actor, s sight, form string) error {
	if view, open := p.workspace.TopView(a.id); open && view.CallbackID == form {
		return nil
	}
	return p.press(ctx, a, s)
}

// pressOnce looks for the button again, since the message may have been drawn
// anew.
func (p *Play) pressOnce(ctx context.Context, a *actor, s sight, v blockkit.Value) error {
	m, ok := p.workspace.Message(s.channel, s.ts)
	if !ok {
		return fmt.Errorf("the message of %s is gone", s.element.ActionID)
	}
	for _, e := range blockkit.Elements(m.Blocks) {
		if e.ActionID == s.element.ActionID && e.Value == s.element.Value {
			return p.workspace.Press(ctx, a.id, fakeslack.Where{Channel: s.channel, TS: s.ts}, e.ActionID, e.BlockID, v)
		}
	}
	if strings.HasPrefix(s.element.ActionID, "do/") {
		return nil // what it was for has happened already
	}
	return fmt.Errorf("the button “%s” is gone", s.element.Label)
}

// An entry is what an actor puts into one field of a form.
type entry struct {
	block string
	value blockkit.Value
}

// fill enters values into the form that an actor has open, and submits it.
// A form that asks "are you sure" is submitted once more as it is.
func (p *Play) fill(ctx context.Context, a *actor, entries ...entry) error {
	for _, e := range entries {
		if err := p.enter(a, e.block, "in", e.value); err != nil {
			return err
		}
	}
	before, _ := p.workspace.TopView(a.id)
	if err := p.submit(ctx, a); err != nil {
		return err
	}
	after, open := p.workspace.TopView(a.id)
	if open && after.CallbackID == before.CallbackID && after.Submit != "" && !emptyForm(after) {
		return p.submit(ctx, a)
	}
	return nil
}

// emptyForm reports that a form is shown for another entry: nothing stands in
// the first field that has to be filled in.
func emptyForm(v fakeslack.View) bool {
	for _, e := range blockkit.Elements(v.Blocks) {
		if e.Type == "plain_text_input" {
			return e.Value == ""
		}
	}
	return false
}

func (p *Play) enter(a *actor, block, action string, v blockkit.Value) error {
	view, open := p.workspace.TopView(a.id)
	if !open {
		return fmt.Errorf("%s has no form open to enter %s", a.Name, block)
	}
	for _, e := range blockkit.Elements(view.Blocks) {
		if screens.FieldOf(e.BlockID) == block {
			block = e.BlockID
		}
	}
	return p.workspace.Type(a.id, view.ID, block, action, v)
}

// submit submits the open form, a few times if the platform shows an error.
func (p *Play) submit(ctx context.Context, a *actor) error {
	return p.insist(func() error { return p.submitOnce(ctx, a) })
}

// submitOnce submits the open form; what the bot has against it is an error.
func (p *Play) submitOnce(ctx context.Context, a *actor) error {
	view, open := p.workspace.TopView(a.id)
	if !open {
		return fmt.Errorf("%s has no form open to submit", a.Name)
	}
	faults, err := p.workspace.Submit(ctx, a.id, view.ID)
	if err != nil {
		return err
	}
	for field, fault := range faults {
		return fmt.Errorf("the form “%s” of %s says at %s: %s", view.Title, a.Name, field, fault)
	}
	return nil
}

// close closes whatever an actor still has open.
func (p *Play) close(ctx context.Context, a *actor) {
	for {
		view, open := p.workspace.TopView(a.id)
		if !open || p.workspace.CloseView(ctx, a.id, view.ID) != nil {
			return
		}
	}
}
