// Package jobs keeps timers and outgoing work: what is to be done, when, and
// again if need be.
//
// A [Job] has an id. A queue ignores a job whose id it knows: while a job with
// that id waits or runs, and for [Policy.Retention] after it succeeded.
// A [Handler] does the work. Its error says how to go on: a plain error is a
// failure and is tried again after a growing pause, [Retry] asks for another
// time without counting as a failure, [Drop] ends the job.
//
// There are two queues, and both pass the tests in suite_test.go:
//
//   - [Asynq] keeps its jobs in Redis. Any number of processes may share it,
//     and what one of them leaves undone the others take over.
//   - [Virtual] keeps them in memory under a clock that jumps from job to
//     job, so that a rehearsal of weeks takes seconds and is the same every
//     time.
//
// A job runs at its time or later, never earlier. It may run twice: when a
// process dies, when it misses its deadline, when Redis forgets. Handlers
// must be safe to repeat and must obey their context.
//
// Left to others: what a job does and what is in its payload (bot), and the
// memory of what was done that outlasts the queue's (bot/journal). Nothing
// here logs a payload.
package jobs

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// A Job is one thing to do.
type Job struct {
	ID      string    // what makes it the same job; needed
	Kind    string    // what to do; needed
	Payload []byte    // what to do it with
	At      time.Time // not before then; zero: now
}

// validate refuses a job that no queue could tell from others. It is a
// mistake in the program.
func (j Job) validate() error {
	if j.ID == "" || j.Kind == "" {
		return fmt.Errorf("job %q of kind %q needs an id and a kind", j.ID, j.Kind)
	}
	return nil
}

// ForKickoff makes a job about a kickoff. Its id is the same in every replay,
// as which is, and names the team first, so that the jobs of a team are found.
// payload is plain data.
func ForKickoff(kind, team, kickoff, which string, at time.Time, payload any) Job {
	data, err := json.Marshal(payload)
	if err != nil {
		panic(fmt.Sprintf("jobs: a payload does not encode: %v", err)) // plain data always does
	}
	return Job{ID: fmt.Sprintf("%s/%s/%s/%s", kind, team, kickoff, which), Kind: kind, Payload: data, At: at}
}

// OfTeam picks the jobs of a team that ForKickoff made, by their ids.
func OfTeam(team string) func(id string) bool {
	return func(id string) bool {
		_, rest, _ := strings.Cut(id, "/")
		of, _, _ := strings.Cut(rest, "/")
		return of == team
	}
}

// OfKickoff picks the jobs of one kickoff.
func OfKickoff(team, kickoff string) func(id string) bool {
	return func(id string) bool {
		_, rest, _ := strings.Cut(id, "/")
		return strings.HasPrefix(rest, team+"/"+kickoff+"/")
	}
}

// A Handler does a job. Its context ends at the job's time limit.
type Handler func(ctx context.Context, j Job) error

// A Queue takes jobs, and forgets them.
type Queue interface {
	// Enqueue takes a job. One whose id is known is a success and does nothing.
	Enqueue(ctx context.Context, j Job) error

	// Forget removes the jobs whose ids are mine, so that their ids may be used
	// again. One that runs at this moment is left alone.
	Forget(ctx context.Context, mine func(id string) bool) error
}

// Retry wraps an error to say: try again, not before after has passed. It
// does not count as a failure, unless the job has been putting itself off for
// longer than Policy.MaxDefer.
func Retry(err error, after time.Duration) error {
	if err == nil {
		return nil
	}
	return &retryError{error: err, after: max(after, 0)}
}

// NotYet wraps an error to say: what the job needs is not there yet. It stands for Retry
// after a tenth of the time that the job has waited, a second at least and a minute at most.
func NotYet(err error) error {
	if err == nil {
		return nil
	}
	return &retryError{error: err, after: time.Second, grows: true}
}

// Drop wraps an error to say: trying again will not help.
func Drop(err error) error {
	if err == nil {
		return nil
	}
	return &dropError{err}
}

type retryError struct {
	error
	after time.Duration
	grows bool // with the time that the job has waited
}

// pause is how long a job waits that has waited for so long already.
func (e *retryError) pause(waited time.Duration) time.Duration {
	if !e.grows {
		return e.after
	}
	return min(max(e.after, waited/10), time.Minute)
}

func (e *retryError) Unwrap() error { return e.error }

type dropError struct{ error }

func (e *dropError) Unwrap() error { return e.error }

// A Policy says how often and how long a job is tried. The zero value stands
// for the defaults.
type Policy struct {
	// Tries is how often a job may fail before it is given up. Default: 100,
	// with the default pauses about a day: an outage of the chat platform
	// should not lose a message.
	Tries int

	// Backoff is the pause after the n-th failure, n from 1. Default: 1 s,
	// then twice as long each time, up to 15 minutes.
	Backoff func(n int) time.Duration

	// Timeout is how long one run may take. Default: 1 minute.
	Timeout time.Duration

	// Retention is how long the id of a job is known after it succeeded.
	// Default: 24 h.
	Retention time.Duration

	// MaxDefer is how long after its time a job may go on asking for another
	// time with Retry. From then on asking counts as failing, so that a job
	// whose condition never comes true ends. Default: 6 h.
	MaxDefer time.Duration
}

func (p Policy) withDefaults() Policy {
	p.Tries = cmp.Or(p.Tries, 100)
	if p.Backoff == nil {
		p.Backoff = doubling
	}
	p.Timeout = cmp.Or(p.Timeout, time.Minute)
	p.Retention = cmp.Or(p.Retention, 24*time.Hour)
	p.MaxDefer = cmp.Or(p.MaxDefer, 6*time.Hour)
	return p
}

// doubling is 1 s, 2 s, 4 s and so on, up to 15 minutes.
func doubling(n int) time.Duration {
	const most = 15 * time.Minute
	if n > 10 {
		return most // 2^10 s is more than that
	}
	return min(time.Second<<(n-1), most)
}

// An outcome is what becomes of a job after a run.
type outcome int

const (
	succeeded outcome = iota
	postponed         // asked to run later; no failure
	failed            // to be tried again after a pause
	dropped           // said that trying again will not help
	exhausted         // failed as often as it may
)

// outcomeOf says what becomes of a job that returned err, waited for so long
// since it was due and failed so many times before; and how long to wait if it
// is to run again.
func (p Policy) outcomeOf(err error, waited time.Duration, failures int) (outcome, time.Duration) {
	var again *retryError
	var drop *dropError
	switch {
	case err == nil:
		return succeeded, 0
	case errors.As(err, &drop):
		return dropped, 0
	case errors.As(err, &again) && waited <= p.MaxDefer:
		return postponed, again.pause(waited)
	case failures+1 >= p.Tries:
		return exhausted, 0
	}
	return failed, p.Backoff(failures + 1)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
