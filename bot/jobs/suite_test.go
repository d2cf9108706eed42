package jobs

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A bench is a queue under test, whichever it is. Its handlers are made by
// the tests; every run is recorded.
type bench struct {
	Enqueue func(context.Context, Job) error
	Forget  func(context.Context, func(id string) bool) error
	now     func() time.Time

	// await returns the first n runs, or fails the test.
	await func(t *testing.T, n int) []run

	// turn lets a little time pass, and whatever is due run.
	turn func(t *testing.T)

	// given up says whether a job will not be tried again.
	givenUp func(t *testing.T, id string) bool
}

// A run is one call of the handler.
type run struct {
	job Job
	at  time.Time
	nth int // of the same id, from 1
}

// start makes a bench whose handler is h, told of each run.
type start func(t *testing.T, p Policy, h func(context.Context, run) error) bench

// suite holds a queue to what the package promises of every queue.
func suite(t *testing.T, begin start) {
	tests := []struct {
		name string
		test func(*testing.T, start)
	}{
		{"a job runs once, as it was given", runsOnce},
		{"a job without a name is refused", nameless},
		{"a known id is taken once", duplicates},
		{"of many that race with one id, one runs", racing},
		{"an id is free again after its retention", retention},
		{"a job runs at its time or after", notBefore},
		{"a job in the past runs now", inThePast},
		{"a handler may enqueue", chain},
		{"asking for another time is no failure", postponing},
		{"asking for another time for ever ends", impatience},
		{"a failure is tried again after a pause", failing},
		{"a job that keeps failing is given up", givingUp},
		{"a dropped job is not tried again", dropping},
		{"a wrapped error still says how to go on", wrapped},
		{"what is forgotten is known no more", forgetting},
		{"a run is stopped at its time limit", timeLimit},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tt.test(t, begin)
		})
	}
}

func always(err error) func(context.Context, run) error {
	return func(context.Context, run) error { return err }
}

// at once: no pause after a failure.
func atOnce(int) time.Duration { return 0 }

var errStorm = errors.New("the ferry is late")

func enqueue(t *testing.T, b bench, jobs ...Job) {
	t.Helper()
	for _, j := range jobs {
		require.NoError(t, b.Enqueue(t.Context(), j), "Enqueue(%s)", j.ID)
	}
}

// settled enqueues a last job and returns all runs up to its own. Jobs run
// one at a time in the order of arrival, so that what should have run before
// has.
func settled(t *testing.T, b bench, runs int, last string) []run {
	t.Helper()
	enqueue(t, b, Job{ID: last, Kind: "last"})
	got := b.await(t, runs+1)
	id := got[runs].job.ID
	assert.Equal(t, last, id, "job %s ran again or late: want %d runs before the last", id, runs)
	return got
}

func wantRuns(t *testing.T, got []run, want ...string) {
	t.Helper()
	var ids []string
	for _, r := range got {
		ids = append(ids, r.job.ID)
	}
	assert.Equal(t, want, ids, "ran")
}

func runsOnce(t *testing.T, begin start) {
	b := begin(t, Policy{}, always(nil))
	at := b.now().Add(-3 * time.Second).Round(0)
	jobs := []Job{
		{ID: "effects/T1/K1/3", Kind: "effects", Payload: []byte("\x00\xff{}"), At: at},
		{ID: "wake: }{ é", Kind: "wake", At: at.Add(time.Nanosecond)},
		{ID: "3", Kind: "refresh", Payload: []byte{}, At: at.Add(time.Second)},
	}
	enqueue(t, b, jobs...)
	got := settled(t, b, len(jobs), "last")
	for i, want := range jobs {
		g := got[i].job
		assert.Equal(t, want.ID, g.ID, "run %d was of %+v, want %+v", i, g, want)
		assert.Equal(t, want.Kind, g.Kind, "run %d was of %+v, want %+v", i, g, want)
		assert.Equal(t, string(want.Payload), string(g.Payload), "run %d was of %+v, want %+v", i, g, want)
		assert.True(t, g.At.Equal(want.At), "run %d was of %+v, want %+v", i, g, want)
	}
}

func nameless(t *testing.T, begin start) {
	b := begin(t, Policy{}, always(nil))
	for _, j := range []Job{{}, {ID: "a"}, {Kind: "wake"}} {
		assert.Error(t, b.Enqueue(t.Context(), j), "Enqueue(%+v) was no error", j)
	}
	wantRuns(t, settled(t, b, 0, "last"), "last")
}

func duplicates(t *testing.T, begin start) {
	b := begin(t, Policy{}, always(nil))
	enqueue(t, b, Job{ID: "later", Kind: "wake", At: b.now().Add(time.Hour)}, Job{ID: "later", Kind: "wake"})
	enqueue(t, b, Job{ID: "a", Kind: "first"}, Job{ID: "a", Kind: "second"})
	got := settled(t, b, 1, "last")
	assert.Equal(t, "first", got[0].job.Kind, "the %s job of the same id ran", got[0].job.Kind)
	enqueue(t, b, Job{ID: "a", Kind: "third"}) // done, but known
	wantRuns(t, settled(t, b, 2, "end"), "a", "last", "end")
}

func racing(t *testing.T, begin start) {
	b := begin(t, Policy{}, always(nil))
	var wg sync.WaitGroup
	for i := range 20 {
		wg.Go(func() {
			assert.NoError(t, b.Enqueue(t.Context(), Job{ID: fmt.Sprint(i % 2), Kind: "effects"}), "Enqueue")
		})
	}
	wg.Wait()
	got := settled(t, b, 2, "last")
	assert.NotEqual(t, got[1].job.ID, got[0].job.ID, "job %s ran twice", got[0].job.ID)
}

func retention(t *testing.T, begin start) {
	b := begin(t, Policy{Retention: time.Second}, always(nil))
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	done := settled(t, b, 1, "last")[0].at
	for i := range 1000 { // many turns: a busy machine is slow
		b.turn(t)
		enqueue(t, b, Job{ID: "a", Kind: "effects"}, Job{ID: fmt.Sprint(i), Kind: "effects"})
		for _, r := range b.await(t, i+3) {
			if r.job.ID != "a" || r.nth == 1 {
				continue
			}
			assert.GreaterOrEqual(t, r.at.Sub(done), time.Second, "the id was free again after")
			return
		}
	}
	assert.Fail(t, "the id never became free again")
}

func notBefore(t *testing.T, begin start) {
	b := begin(t, Policy{}, always(nil))
	at := b.now().Add(700 * time.Millisecond)
	enqueue(t, b, Job{ID: "later", Kind: "wake", At: at})
	got := b.await(t, 1)[0]
	assert.False(t, got.at.Before(at), "the job ran %v early", at.Sub(got.at))
	assert.True(t, got.job.At.Equal(at), "the job ran with the time %v, want %v", got.job.At, at)
}

func inThePast(t *testing.T, begin start) {
	b := begin(t, Policy{}, always(nil))
	enqueue(t, b, Job{ID: "late", Kind: "wake", At: b.now().Add(-time.Hour)})
	got := b.await(t, 1)
	wantRuns(t, got, "late")
	assert.True(t, got[0].at.Before(b.now().Add(time.Minute)), "the job ran at %v, long after now", got[0].at)
}

func chain(t *testing.T, begin start) {
	var b bench
	ready := make(chan struct{})
	b = begin(t, Policy{}, func(ctx context.Context, r run) error {
		<-ready
		if r.job.ID == "3" {
			return nil
		}
		next := Job{ID: fmt.Sprint(len(r.job.Payload) + 2), Kind: "wake", Payload: append(r.job.Payload, 'x')}
		return b.Enqueue(ctx, next)
	})
	close(ready)
	enqueue(t, b, Job{ID: "1", Kind: "wake"})
	wantRuns(t, b.await(t, 3), "1", "2", "3")
}

func postponing(t *testing.T, begin start) {
	const pause = 300 * time.Millisecond
	b := begin(t, Policy{Tries: 2, Backoff: atOnce}, func(_ context.Context, r run) error {
		switch r.nth {
		case 1:
			return Retry(errStorm, pause)
		case 2:
			return Retry(errStorm, 0)
		case 3:
			return errStorm // the first of two that are allowed
		}
		return nil
	})
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	got := b.await(t, 4)
	assert.GreaterOrEqual(t, got[1].at.Sub(got[0].at), pause, "the next run came after")
	if b.turn(t); b.givenUp(t, "a") {
		assert.Fail(t, "the job was given up although it failed once only")
	}
}

func impatience(t *testing.T, begin start) {
	b := begin(t, Policy{Tries: 2, Backoff: atOnce, MaxDefer: time.Millisecond}, always(Retry(errStorm, 2*time.Millisecond)))
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	for range 1000 {
		if b.turn(t); b.givenUp(t, "a") {
			return
		}
	}
	assert.Fail(t, "the job went on asking")
}

func failing(t *testing.T, begin start) {
	var mu sync.Mutex
	var asked []int
	pauses := []time.Duration{0, 300 * time.Millisecond, 0}
	policy := Policy{Tries: 4, Backoff: func(n int) time.Duration {
		mu.Lock()
		defer mu.Unlock()
		asked = append(asked, n)
		return pauses[n]
	}}
	b := begin(t, policy, func(_ context.Context, r run) error {
		if r.nth <= 2 {
			return errStorm
		}
		return nil
	})
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	got := b.await(t, 3)
	assert.GreaterOrEqual(t, got[1].at.Sub(got[0].at), pauses[1], "the second run came after")
	mu.Lock()
	defer mu.Unlock()
	asked = slices.Compact(asked)
	assert.Equal(t, []int{1, 2}, asked, "pauses were asked for after failures")
}

func givingUp(t *testing.T, begin start) {
	b := begin(t, Policy{Tries: 3, Backoff: atOnce}, func(_ context.Context, r run) error {
		if r.job.ID == "a" {
			return errStorm
		}
		return nil
	})
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	wantGivenUp(t, b, "a")
	enqueue(t, b, Job{ID: "a", Kind: "effects"}) // known
	wantRuns(t, settled(t, b, 3, "last"), "a", "a", "a", "last")
}

func wantGivenUp(t *testing.T, b bench, id string) {
	t.Helper()
	for range 1000 {
		if b.turn(t); b.givenUp(t, id) {
			return
		}
	}
	require.Failf(t, "too late or not at all", "job %s was not given up", id)
}

func dropping(t *testing.T, begin start) {
	b := begin(t, Policy{Backoff: atOnce}, func(_ context.Context, r run) error {
		if r.job.ID == "a" {
			return Drop(errStorm)
		}
		return nil
	})
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	wantGivenUp(t, b, "a")
	enqueue(t, b, Job{ID: "a", Kind: "effects"}) // known
	wantRuns(t, settled(t, b, 1, "last"), "a", "last")
}

// forgetting lets a job be given up, one be done and one wait; forgotten, all
// three can come again, and those of others cannot.
func forgetting(t *testing.T, begin start) {
	b := begin(t, Policy{Backoff: atOnce}, func(_ context.Context, r run) error {
		if r.job.ID == "quay/given up" && r.nth == 1 {
			return Drop(errStorm)
		}
		return nil
	})
	enqueue(t, b, Job{ID: "quay/given up", Kind: "effects"}, Job{ID: "quay/done", Kind: "effects"}, Job{ID: "pier/done", Kind: "effects"},
		Job{ID: "quay/waits", Kind: "wake", At: b.now().Add(time.Hour)})
	wantGivenUp(t, b, "quay/given up")
	settled(t, b, 3, "between")
	for range 2 { // the second time nothing is left to forget
		require.NoError(t, b.Forget(t.Context(), func(id string) bool { return strings.HasPrefix(id, "quay/") }))
	}
	for _, id := range []string{"pier/done", "quay/given up", "quay/done", "quay/waits"} {
		enqueue(t, b, Job{ID: id, Kind: "effects"})
	}
	wantRuns(t, settled(t, b, 7, "last"), "quay/given up", "quay/done", "pier/done", "between", "quay/given up", "quay/done", "quay/waits", "last")
}

func wrapped(t *testing.T, begin start) {
	b := begin(t, Policy{Tries: 1}, func(_ context.Context, r run) error {
		switch {
		case r.job.ID == "a" && r.nth == 1:
			return fmt.Errorf("post: %w", Retry(errStorm, 0))
		case r.job.ID == "b":
			return fmt.Errorf("post: %w", Drop(errStorm))
		}
		return nil
	})
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	wantRuns(t, b.await(t, 2), "a", "a")
	enqueue(t, b, Job{ID: "b", Kind: "effects"})
	wantGivenUp(t, b, "b")
}

func timeLimit(t *testing.T, begin start) {
	const limit = 30 * time.Millisecond
	ended := make(chan error, 1)
	b := begin(t, Policy{Timeout: limit, Backoff: atOnce}, func(ctx context.Context, r run) error {
		if r.nth > 1 {
			return nil
		}
		deadline, ok := ctx.Deadline()
		if !assert.False(t, !ok || time.Until(deadline) > limit, "the run may go on until %v, longer than %v", deadline, limit) {
			return nil
		}
		<-ctx.Done()
		ended <- ctx.Err()
		return ctx.Err()
	})
	enqueue(t, b, Job{ID: "a", Kind: "effects"})
	wantRuns(t, b.await(t, 2), "a", "a")
	assert.ErrorIs(t, <-ended, context.DeadlineExceeded, "the first run's context ended with")
}

// A recorder keeps the runs of a handler and counts those of each id.
type recorder struct {
	mu   sync.Mutex
	runs []run
	more chan struct{} // gets one value a run, as long as there is room
}

func newRecorder() *recorder { return &recorder{more: make(chan struct{}, 1)} }

func (c *recorder) record(j Job, at time.Time) run {
	c.mu.Lock()
	defer c.mu.Unlock()
	r := run{job: j, at: at, nth: 1}
	for _, other := range c.runs {
		if other.job.ID == j.ID {
			r.nth++
		}
	}
	c.runs = append(c.runs, r)
	select {
	case c.more <- struct{}{}:
	default:
	}
	return r
}

func (c *recorder) all() []run {
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.Clone(c.runs)
}
