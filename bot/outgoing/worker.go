// Package outgoing does what should follow from the entries of kickoffs: it
// queues their effects as jobs ([Queue]), and does the jobs ([Worker]), which
// draws messages, sends or changes them through the Web API, shares files, and
// keeps the canvas, the bookmark and the pin.
//
// A job may be interrupted and repeated at any point, also by two processes at
// once: what was done is marked in the journal and found done. What an effect
// finds out, such as where a message stands, goes back as an intent to package
// kickoffs. Whether the queue tries a failed job again is said by its error;
// see package jobs. With which token a team is served is for package teams. Start
// with [Queue.Follow] and [Worker.Work].
package outgoing

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"soundings/bot/chat"
	"soundings/bot/drafts"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/metrics"
	"soundings/bot/profiles"
	"soundings/bot/teams"
	"soundings/flows"
	"soundings/flows/state"
)

// A Worker does jobs; NewWorker makes one. It may be used by many goroutines.
// Fields are needed unless it says otherwise.
type Worker struct {
	Queue    *Queue
	Teams    *teams.Teams
	Kickoffs *kickoffs.Store
	Journal  *journal.Journal // for marks of what was done
	Profiles *profiles.Profiles
	Clock    func() time.Time
	Logger   *slog.Logger
	Drafter  drafts.Drafter   // nil is off
	Metrics  *metrics.Metrics // nil counts nothing

	drafting chan struct{} // holds one for each model that is being asked
}

// NewWorker is w, ready to work.
func NewWorker(w Worker) *Worker {
	w.drafting = make(chan struct{}, draftsAtOnce)
	return &w
}

// A run is one job at work.
type run struct {
	*Worker
	payload
	chat *chat.Client // of its team
}

// Work does one job. It is safe to repeat at any point: whatever was done is
// found done. Its error says whether trying again may help.
func (w *Worker) Work(ctx context.Context, j jobs.Job) error {
	err := w.work(ctx, j)
	w.Metrics.Job(j.Kind, metrics.Outcome(err))
	return err
}

// uninstalledPause is how long a job waits for a team to install the app again.
// Policy of the queue says how often; what is given up meanwhile is found again
// when the team is back.
const uninstalledPause = time.Hour

func (w *Worker) work(ctx context.Context, j jobs.Job) error {
	r := &run{Worker: w}
	if err := json.Unmarshal(j.Payload, &r.payload); err != nil {
		return jobs.Drop(fmt.Errorf("read job %s: %w", j.Kind, err))
	}
	team, err := w.Teams.ForJob(ctx, r.Key.Team)
	if err == nil {
		r.chat = team.Chat
		err = advice(r.do(ctx, j.Kind))
	}
	if errors.Is(err, chat.ErrRevoked) {
		if failed := w.Teams.Revoked(ctx, team); failed != nil {
			return failed
		}
		err = teams.ErrUninstalled
	}
	if errors.Is(err, teams.ErrUninstalled) {
		return jobs.Retry(teams.ErrUninstalled, uninstalledPause)
	}
	return err
}

func (r *run) do(ctx context.Context, kind string) error {
	stands, err := r.Kickoffs.Stands(ctx, r.Key, journal.Position{Version: r.Version, Digest: r.Digest})
	if err != nil {
		return err
	}
	if !stands {
		return jobs.Drop(fmt.Errorf("do job %s: %w", kind, errLost))
	}
	switch kind {
	case jobWake:
		return r.wake(ctx)
	case jobRefresh:
		return r.refresh(ctx)
	case jobCanvas:
		return r.canvasLater(ctx)
	case jobEffects:
		return r.effects(ctx)
	case jobPeople:
		return r.lookUpPeople(ctx)
	case jobDraft:
		return r.draft(ctx)
	}
	return jobs.Drop(fmt.Errorf("do job %s: there is no such kind", kind))
}

// advice turns an error of the platform into advice for the queue.
func advice(err error) error {
	var limited *chat.RateLimited
	switch {
	case err == nil:
		return nil
	case errors.As(err, &limited):
		return jobs.Retry(err, limited.Wait)
	case permanent(err):
		return jobs.Drop(err)
	}
	return err
}

// errLost ends what an entry asked for that the server has lost since.
var errLost = errors.New("the entry that asked for it was lost")

// errUndrawable is a fault of ours: no second try will draw it.
var errUndrawable = errors.New("this cannot be drawn")

// permanent reports that trying again cannot help.
func permanent(err error) bool {
	return errors.Is(err, chat.ErrForbidden) || errors.Is(err, errUndrawable)
}

func (r *run) load(ctx context.Context) (state.Kickoff, error) { return r.Kickoffs.Load(ctx, r.Key) }

// report tells the kickoff what came of an effect.
func (r *run) report(ctx context.Context, in flows.Intent) error {
	return r.Kickoffs.Do(ctx, r.Key, in, kickoffs.Origin{})
}

var errEarly = errors.New("woken early")

// wake lets flows look at the clock, and sees that it will look again.
func (r *run) wake(ctx context.Context) error {
	if early := r.At.Sub(r.Clock()); early > 0 {
		return jobs.Retry(errEarly, early)
	}
	if err := r.report(ctx, flows.Tick{}); err != nil {
		return err
	}
	k, err := r.load(ctx)
	if err != nil {
		return err
	}
	next := flows.NextWake(&k)
	if next.IsZero() {
		return nil
	}
	if now := r.Clock(); !next.After(now) {
		next = now.Add(time.Minute) // the id of a wake at this moment is taken: by this one
	}
	return r.Queue.wake(ctx, r.Key, k.Version, next)
}
