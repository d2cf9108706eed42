package jobs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"time"

	"github.com/hibiken/asynq"
	"github.com/redis/go-redis/v9"
)

// Options change how an Asynq behaves. The zero value is good.
type Options struct {
	Policy

	// Queue names the queue in Redis; processes with the same one share the
	// work. Default: soundings.
	Queue string

	// Concurrency is how many jobs this process runs at once. Default: 8.
	Concurrency int

	// Logger hears of failures, by kind and id. Default: discards.
	Logger *slog.Logger

	// GivenUp hears of a job that will not be tried again, by kind. Default: nobody.
	GivenUp func(kind string)

	// How often, about, an idle process looks for work, jobs that wait for
	// their time are checked (due times are whole seconds in any case), and ids
	// past their retention are removed. Defaults: 250 ms, 1 s, 1 min.
	PollInterval, DueInterval, CleanupInterval time.Duration

	// ShutdownTimeout is how long a run may go on after Run was asked to stop;
	// then its context ends and the job goes back into the queue. Default: 8 s.
	ShutdownTimeout time.Duration
}

// An Asynq is a queue in Redis, by asynq. It is safe for use by many
// goroutines.
type Asynq struct {
	opts   Options
	rdb    redis.UniversalClient
	client *asynq.Client
}

// NewAsynq makes a queue on a client of Redis, which stays the caller's to
// close, after Run has returned.
func NewAsynq(rdb redis.UniversalClient, o Options) *Asynq {
	o.Policy = o.Policy.withDefaults()
	o.Queue = cmp.Or(o.Queue, "soundings")
	o.Concurrency = cmp.Or(o.Concurrency, 8)
	o.Logger = cmp.Or(o.Logger, slog.New(slog.DiscardHandler))
	if o.GivenUp == nil {
		o.GivenUp = func(string) {}
	}
	o.PollInterval = cmp.Or(o.PollInterval, 250*time.Millisecond)
	o.DueInterval = cmp.Or(o.DueInterval, time.Second)
	o.CleanupInterval = cmp.Or(o.CleanupInterval, time.Minute)
	o.ShutdownTimeout = cmp.Or(o.ShutdownTimeout, 8*time.Second)
	return &Asynq{opts: o, rdb: rdb, client: asynq.NewClientFromRedisClient(rdb)}
}

// What travels with a job, in ns since 1970: asynq itself keeps whole seconds,
// and forgets them once the job runs.
const (
	atHeader    = "at"    // Job.At
	sinceHeader = "since" // from when on MaxDefer is counted
)

// Enqueue is for Queue.
func (a *Asynq) Enqueue(ctx context.Context, j Job) error {
	if err := j.validate(); err != nil {
		return fmt.Errorf("enqueue: %w", err)
	}
	now := time.Now()
	if j.At.IsZero() {
		j.At = now
	}
	task := asynq.NewTaskWithHeaders(j.Kind, j.Payload, map[string]string{
		atHeader:    nanoseconds(j.At),
		sinceHeader: nanoseconds(later(j.At, now)),
	})
	options := []asynq.Option{
		asynq.TaskID(j.ID),
		asynq.Queue(a.opts.Queue),
		asynq.MaxRetry(a.opts.Tries + 1), // not reached: outcomeOf counts
		asynq.Timeout(abandonAfter(a.opts.Timeout)),
		asynq.Retention(wholeSeconds(a.opts.Retention) + time.Second), // it cuts off the start, too
	}
	if j.At.After(now) {
		options = append(options, asynq.ProcessAt(wholeSecond(j.At)))
	}
	_, err := a.client.EnqueueContext(ctx, task, options...)
	if err != nil && !errors.Is(err, asynq.ErrTaskIDConflict) && !errors.Is(err, asynq.ErrDuplicateTask) {
		return fmt.Errorf("enqueue job %s: %w", j.ID, err)
	}
	return nil
}

// Forget is for Queue. It finds the jobs that wait, that were given up, and that
// are done but whose ids are still known.
func (a *Asynq) Forget(ctx context.Context, mine func(id string) bool) error {
	inspector := asynq.NewInspectorFromRedisClient(a.rdb)
	for _, list := range []func(string, ...asynq.ListOption) ([]*asynq.TaskInfo, error){
		inspector.ListPendingTasks, inspector.ListScheduledTasks, inspector.ListRetryTasks, inspector.ListArchivedTasks, inspector.ListCompletedTasks,
	} {
		if err := a.forgetOf(ctx, inspector, list, mine); err != nil {
			return fmt.Errorf("forget jobs of the queue %s: %w", a.opts.Queue, err)
		}
	}
	return nil
}

// forgetPage is how many jobs are listed at once.
const forgetPage = 500

// forgetOf reads a whole list before it removes anything, since removing shifts
// the pages that follow.
func (a *Asynq) forgetOf(ctx context.Context, inspector *asynq.Inspector, list func(string, ...asynq.ListOption) ([]*asynq.TaskInfo, error), mine func(string) bool) error {
	var ids []string
	for page := 1; ; page++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		tasks, err := list(a.opts.Queue, asynq.PageSize(forgetPage), asynq.Page(page))
		if errors.Is(err, asynq.ErrQueueNotFound) {
			return nil // nothing was ever queued
		}
		if err != nil {
			return err
		}
		for _, task := range tasks {
			if mine(task.ID) {
				ids = append(ids, task.ID)
			}
		}
		if len(tasks) < forgetPage {
			break
		}
	}
	for _, id := range ids {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := inspector.DeleteTask(a.opts.Queue, id); err != nil && !errors.Is(err, asynq.ErrTaskNotFound) && !a.running(inspector, id) {
			return err
		}
	}
	return nil
}

// running reports whether a job began since it was listed.
func (a *Asynq) running(inspector *asynq.Inspector, id string) bool {
	info, err := inspector.GetTaskInfo(a.opts.Queue, id)
	return err == nil && info.State == asynq.TaskStateActive || errors.Is(err, asynq.ErrTaskNotFound)
}

// wholeSecond is the first whole second at or after t: asynq cuts off
// fractions, and would run the job early.
func wholeSecond(t time.Time) time.Time {
	whole := t.Truncate(time.Second)
	if whole.Before(t) {
		return whole.Add(time.Second)
	}
	return whole
}

// wholeSeconds rounds up, since asynq cuts off fractions and takes zero for
// something else.
func wholeSeconds(d time.Duration) time.Duration {
	return (d + time.Second - 1).Truncate(time.Second)
}

// abandonAfter is when asynq gives up waiting for a run whose context ended
// at its time limit. Until then a handler that obeys its context returns by
// itself; one that is abandoned may still be at work when the job runs again.
func abandonAfter(timeout time.Duration) time.Duration {
	return wholeSeconds(timeout) + 5*time.Second
}

// jobOf reads a job as it was enqueued, and from when on MaxDefer is counted.
func jobOf(id string, task *asynq.Task) (j Job, since time.Time) {
	headers := task.Headers()
	j = Job{ID: id, Kind: task.Type(), Payload: task.Payload(), At: instant(headers[atHeader])}
	return j, instant(headers[sinceHeader])
}

func nanoseconds(t time.Time) string { return strconv.FormatInt(t.UnixNano(), 10) }

// instant reads what nanoseconds wrote. Anything else, which only another
// program can have put there, stands for now.
func instant(text string) time.Time {
	ns, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Now()
	}
	return time.Unix(0, ns)
}
