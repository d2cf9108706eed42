package jobs

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime"
	"runtime/debug"
	"sync"
	"time"

	"github.com/hibiken/asynq"
)

// Run does jobs until ctx ends. Then it takes no further ones, lets those
// that are running go on for Options.Grace, ends their contexts, and returns
// nil when the last handler has returned. It returns an error when it could
// not start.
func (a *Asynq) Run(ctx context.Context, h Handler) error {
	// Runs outlive ctx by the grace they are given.
	base, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	r := &runner{opts: a.opts, handler: h, base: base}
	server := asynq.NewServerFromRedisClient(a.rdb, a.config(r))
	if err := server.Start(r); err != nil {
		return fmt.Errorf("start the queue %s: %w", a.opts.Queue, err)
	}
	<-ctx.Done()
	server.Shutdown()
	stop()
	r.close() // asynq does not wait for a run that it has abandoned
	return nil
}

func (a *Asynq) config(r *runner) asynq.Config {
	return asynq.Config{
		Concurrency:              a.opts.Concurrency,
		BaseContext:              func() context.Context { return r.base },
		TaskCheckInterval:        a.opts.Poll,
		RetryDelayFunc:           r.delay,
		IsFailure:                isFailure,
		Queues:                   map[string]int{a.opts.Queue: 1},
		Logger:                   logger{a.opts.Logger},
		LogLevel:                 asynq.InfoLevel,
		ShutdownTimeout:          a.opts.Grace,
		DelayedTaskCheckInterval: a.opts.Look,
		JanitorInterval:          a.opts.Sweep,
	}
}

// A runner does the jobs of one Run.
type runner struct {
	opts    Options
	handler Handler
	base    context.Context // of all runs

	mu     sync.Mutex
	closed bool
	runs   sync.WaitGroup
}

// errClosed ends a run that asynq started although it is stopping; it has put
// the job back into the queue already.
var errClosed = errors.New("the queue is stopping")

// ProcessTask does one job. It is for asynq.
func (r *runner) ProcessTask(ctx context.Context, task *asynq.Task) error {
	if !r.enter() {
		return errClosed
	}
	defer r.runs.Done()
	id, _ := asynq.GetTaskID(ctx)
	failures, _ := asynq.GetRetryCount(ctx)
	job, since := jobOf(id, task)
	err := r.run(ctx, job)
	if gone := ctx.Err(); gone != nil {
		r.abandoned(job, gone)
		return gone
	}
	fate, pause := r.opts.judge(err, time.Since(since), failures)
	r.log(job, fate, pause, failures, err)
	switch fate {
	case succeeded:
		return nil
	case postponed, failed:
		return &rerun{err: err, pause: pause, failure: fate == failed}
	default:
		return &ended{err}
	}
}

// enter counts a run in, unless none may begin any more.
func (r *runner) enter() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if !r.closed {
		r.runs.Add(1)
	}
	return !r.closed
}

// close waits for the runs and lets no other begin.
func (r *runner) close() {
	r.mu.Lock()
	r.closed = true
	r.mu.Unlock()
	r.runs.Wait()
}

// run calls the handler within the time limit. A panic becomes an error that
// does not quote its value: that may be anything, what people wrote included.
func (r *runner) run(ctx context.Context, j Job) (err error) {
	ctx, cancel := context.WithTimeout(ctx, r.opts.Timeout)
	defer cancel()
	defer func() {
		if x := recover(); x != nil {
			err = fmt.Errorf("the handler panicked with %s", described(x))
			r.opts.Logger.Error("job panicked", "kind", j.Kind, "id", j.ID, "stack", string(debug.Stack()))
		}
	}()
	return r.handler(ctx, j)
}

// described names the type of a panic's value, and the text of the runtime's
// own ones, which is about numbers and types.
func described(x any) string {
	if bug, ok := x.(runtime.Error); ok {
		return bug.Error()
	}
	return fmt.Sprintf("a %T", x)
}

// abandoned reports a run that asynq no longer waited for: it has queued the
// job again already. When the queue is stopping that is as it should be.
func (r *runner) abandoned(j Job, err error) {
	if errors.Is(err, context.DeadlineExceeded) {
		r.opts.Logger.Error("job did not end with its context and was abandoned", "kind", j.Kind, "id", j.ID)
	}
}

// log reports what became of a job, once.
func (r *runner) log(j Job, fate verdict, pause time.Duration, failures int, err error) {
	about := []any{"kind", j.Kind, "id", j.ID, "error", err}
	switch fate {
	case postponed:
		r.opts.Logger.Debug("job asked for another time", append(about, "pause", pause)...)
	case failed:
		r.opts.Logger.Warn("job failed and will be tried again", append(about, "failures", failures+1, "pause", pause)...)
	case dropped:
		r.opts.Logger.Error("job was dropped", about...)
	case exhausted:
		r.opts.Logger.Error("job was given up", append(about, "failures", failures+1)...)
	}
}

// delay tells asynq how long a job has to wait. It is asked about runs that
// ended without our doing, too: at asynq's own deadline, or with a process.
func (r *runner) delay(failures int, err error, _ *asynq.Task) time.Duration {
	var pause time.Duration
	if asked := (*rerun)(nil); errors.As(err, &asked) {
		pause = asked.pause
	} else {
		pause = r.opts.Backoff(failures + 1)
	}
	if pause <= 0 {
		return 0
	}
	now := time.Now()
	return wholeSecond(now.Add(pause)).Sub(now)
}

// isFailure tells asynq whether to count a run as a failure.
func isFailure(err error) bool {
	var asked *rerun
	return !errors.As(err, &asked) || asked.failure
}

// A rerun tells asynq to run a job another time.
type rerun struct {
	err     error
	pause   time.Duration
	failure bool
}

func (e *rerun) Error() string { return e.err.Error() }
func (e *rerun) Unwrap() error { return e.err }

// An ended tells asynq not to run a job again. Its id stays known in asynq's
// archive.
type ended struct{ err error }

func (e *ended) Error() string   { return e.err.Error() }
func (e *ended) Unwrap() []error { return []error{e.err, asynq.SkipRetry} }

// logger hands asynq's own log lines on. They name ids and kinds, never a
// payload. What asynq finds worth telling is a detail to us.
type logger struct{ to *slog.Logger }

func (l logger) Debug(args ...any) { l.to.Debug("asynq", "says", fmt.Sprint(args...)) }
func (l logger) Info(args ...any)  { l.to.Debug("asynq", "says", fmt.Sprint(args...)) }
func (l logger) Warn(args ...any)  { l.to.Warn("asynq", "says", fmt.Sprint(args...)) }
func (l logger) Error(args ...any) { l.to.Error("asynq", "says", fmt.Sprint(args...)) }

// Fatal only logs: whether the program ends is not a library's to decide.
func (l logger) Fatal(args ...any) { l.to.Error("asynq", "says", fmt.Sprint(args...)) }
