package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
)

// plans decide what everybody is going to do: they watch the messages for all
// actors, and turn the buttons that the script has an answer for into tasks.
type plans struct {
	*cast
	tasks  []task      // of those at the same time the earlier planned comes first
	stale  atomic.Bool // something was posted or updated since the last look
	doneAt time.Time   // when the script came to its end; zero before
	seen   map[string]*glance
	steps  map[string]map[string]bool // of each step's message, by its place: the buttons that it has, as actors know them
	gone   map[string]bool            // buttons that a step has had
}

// A glance is what was last seen of a channel.
type glance struct {
	revision int
	blocks   map[string]*blockkit.Block // the first of each message, by its time: another one when it was changed
}

// A task is something that an actor is going to do.
type task struct {
	at     time.Time
	who    *actor
	what   string
	did    string // likewise
	matter string // see scene
	do     func(ctx context.Context) error
}

func (p *plans) add(t task) { p.tasks = append(p.tasks, t) }

// startsIt is what the lead does first.
const startsIt = "start the kickoff"

// addStart has the lead start the kickoff soon after from.
func (p *plans) addStart(from time.Time) {
	lead := p.actors[0]
	p.add(task{at: lead.at(from, time.Minute, time.Time{}), who: lead, what: startsIt, did: "started the kickoff", matter: "open/brief.start",
		do: func(ctx context.Context) error { return start(ctx, lead) }})
}

// next finds the earliest of the tasks that of names, before a time if it is set.
func (p *plans) next(of func(task) bool, before time.Time) (int, bool) {
	best := -1
	for i, t := range p.tasks {
		late := !before.IsZero() && !t.at.Before(before)
		if of(t) && !late && (best < 0 || t.at.Before(p.tasks[best].at)) {
			best = i
		}
	}
	return best, best >= 0
}

// take removes a task and moves the clock to it.
func (p *plans) take(i int) task {
	t := p.tasks[i]
	p.tasks = slices.Delete(p.tasks, i, i+1)
	p.clock.Advance(t.at)
	return t
}

// A post is a message as everybody sees it: read once, for all who look.
type post struct {
	place   string
	channel string
	ts      string
	slot    string
	buttons []button
}

// news are the posts of a channel that are new or changed since it was last
// looked at.
func (p *plans) news(channel string) []post {
	if p.seen == nil {
		p.seen = map[string]*glance{}
	}
	last := p.seen[channel]
	if last == nil {
		last = &glance{blocks: map[string]*blockkit.Block{}}
		p.seen[channel] = last
	}
	revision := p.team.Revision(channel)
	if revision == last.revision {
		return nil
	}
	last.revision = revision
	return posts(slices.DeleteFunc(p.team.Messages(channel), func(m fakeslack.Message) bool {
		var first *blockkit.Block
		if len(m.Blocks) > 0 {
			first = &m.Blocks[0]
		}
		was, known := last.blocks[m.TS]
		last.blocks[m.TS] = first
		return known && was == first
	}))
}

func posts(messages []fakeslack.Message) []post {
	out := make([]post, len(messages))
	for i, m := range messages {
		p := post{place: m.Channel + "/" + m.TS, channel: m.Channel, ts: m.TS, slot: slotOf(m)}
		if elements := blockkit.Elements(m.Blocks); len(elements) > 0 {
			closes := closingTime(m.Blocks)
			for _, e := range elements {
				p.buttons = append(p.buttons, button{Element: e, channel: m.Channel, ts: m.TS, slot: p.slot, closes: closes})
			}
		}
		out[i] = p
	}
	return out
}

// look lets everybody see what is new.
func (p *plans) look() {
	channel := p.news(p.channel)
	for _, m := range channel {
		p.meet(m)
		if p.joined.room && strings.HasPrefix(m.slot, "stage/") {
			p.forgets(m)
		}
	}
	for _, a := range p.actors {
		p.show(a, channel)
		if a.dm == "" {
			a.dm = p.team.DM(a.id)
		}
		if a.dm != "" {
			p.show(a, p.news(a.dm))
		}
	}
}

// forgets has everybody forget the buttons that a step had and has no more: where the lead
// goes back to it, they are asked anew.
func (p *plans) forgets(m post) {
	if p.steps == nil {
		p.steps, p.gone = map[string]map[string]bool{}, map[string]bool{}
	}
	had := p.steps[m.place]
	has := map[string]bool{}
	for _, b := range m.buttons {
		has[b.in(m)] = true
	}
	p.steps[m.place] = has
	for key := range had {
		if has[key] {
			continue
		}
		p.gone[key] = true
		for _, a := range p.actors {
			delete(a.seen, key)
		}
	}
}

// in names a button of a message, as actors know it.
func (b button) in(m post) string { return m.place + "/" + b.ActionID + "/" + b.Value }

// show lets an actor notice the messages and buttons that are new to them.
func (p *plans) show(a *actor, all []post) {
	for _, m := range all {
		for _, b := range m.buttons {
			key := b.in(m)
			if b.ActionID == "" || a.seen[key] {
				continue
			}
			a.seen[key] = true
			if p.gone[key] {
				delete(a.byHand, matterOf(b.ActionID))
			}
			p.notice(a, b)
		}
		if !a.seen[m.place] {
			a.seen[m.place] = true
			p.noticeMessage(a, m.slot)
		}
	}
}

// notice plans what a button calls for, if the script says so. Whoever acts
// on a reminder, or on the desk, has seen the message itself.
func (p *plans) notice(a *actor, b button) {
	s, ok := scenes[b.ActionID]
	again := strings.HasPrefix(b.slot, "reminder/") || strings.HasPrefix(b.slot, "desk/") && b.ActionID != "open/lead.more"
	again = again || b.ActionID == "open/lead.more" && !a.dealsOut()
	again = again || b.ActionID == "open/brief.whole" && !choosesSteps(a.cast.script)
	if !ok || !s.isFor(a) || again {
		return
	}
	at := p.clock.Now()
	if !s.atOnce {
		at = a.at(at, s.after+a.pause(), b.closes)
	}
	p.addScene(a, at, s, b)
}

// addScene plans a scene; it is planned again when the actor has to wait for
// others, as long as there is time.
func (p *plans) addScene(a *actor, at time.Time, s scene, b button) {
	p.add(task{at: at, who: a, what: s.what, did: s.did, matter: s.about(), do: func(ctx context.Context) error {
		defer a.close()
		err := s.do(ctx, a, b)
		if !errors.Is(err, errNotYet) {
			return err
		}
		if !a.timeLeft(b) {
			return fmt.Errorf("%s waits in vain: %w", a.Name, err)
		}
		p.addScene(a, a.nextTry(b), s, b)
		return nil
	}})
}

// ByHand has a person do something in the place of user, by pressing that button or by
// handing in the form that it opens. Where do says that it was taken, the script does
// not do it once more, or otherwise.
func (p *plans) ByHand(user, actionID string, do func() (taken bool, err error)) error {
	p.look() // what comes of it is not done yet
	taken, err := do()
	if !taken || err != nil {
		return err
	}
	matter := matterOf(actionID)
	for _, a := range p.actors {
		if a.id == user {
			a.byHand[matter] = true
		}
	}
	p.tasks = slices.DeleteFunc(p.tasks, func(t task) bool { return t.who.id == user && t.matter == matter })
	return nil
}

// noticeMessage moves the script along where no button calls for it: the
// early decision after the last check-in of a box, and the end.
func (p *plans) noticeMessage(a *actor, slot string) {
	if !a.lead {
		return
	}
	boxes := p.script.Boxes()
	checkins, began := 0, "summary" // the message with which a box begins
	for n, u := range boxes {
		checkins += len(u.Checkins)
		last := began // the message after which nothing is left but the decision
		if len(u.Checkins) > 0 {
			last = fmt.Sprintf("moved/%d", checkins)
		}
		if slot == last && u.Decision != nil {
			p.add(task{at: a.at(p.clock.Now(), time.Hour, time.Time{}), who: a, what: "open the decision", did: "opened the decision", matter: "do/lead.decide",
				do: func(ctx context.Context) error {
					defer a.close()
					return a.pressAsLead(ctx, "do/lead.decide")
				}})
			return
		}
		began = fmt.Sprintf("outcome/%d", n+1)
		if slot == last && n == len(boxes)-1 || slot == began && (u.Then == nil) {
			p.end()
		}
	}
	if len(boxes) == 0 && slot == began {
		p.end()
	}
}

// end notes when the script came to its end.
func (p *plans) end() {
	if p.doneAt.IsZero() {
		p.doneAt = p.clock.Now()
	}
}
