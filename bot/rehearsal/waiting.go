package rehearsal

import (
	"context"
	"slices"
	"time"

	"soundings/flows"
	"soundings/flows/state"
)

// An Awaited is somebody for whose answer the kickoff waits.
type Awaited struct {
	ID, Name string
	Silent   bool // they are not going to answer this by themselves
}

// Waits is for whom the kickoff waits, and for what where it is nobody.
type Waits struct {
	For   []Awaited
	Ended bool
	Next  time.Time // when the next check-in opens, where nothing is open now; zero otherwise
}

// Waiting tells for whom the kickoff waits. With somebody else's bot nobody here can
// know.
func (r *Room) Waiting(ctx context.Context) (w Waits, err error) {
	if r.guest {
		return w, nil
	}
	k, ok, err := r.newest(ctx)
	if err != nil || !ok {
		return w, err
	}
	if w.Ended = k.Stage == state.StageEnded; w.Ended {
		return w, nil
	}
	wait := state.WaitOf(&k)
	if wait.End == nil {
		w.Next = nextCheckin(&k, r.clock.Now())
		return w, nil
	}
	awaited := wait.Asked
	if wait.Owing != nil {
		awaited = wait.Owing(&k)
	}
	r.look()
	for _, u := range awaited {
		acts := slices.ContainsFunc(r.tasks, func(t task) bool { return t.who.id == string(u) && t.isLeft() && t.at.Before(*wait.End) })
		w.For = append(w.For, Awaited{ID: string(u), Name: k.Name(u), Silent: !acts})
	}
	return w, nil
}

// nextCheckin is when the next check-in opens; zero where none is to come.
func nextCheckin(k *state.Kickoff, now time.Time) time.Time {
	for _, at := range flows.CheckinTimes(k) {
		if at.After(now) {
			return at
		}
	}
	return time.Time{}
}
