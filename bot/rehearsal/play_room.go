package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/flows"
)

// A room is a play in which a person takes part: the clock stands still until
// somebody asks it to move on, and the scripted people act when they are
// asked to. Whoever uses one makes sure that its methods run one at a time.
type room struct{ *Play }

// What one act of a person takes, and how long the bot is then given to
// answer: it gathers changes of progress for a while before it shows them.
const (
	actTakes   = time.Second
	botAnswers = 45 * time.Second
)

// settle lets the bot do what follows at once from what has happened.
func (r *room) settle(ctx context.Context) error {
	limit := r.clock.Now().Add(botAnswers)
	for range mostSteps {
		if job, waiting := r.clock.Next(); !waiting || job.After(limit) {
			return nil
		}
		if _, err := r.clock.Step(ctx, r.bot.Work); err != nil {
			return err
		}
	}
	return errors.New("the bot did not come to rest")
}

// pass lets the time of one act go by.
func (r *room) pass() { r.clock.Advance(r.clock.Now().Add(actTakes)) }

// look lets everybody notice what is new. Unlike lookAround it also looks
// when the bot has done nothing, since people write here too.
func (r *room) look() {
	channel := scanned(r.workspace.Messages(r.channel))
	for _, a := range r.actors {
		r.Play.look(a, channel)
		r.Play.look(a, scanned(r.workspace.Messages(r.workspace.DM(a.id))))
	}
}

// takeOver keeps the script from doing once more what user has just done
// themselves, by pressing that button.
func (r *room) takeOver(user, actionID string) {
	scene, ok := r.scenes()[actionID]
	if !ok {
		return
	}
	r.look()
	r.tasks = slices.DeleteFunc(r.tasks, func(t task) bool { return t.who.id == user && t.what == scene.what })
}

// others lets everybody but me answer what is open, up to the next moment at
// which the kickoff moves on.
func (r *room) others(ctx context.Context, me string) (acted int, err error) {
	r.forget(me)
	return r.perform(ctx, mostSteps, func(a *actor) bool { return a.id != me })
}

// forMe does what the script has me do next.
func (r *room) forMe(ctx context.Context, me string) (acted int, err error) {
	return r.perform(ctx, 1, func(a *actor) bool { return a.id == me })
}

// perform runs what the people of who are going to do, at most so many
// things, with the bot at work in between. It ends when the kickoff moves on,
// and never goes past a deadline: that is for whoever asks to see.
func (r *room) perform(ctx context.Context, most int, who func(*actor) bool) (acted int, err error) {
	before, err := r.standing(ctx)
	if err != nil {
		return 0, err
	}
	r.begin(before.moment, who)
	for acted < most {
		next, planned, err := r.waitFor(ctx, who, before.closes)
		if err != nil || !planned {
			return acted, err
		}
		if job, waiting := r.clock.Next(); waiting && job.Before(r.tasks[next].at) {
			if _, err := r.clock.Step(ctx, r.bot.Work); err != nil {
				return acted, err
			}
		} else {
			r.do(ctx, next)
			acted++
		}
		now, err := r.standing(ctx)
		if err = errors.Join(err, ctx.Err()); err != nil {
			return acted, err
		}
		if now.moment != before.moment && before.moment != "" {
			break
		}
		before = now
	}
	return acted, r.settle(ctx)
}

// waitFor finds what somebody of who is going to do next, before a time if it
// is set. Where there is nothing yet, the bot may be about to ask.
func (r *room) waitFor(ctx context.Context, who func(*actor) bool, before time.Time) (int, bool, error) {
	r.look()
	if next, planned := r.nextOf(who, before); planned {
		return next, true, nil
	}
	if err := r.settle(ctx); err != nil {
		return 0, false, err
	}
	r.look()
	next, planned := r.nextOf(who, before)
	return next, planned, nil
}

// begin has the lead start the kickoff, if nobody has and the lead is among
// those who act.
func (r *room) begin(moment string, who func(*actor) bool) {
	const what = "start the kickoff"
	lead := r.actors[0]
	about := slices.ContainsFunc(r.tasks, func(t task) bool { return t.what == what })
	if about || moment != "" || !who(lead) {
		return
	}
	r.plan(lead, lead.at(r.clock.Now(), time.Minute, time.Time{}), what, func(ctx context.Context) error { return r.start(ctx, lead) })
}

// nextOf is the earliest thing that somebody of who is going to do, before a
// time if it is set.
func (r *room) nextOf(who func(*actor) bool, before time.Time) (int, bool) {
	best := -1
	for i, t := range r.tasks {
		late := !before.IsZero() && !t.at.Before(before)
		if who(t.who) && !late && (best < 0 || t.at.Before(r.tasks[best].at) || t.at.Equal(r.tasks[best].at) && t.order < r.tasks[best].order) {
			best = i
		}
	}
	return best, best >= 0
}

// mostTries is how often somebody tries the rest of what they were going to
// do after a part of it was refused.
const mostTries = 20

// do has somebody do what they planned. With a person among them the script
// no longer fits everywhere, so what cannot be done is left undone.
func (r *room) do(ctx context.Context, at int) {
	t := r.tasks[at]
	r.tasks = slices.Delete(r.tasks, at, at+1)
	r.clock.Advance(t.at)
	for range mostTries {
		if t.do(ctx) == nil {
			return
		}
		r.close(ctx, t.who)
	}
}

// forget takes ticks off the script at wordings that it has me write and I
// have not written: whoever would tick them would wait for me in vain.
func (r *room) forget(me string) {
	shown := flat(r.said())
	for key, vote := range r.scenario.Framing.Votes {
		vote.Ticks = slices.DeleteFunc(slices.Clone(vote.Ticks), func(n int) bool {
			if n < 1 {
				return false
			}
			w := r.scenario.Framing.Wordings[n-1]
			author := r.person(w.By)
			return author != nil && author.id == me && !strings.Contains(shown, flat(beginning(w.Text, 40)))
		})
		r.scenario.Framing.Votes[key] = vote
	}
}

// said is every text that stands in the channel.
func (r *room) said() string {
	var out strings.Builder
	for _, m := range r.workspace.Messages(r.channel) {
		out.WriteString(allText(m.Blocks))
	}
	return out.String()
}

// deadline moves the clock to the next moment at which the kickoff moves on
// by itself, and reports whether there was one.
func (r *room) deadline(ctx context.Context) (bool, error) {
	if r.guest {
		return false, errOwnTime
	}
	before, err := r.standing(ctx)
	if err != nil {
		return false, err
	}
	for range mostSteps {
		if job, waiting := r.clock.Next(); !waiting || job.Sub(r.clock.Now()) > longestPlay {
			return false, nil
		}
		if _, err := r.clock.Step(ctx, r.bot.Work); err != nil {
			return false, err
		}
		now, err := r.standing(ctx)
		if err != nil {
			return false, err
		}
		if now.moment != before.moment {
			return true, r.settle(ctx)
		}
	}
	return false, errors.New("no deadline came")
}

// A standing is where the kickoff stands.
type standing struct {
	moment string    // a name for it; empty before there is a kickoff
	closes time.Time // when it moves on by itself; zero when nothing is open
}

func (r *room) standing(ctx context.Context) (standing, error) {
	if r.guest {
		return r.guestStanding(), nil
	}
	k, ok, err := r.kickoff(ctx)
	if err != nil || !ok {
		return standing{}, err
	}
	w, u := k.Window, k.Underway
	open := len(u.Checkins) > 0 && u.Checkins[len(u.Checkins)-1].Closed.IsZero()
	s := standing{moment: fmt.Sprint(k.ID, k.Stage, w.Round, w.Phase, w.Extended, len(u.Checkins), open, u.Decision.Phase, len(u.Decision.Earlier))}
	switch {
	case k.Stage == flows.StageUnderway && open:
		s.closes = u.Checkins[len(u.Checkins)-1].Closes
	case k.Stage == flows.StageUnderway && u.Decision.Phase == flows.PhaseOpen:
		s.closes = u.Decision.Closes
	case k.Stage == flows.StageUnderway && u.Decision.Phase == flows.PhaseSettling:
		s.closes = u.Decision.Until
	case w.Phase == flows.PhaseOpen:
		s.closes = w.Closes
	case w.Phase == flows.PhaseSettling:
		s.closes = w.Until
	}
	return s, nil
}

// kickoff is the newest kickoff in this workspace.
func (r *room) kickoff(ctx context.Context) (flows.Kickoff, bool, error) {
	keys, err := r.journal.Index.All(ctx, r.workspace.TeamID())
	if err != nil || len(keys) == 0 {
		return flows.Kickoff{}, false, err
	}
	var newest flows.Kickoff
	for _, key := range keys {
		k, err := r.bot.Kickoff(ctx, key)
		if err != nil {
			return flows.Kickoff{}, false, err
		}
		if !newest.Started.After(k.Started) {
			newest = k
		}
	}
	return newest, true, nil
}
