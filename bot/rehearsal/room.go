package rehearsal

import (
	"context"
	"errors"
	"slices"
	"soundings/flows/state"
	"sync"
	"time"
)

// A Room is a play in which a person takes part: the clock stands still until
// somebody asks it to move on, and the scripted people act when they are
// asked to. It is not run, as a play without a person is.
type Room struct {
	*Play
	acting sync.Mutex // held by whatever acts or moves the clock
}

// NewRoom prepares a play to take part in. Close it when done.
func NewRoom(c PlayConfig) (*Room, error) {
	c.live = true
	p, err := NewPlay(c)
	if err != nil {
		return nil, err
	}
	p.joined = joined{room: true, demo: c.Scenario, numbers: map[string]string{}}
	return &Room{Play: p}, nil
}

// Channel is the channel in which it happens.
func (r *Room) Channel() string { return r.channel }

// Command is what the bot's command is called.
func (r *Room) Command() string { return r.bot.Command }

// DemoTitle is what the kickoff of the script is called.
func (r *Room) DemoTitle() string { return r.joined.demo.Title }

// Guest reports whether the bot is somebody else's.
func (r *Room) Guest() bool { return r.guest }

// People are the ids of those who take part, the lead first.
func (r *Room) People() []string {
	var ids []string
	for _, a := range r.actors {
		ids = append(ids, a.id)
	}
	return ids
}

// Close waits until nobody acts, and stops the servers of the play.
func (r *Room) Close() {
	r.acting.Lock()
	defer r.acting.Unlock()
	r.Play.Close()
}

// What one act of a person takes, and how long the bot is then given to
// answer: it gathers changes of progress for a while before it shows them.
const (
	actTakes   = time.Second
	botAnswers = 45 * time.Second
)

// Act runs what a person does, and then what follows from it at once. It is
// one act at a time: ByHand, Others, ForMe and Deadline are for do to call.
func (r *Room) Act(ctx context.Context, do func(ctx context.Context) error) error {
	r.acting.Lock()
	defer r.acting.Unlock()
	r.wait(actTakes)
	err := do(ctx)
	return errors.Join(err, r.settle(ctx))
}

// Settle lets the bot do what follows at once from what has happened, in the course of
// an act.
func (r *Room) Settle(ctx context.Context) error { return r.settle(ctx) }

// settle lets the bot do what follows at once from what has happened.
func (r *Room) settle(ctx context.Context) error {
	limit := r.clock.Now().Add(botAnswers)
	for range mostSteps {
		if job, waiting := r.clock.Next(); !waiting || job.After(limit) {
			return nil
		}
		if err := r.work(ctx); err != nil {
			return err
		}
	}
	return errors.New("the bot did not come to rest")
}

// Others lets everybody but me answer what is open, up to the next moment at
// which the kickoff moves on.
func (r *Room) Others(ctx context.Context, me string) (Happened, error) {
	if err := r.forget(ctx, me); err != nil {
		return Happened{}, err
	}
	return r.perform(ctx, mostSteps, func(t task) bool { return t.who.id != me && t.isLeft() })
}

// Demo has whoever leads the script start its kickoff.
func (r *Room) Demo(ctx context.Context) (Happened, error) {
	return r.perform(ctx, 1, func(t task) bool { return t.who == r.actors[0] })
}

// ForMe does what the script has me do next.
func (r *Room) ForMe(ctx context.Context, me string) (Happened, error) {
	return r.perform(ctx, 1, func(t task) bool { return t.who.id == me })
}

// perform runs the tasks that which names, at most so many, with the bot at work in
// between. It ends when the kickoff moves on, and never goes past a deadline: that is
// for whoever asks to see.
func (r *Room) perform(ctx context.Context, most int, which func(task) bool) (h Happened, err error) {
	began, err := r.standing(ctx)
	if err != nil {
		return h, err
	}
	r.look()
	r.amongThose(&began.kickoff)
	r.begin(began.moment, which)
	now := began
	ours := func(t task) bool { return which(t) && now.takes(t.who) }
	for tried := 0; tried < most; {
		next, planned, err := r.waitFor(ctx, ours, now.closes)
		if err != nil || !planned {
			h.Moved = movedOn(began, now)
			return h, err
		}
		if job, waiting := r.clock.Next(); waiting && job.Before(r.tasks[next].at) {
			if err := r.work(ctx); err != nil {
				return h, err
			}
		} else if t := r.take(next); t.tryTo(ctx) {
			h.Deeds = append(h.Deeds, Deed{Who: t.who.id, Name: t.who.Name, Did: t.did})
			tried++
		}
		before := now.moment
		if now, err = r.standing(ctx); errors.Join(err, ctx.Err()) != nil {
			return h, errors.Join(err, ctx.Err())
		}
		if now.moment != before && before != "" {
			break
		}
	}
	err = r.settle(ctx)
	if now, failed := r.standing(ctx); failed == nil {
		h.Moved = movedOn(began, now)
	}
	return h, err
}

// waitFor finds the next of the tasks that which names, before a time if it is set.
// Where there is nothing yet, the bot may be about to ask.
func (r *Room) waitFor(ctx context.Context, which func(task) bool, before time.Time) (int, bool, error) {
	r.look()
	next, planned := r.next(which, before)
	if planned {
		return next, true, nil
	}
	if err := r.settle(ctx); err != nil {
		return 0, false, err
	}
	r.look()
	next, planned = r.next(which, before)
	return next, planned, nil
}

// begin has the lead start the kickoff, if nobody has and the lead is among
// those who act.
func (r *Room) begin(moment string, which func(task) bool) {
	about := slices.ContainsFunc(r.tasks, func(t task) bool { return t.what == startsIt })
	if !about && moment == "" && which(task{who: r.actors[0]}) {
		r.addStart(r.clock.Now())
	}
}

// mostTries is how often somebody tries the rest of what they were going to
// do after a part of it was refused.
const mostTries = 20

// tryTo has somebody do what they planned, and reports whether they did anything. With
// a person among them the script no longer fits everywhere, so what cannot be done is
// left undone.
func (t task) tryTo(ctx context.Context) (acted bool) {
	before := t.who.acts
	for range mostTries {
		if t.do(ctx) == nil {
			break
		}
		t.who.close()
	}
	return t.who.acts > before
}

// forget notes which wordings of the script nobody is going to write any more: whoever
// would tick them would wait in vain. A person writes other ones, or none.
func (r *Room) forget(ctx context.Context, me string) error {
	if r.guest {
		return nil // what was written there cannot be known here
	}
	k, _, err := r.newest(ctx)
	if err != nil || k.Stage != state.StageFraming {
		return err
	}
	r.look()
	r.joined.unwritten = map[int]bool{}
	for i, w := range r.script.Framing.Wordings {
		there := slices.ContainsFunc(k.Framing.Wordings, func(v state.Wording) bool { return v.Text == w.Text })
		comes := slices.ContainsFunc(r.tasks, func(t task) bool {
			return t.who.Key == w.By && t.who.id != me && t.matter == "open/framing.add" && t.isLeft()
		})
		r.joined.unwritten[i] = !there && !comes
	}
	return nil
}

// errOwnTime is what asking the clock of a guest to leap comes to.
var errOwnTime = errors.New("the clock is this machine's and does not leap. A step closes as soon as everybody has answered, or when the lead closes it")

// Deadline moves the clock to the next moment at which the kickoff moves on
// by itself. Where there is none, nothing has moved.
func (r *Room) Deadline(ctx context.Context) (h Happened, err error) {
	if r.guest {
		return h, errOwnTime
	}
	before, err := r.standing(ctx)
	if err != nil {
		return h, err
	}
	for range mostSteps {
		if job, waiting := r.clock.Next(); !waiting || job.Sub(r.clock.Now()) > longestPlay {
			return h, nil
		}
		if err := r.work(ctx); err != nil {
			return h, err
		}
		now, err := r.standing(ctx)
		if err != nil {
			return h, err
		}
		if now.moment != before.moment {
			return Happened{Moved: movedOn(before, now)}, r.settle(ctx)
		}
	}
	return h, errors.New("no deadline came")
}
