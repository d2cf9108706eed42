package outgoing

import (
	"context"
	"errors"
	"maps"
	"time"

	"soundings/bot/jobs"
	"soundings/bot/profiles"
	"soundings/flows"
	"soundings/flows/state"
)

// A kickoff of many people begins before it is known who they are. They are
// looked up here, as the platform's rates allow.

const (
	// manySought is from how many people on the team's list is read instead of
	// one profile after another.
	manySought = 50

	// soughtAtOnce is how many profiles are asked for in soughtPause: half of what
	// the platform allows, since others look people up as well.
	soughtAtOnce = 50
	soughtPause  = time.Minute
)

var errSought = errors.New("some people are still to be looked up")

// lookUpPeople tells the kickoff who people are, as far as can be found out now.
func (r *run) lookUpPeople(ctx context.Context) error {
	k, err := r.load(ctx)
	if err != nil || k.Stage == state.StageEnded {
		return err
	}
	sought := flows.Sought(&k)
	found, err := r.findPeople(ctx, sought)
	known := flows.Introduce{}
	for _, u := range sought { // in their order, so that every run writes the same
		switch user, ok := found[u]; {
		case ok && user.Absent:
			known.Absent = append(known.Absent, u)
		case ok:
			known.People = append(known.People, user.Person)
		}
	}
	if len(found) > 0 {
		if failed := r.report(ctx, known); failed != nil {
			return failed
		}
	}
	if err == nil && len(found.Missing(sought)) > 0 {
		return jobs.Retry(errSought, soughtPause)
	}
	return err
}

// findPeople finds some of those who are sought. With an error come those who
// were found before it.
func (r *run) findPeople(ctx context.Context, sought []state.UserID) (profiles.Found, error) {
	found := r.Profiles.Kept(ctx, r.Key.Team, sought)
	listed, err := r.listPeople(ctx, found.Missing(sought))
	maps.Copy(found, listed)
	if err != nil {
		return found, err
	}
	missing := found.Missing(sought)
	asked, err := r.Profiles.Ask(ctx, r.Key.Team, r.chat, missing[:min(soughtAtOnce, len(missing))])
	maps.Copy(found, asked)
	return found, err
}

// listPeople reads the team's list, once for each kickoff: who is not on it is
// of another company, or the team is too large to be read.
func (r *run) listPeople(ctx context.Context, missing []state.UserID) (profiles.Found, error) {
	if len(missing) < manySought {
		return nil, nil
	}
	first, _, err := r.Journal.Marks.Begin(ctx, r.Key, "people/listed", r.Clock())
	if err != nil || !first {
		return nil, err
	}
	return r.Profiles.List(ctx, r.Key.Team, r.chat, missing)
}
