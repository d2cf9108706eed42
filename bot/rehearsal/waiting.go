package rehearsal

import (
	"context"
	"slices"

	"soundings/flows/state"
)

// An Awaited is somebody for whose answer the kickoff waits.
type Awaited struct {
	ID, Name string
	Silent   bool // by the script they never answer here
}

// Waiting lists for whom the stage that is open waits. With somebody else's
// bot nobody here can know.
func (r *Room) Waiting(ctx context.Context) ([]Awaited, error) {
	if r.guest {
		return nil, nil
	}
	k, ok, err := r.newest(ctx)
	if err != nil || !ok || k.Stage == state.StageUnderway || k.Stage == state.StageEnded {
		return nil, err
	}
	asked := k.Window.Asked
	if k.Window.Phase == state.PhaseSettling {
		asked = []state.UserID{k.Lead().ID}
	}
	var waiting []Awaited
	for _, u := range asked {
		if _, done := k.Window.Done[u]; !k.Takes(u) || done && k.Window.Phase == state.PhaseOpen {
			continue
		}
		w := Awaited{ID: string(u), Name: k.Name(u)}
		if i := slices.IndexFunc(r.actors, func(a *actor) bool { return a.id == w.ID }); i >= 0 {
			w.Silent = r.actors[i].SilentIn(string(k.Stage))
		}
		waiting = append(waiting, w)
	}
	return waiting, nil
}
