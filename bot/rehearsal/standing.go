package rehearsal

import (
	"context"
	"fmt"
	"time"

	"soundings/flows/state"
)

// A standing is where the kickoff stands.
type standing struct {
	moment  string        // a name for it; empty before there is a kickoff
	closes  time.Time     // when it moves on by itself; zero when nothing is open
	kickoff state.Kickoff // empty where it cannot be known
}

// takes reports whether somebody takes part, as far as that is known. Others see the
// messages in the channel, but nothing is asked of them.
func (s standing) takes(a *actor) bool {
	return s.kickoff.ID == "" || s.kickoff.Takes(state.UserID(a.id))
}

func (r *Room) standing(ctx context.Context) (standing, error) {
	if r.guest {
		return r.guestStanding(), nil
	}
	k, ok, err := r.newest(ctx)
	if err != nil || !ok {
		return standing{}, err
	}
	w, u := k.Window, k.Underway
	open := len(u.Checkins) > 0 && u.Checkins[len(u.Checkins)-1].Closed.IsZero()
	s := standing{kickoff: k, moment: fmt.Sprint(k.ID, k.Stage, w.Round, w.Phase, w.Extended, len(u.Checkins), open, u.Decision.Phase, len(u.Decision.Earlier))}
	switch {
	case k.Stage == state.StageUnderway && open:
		s.closes = u.Checkins[len(u.Checkins)-1].Closes
	case k.Stage == state.StageUnderway && u.Decision.Phase == state.PhaseOpen:
		s.closes = u.Decision.Closes
	case k.Stage == state.StageUnderway && u.Decision.Phase == state.PhaseSettling:
		s.closes = u.Decision.Until
	case w.Phase == state.PhaseOpen:
		s.closes = w.Closes
	case w.Phase == state.PhaseSettling:
		s.closes = w.Until
	}
	return s, nil
}

// newest is the newest kickoff in this team.
func (p *Play) newest(ctx context.Context) (state.Kickoff, bool, error) {
	keys, err := p.journal.Index.All(ctx, p.team.TeamID())
	if err != nil || len(keys) == 0 {
		return state.Kickoff{}, false, err
	}
	var newest state.Kickoff
	for _, key := range keys {
		k, err := p.bot.Kickoffs.Load(ctx, key)
		if err != nil {
			return state.Kickoff{}, false, err
		}
		if !newest.Started.After(k.Started) {
			newest = k
		}
	}
	return newest, true, nil
}

// guestStanding is what can be seen of the kickoff from outside: whether there
// is one. Its times are not known here, so nothing is held back for them.
func (p *Play) guestStanding() standing {
	for _, m := range p.team.Messages(p.channel) {
		if m.User == p.team.BotUser() {
			return standing{moment: "begun"}
		}
	}
	return standing{}
}
