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
	"golang.org/x/time/rate"
)

// Run does jobs until ctx ends. Then it takes no further ones, lets those
// that are running go on for Options.ShutdownTimeout, ends their contexts, and
// returns nil when the last handler has returned. It returns an error when it
// could not start.
func (a *Asynq) Run(ctx context.Context, h Handler) error {
	// Runs outlive ctx by ShutdownTimeout.
	base, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	r := &runner{opts: a.opts, handler: h, base: base}
	server := asynq.NewServerFromRedisClient(a.rdb, a.config(r))
	if err := server.Start(r); err != nil {
		return fmt.Errorf("start the queue %s: %w", a.opts.Queue, err)
	}
	var watch sync.WaitGroup
	watch.Go(func() { a.watchOrphans(ctx) })
	<-ctx.Done()
	watch.Wait()
	server.Shutdown()
	stop()
	r.runs.Lock() // asynq does not wait for a run that it has abandoned
	return nil
}

func (a *Asynq) config(r *runner) asynq.Config {
	return asynq.Config{
		Concurrency:              a.opts.Concurrency,
		BaseContext:              func() context.Context { return r.base },
		TaskCheckInterval:        a.opts.PollInterval,
		RetryDelayFunc:           r.delay,
		IsFailure:                isFailure,
		Queues:                   map[string]int{a.opts.Queue: 1},
		Logger:                   logger{a.opts.Logger, &rate.Sometimes{First: 1, Interval: time.Minute}},
		LogLevel:                 asynq.InfoLevel,
		ShutdownTimeout:          a.opts.ShutdownTimeout,
		DelayedTaskCheckInterval: a.opts.DueInterval,
		JanitorInterval:          a.opts.CleanupInterval,
	}
}

// A runner does the jobs of one Run.
type runner struct {
	opts    Options
	handler Handler
	base    context.Context // of all runs
	runs    sync.RWMutex    // each run holds it for reading; locked for good once the queue stops
}

// errClosed ends a run that asynq started although the queue is stopping. Asynq
// has put the job back into the queue already.
var errClosed = errors.New("the queue is stopping")

// ProcessTask does one job. It is for asynq.
func (r *runner) ProcessTask(ctx context.Context, task *asynq.Task) error {
	if !r.runs.TryRLock() {
		return errClosed
	}
	defer r.runs.RUnlock()
	id, _ := asynq.GetTaskID(ctx)
	failures, _ := asynq.GetRetryCount(ctx)
	job, since := jobOf(id, task)
	err := r.run(ctx, job)
	if gone := ctx.Err(); gone != nil {
		if errors.Is(gone, context.DeadlineExceeded) { // else the queue is stopping, as expected
			r.opts.Logger.Error("job did not end with its context and was abandoned", "kind", job.Kind, "id", job.ID)
		}
		return gone // asynq has queued the job again already
	}
	result, pause := r.opts.outcomeOf(err, time.Since(since), failures)
	r.log(job, result, pause, failures, err)
	switch result {
	case succeeded:
		return nil
	case postponed, failed:
		return &rerunError{error: err, pause: pause, failure: result == failed}
	default:
		r.opts.GivenUp(job.Kind)
		return fmt.Errorf("%w: %w", err, asynq.SkipRetry) // asynq's archive keeps the id known
	}
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

// described names the type of a panic's value. It quotes the runtime's own
// errors, whose text holds only numbers and types.
func described(x any) string {
	if bug, ok := x.(runtime.Error); ok {
		return bug.Error()
	}
	return fmt.Sprintf("a %T", x)
}

// log reports the outcome of a run.
func (r *runner) log(j Job, result outcome, pause time.Duration, failures int, err error) {
	about := []any{"kind", j.Kind, "id", j.ID, "error", err}
	switch result {
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

// delay tells asynq how long a job has to wait. Asynq also calls it for runs
// that it ended itself at its own deadline, or that ended with a process.
func (r *runner) delay(failures int, err error, _ *asynq.Task) time.Duration {
	var pause time.Duration
	if asked := (*rerunError)(nil); errors.As(err, &asked) {
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
	var asked *rerunError
	return !errors.As(err, &asked) || asked.failure
}

// A rerunError tells asynq to run a job another time.
type rerunError struct {
	error
	pause   time.Duration
	failure bool
}

// logger passes on asynq's own log lines, which name ids and kinds and never a
// payload. Its Info lines are Debug here. While Redis is away, asynq complains
// several times a second: the first complaint is told, and then one a minute.
type logger struct {
	to    *slog.Logger
	often *rate.Sometimes
}

func (l logger) Debug(args ...any) { l.to.Debug("asynq", "says", fmt.Sprint(args...)) }
func (l logger) Info(args ...any)  { l.to.Debug("asynq", "says", fmt.Sprint(args...)) }

func (l logger) Warn(args ...any) {
	l.often.Do(func() { l.to.Warn("asynq", "says", fmt.Sprint(args...)) })
}

func (l logger) Error(args ...any) {
	l.often.Do(func() { l.to.Error("asynq", "says", fmt.Sprint(args...)) })
}

// Fatal only logs: a library must not end the program.
func (l logger) Fatal(args ...any) { l.Error(args...) }
