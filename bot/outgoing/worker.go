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
	"soundings/flows"
)

// Config is what a Worker is made of. Fields are needed unless it says
// otherwise.
type Config struct {
	Queue    *Queue
	Kickoffs *kickoffs.Store
	Journal  *journal.Journal // for marks of what was done
	Clock    func() time.Time
	Logger   *slog.Logger
	Drafter  drafts.Drafter   // nil is off
	Metrics  *metrics.Metrics // nil counts nothing
}

// A Worker does jobs. It may be used by many goroutines.
type Worker struct{ Config }

// New makes a Worker.
func New(c Config) *Worker { return &Worker{c} }

// TeamOf is the team that a job is for.
func TeamOf(j jobs.Job) (string, error) {
	p, err := read(j)
	return p.Key.Team, err
}

func read(j jobs.Job) (p payload, err error) {
	if err := json.Unmarshal(j.Payload, &p); err != nil {
		return p, jobs.Drop(fmt.Errorf("read job %s: %w", j.Kind, err))
	}
	return p, nil
}

// Do does one job in its team. It is safe to repeat at any point: whatever was
// done is found done. Its error says whether trying again may help.
func (w *Worker) Do(ctx context.Context, c *chat.Client, j jobs.Job) error {
	p, err := read(j)
	if err != nil {
		return err
	}
	r := &run{Worker: w, payload: p, chat: c}
	switch j.Kind {
	case jobWake:
		return r.wake(ctx)
	case jobRefresh:
		return advice(r.refresh(ctx))
	case jobCanvas:
		return advice(r.canvasLater(ctx))
	case jobEffects:
		return advice(r.effects(ctx))
	case jobDraft:
		return r.draft(ctx)
	}
	return jobs.Drop(fmt.Errorf("do job %s: there is no such kind", j.Kind))
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

// errUndrawable is a fault of ours: no second try will draw it.
var errUndrawable = errors.New("this cannot be drawn")

// permanent reports that trying again cannot help.
func permanent(err error) bool {
	return errors.Is(err, chat.ErrForbidden) || errors.Is(err, errUndrawable)
}

// A run is one job at work.
type run struct {
	*Worker
	payload
	chat *chat.Client // of its team
}

func (r *run) load(ctx context.Context) (flows.Kickoff, error) { return r.Kickoffs.Load(ctx, r.Key) }

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
	next := k.NextWake()
	if next.IsZero() {
		return nil
	}
	if now := r.Clock(); !next.After(now) {
		next = now.Add(time.Minute) // the id of a wake at this moment is taken: by this one
	}
	return r.Queue.wake(ctx, r.Key, k.Version, next)
}
