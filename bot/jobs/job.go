package jobs

import (
	"context"
	"errors"
	"fmt"
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

// A Handler does a job. Its context ends at the job's time limit.
type Handler func(ctx context.Context, j Job) error

// Retry wraps an error to say: try again, not before after has passed. It
// does not count as a failure, unless the job has been putting itself off for
// longer than Policy.MaxDefer.
func Retry(err error, after time.Duration) error {
	if err == nil {
		return nil
	}
	return &retryError{err: err, after: max(after, 0)}
}

// Drop wraps an error to say: trying again will not help.
func Drop(err error) error {
	if err == nil {
		return nil
	}
	return &dropError{err: err}
}

type retryError struct {
	err   error
	after time.Duration
}

func (e *retryError) Error() string { return e.err.Error() }
func (e *retryError) Unwrap() error { return e.err }

type dropError struct{ err error }

func (e *dropError) Error() string { return e.err.Error() }
func (e *dropError) Unwrap() error { return e.err }

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
		return postponed, again.after
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
