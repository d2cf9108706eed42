package jobs

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"sync"
	"time"
)

// A Virtual is a queue in memory with a clock of its own, which stands still
// until Step or Advance moves it. Jobs run one after the other, the earliest
// first and, at the same time, in the order in which they came, so that the
// same rehearsal always goes the same way.
//
// A handler's time limit is real time: a virtual hour cannot wait for a web
// server. A handler that panics ends the program, so that a rehearsal shows the
// mistake.
//
// A Virtual is safe for use by many goroutines; a handler may call all its
// methods.
type Virtual struct {
	policy Policy

	mu     sync.Mutex
	now    time.Time
	wait   []*waiter            // the next one to run first
	known  map[string]time.Time // id -> known until; zero: for good
	failed []Failure
}

// A Failure is a job that will not be tried again.
type Failure struct {
	Job   Job
	Tries int // how often it failed
	Err   error
}

// NewVirtual starts a clock at a time, with the default Policy.
func NewVirtual(start time.Time) *Virtual {
	return &Virtual{policy: Policy{}.withDefaults(), now: start, known: map[string]time.Time{}}
}

// Now returns the time on the virtual clock.
func (v *Virtual) Now() time.Time {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.now
}

// Enqueue is for Queue.
func (v *Virtual) Enqueue(_ context.Context, j Job) error {
	if err := j.validate(); err != nil {
		return fmt.Errorf("enqueue: %w", err)
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	if until, known := v.known[j.ID]; known && (until.IsZero() || until.After(v.now)) {
		return nil
	}
	if j.At.IsZero() {
		j.At = v.now
	}
	v.known[j.ID] = time.Time{}
	v.put(&waiter{job: j, due: j.At, since: later(j.At, v.now)})
	return nil
}

// put makes a job wait, behind those that are due at the same time. The caller
// holds v.mu.
func (v *Virtual) put(w *waiter) {
	at := sort.Search(len(v.wait), func(i int) bool { return v.wait[i].due.After(w.due) })
	v.wait = slices.Insert(v.wait, at, w)
}

// Forget is for Queue.
func (v *Virtual) Forget(_ context.Context, mine func(id string) bool) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.wait = slices.DeleteFunc(v.wait, func(w *waiter) bool { return mine(w.job.ID) })
	for id := range v.known {
		if mine(id) {
			delete(v.known, id)
		}
	}
	v.failed = slices.DeleteFunc(v.failed, func(f Failure) bool { return mine(f.Job.ID) })
	return nil
}

// Next returns when the earliest job is due, and false when none waits. The
// time may have passed already.
func (v *Virtual) Next() (time.Time, bool) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if len(v.wait) == 0 {
		return time.Time{}, false
	}
	return v.wait[0].due, true
}

// Advance moves the clock to a time, if that is later, without running
// anything. Jobs that became due meanwhile run late.
func (v *Virtual) Advance(to time.Time) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.advance(to)
}

func (v *Virtual) advance(to time.Time) {
	if to.After(v.now) {
		v.now = to
	}
}

// Step runs the earliest job, after moving the clock to its time if that is
// later. It returns false when no job waits. What the handler returns is
// dealt with here, by another try or in Failed; the error is that of a
// context which has ended, and then the job waits as before.
func (v *Virtual) Step(ctx context.Context, h Handler) (bool, error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	w, ok := v.take()
	if !ok {
		return false, nil
	}
	limited, cancel := context.WithTimeout(ctx, v.policy.Timeout)
	err := h(limited, w.job)
	cancel()
	if end := ctx.Err(); end != nil && err != nil {
		v.settle(w, postponed, 0, nil)
		return false, end
	}
	result, pause := v.policy.outcomeOf(err, v.Now().Sub(w.since), w.failures)
	v.settle(w, result, pause, err)
	return true, nil
}

// take removes the earliest job from those that wait.
func (v *Virtual) take() (*waiter, bool) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if len(v.wait) == 0 {
		return nil, false
	}
	w := v.wait[0]
	v.wait = slices.Delete(v.wait, 0, 1)
	v.advance(w.due)
	return w, true
}

// settle records the outcome of a run: the job is done, waits again, or failed.
func (v *Virtual) settle(w *waiter, result outcome, pause time.Duration, err error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	switch result {
	case succeeded:
		v.known[w.job.ID] = v.now.Add(v.policy.Retention)
	case dropped, exhausted:
		v.failed = append(v.failed, Failure{Job: w.job, Tries: w.failures + 1, Err: err})
	case failed, postponed:
		if result == failed {
			w.failures++
		}
		w.due = v.now.Add(pause)
		v.put(w)
	}
}

// Failed returns the jobs that will not be tried again, oldest first.
func (v *Virtual) Failed() []Failure {
	v.mu.Lock()
	defer v.mu.Unlock()
	return slices.Clone(v.failed)
}

// A waiter is a job that waits.
type waiter struct {
	job      Job
	due      time.Time
	since    time.Time // from when on MaxDefer is counted
	failures int
}
