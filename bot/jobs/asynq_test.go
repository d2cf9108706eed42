package jobs

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/hibiken/asynq"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

func TestAsynq(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) { suite(t, asynqBench(rdb)) })
}

func TestAsynqOnCluster(t *testing.T) {
	t.Parallel()
	suite(t, asynqBench(storetest.Client(t, storetest.Cluster(t))))
}

// quick are options with which tests need not wait long.
func quick(t *testing.T) Options {
	return Options{
		Queue: t.Name(), Concurrency: 1,
		PollInterval: 5 * time.Millisecond, DueInterval: 10 * time.Millisecond, CleanupInterval: 50 * time.Millisecond,
	}
}

func asynqBench(rdb redis.UniversalClient) start {
	return func(t *testing.T, p Policy, h func(context.Context, run) error) bench {
		o := quick(t)
		o.Policy = p
		q := NewAsynq(rdb, o)
		c := newRecorder()
		running(t, q, func(ctx context.Context, j Job) error { return h(ctx, c.record(j, time.Now())) })
		return bench{
			Enqueue: q.Enqueue,
			Forget:  q.Forget,
			now:     time.Now,
			await: func(t *testing.T, n int) []run {
				t.Helper()
				deadline := time.After(20 * time.Second)
				for len(c.all()) < n {
					select {
					case <-c.more:
					case <-deadline:
						require.Failf(t, "too late or not at all", "%d runs within 20 s, want %d", len(c.all()), n)
					}
				}
				return c.all()
			},
			turn: func(t *testing.T) {
				t.Helper()
				<-time.After(20 * time.Millisecond) // Redis tells nobody that a time has come
			},
			givenUp: func(t *testing.T, id string) bool {
				t.Helper()
				return archived(t, rdb, o.Queue, id)
			},
		}
	}
}

// running runs a queue until the test ends, and sees that it stops.
func running(t *testing.T, q *Asynq, h Handler) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- q.Run(ctx, h) }()
	stop = sync.OnceFunc(func() {
		cancel()
		select {
		case err := <-ended:
			assert.NoError(t, err, "Run")
		case <-time.After(20 * time.Second):
			assert.Fail(t, "Run did not end with its context")
		}
	})
	t.Cleanup(stop)
	return stop
}

// archived says whether asynq put a task where none is tried again.
func archived(t *testing.T, rdb redis.UniversalClient, queue, id string) bool {
	t.Helper()
	info, err := asynq.NewInspectorFromRedisClient(rdb).GetTaskInfo(queue, id)
	require.NoError(t, err, "ask asynq about %s", id)
	return info.State == asynq.TaskStateArchived
}

// onBoth runs a test on every store with a queue of its own.
func onBoth(t *testing.T, change func(*Options), test func(*testing.T, *Asynq)) {
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		o := quick(t)
		if change != nil {
			change(&o)
		}
		test(t, NewAsynq(rdb, o))
	})
}

func receive[T any](t *testing.T, what string, from <-chan T) T {
	t.Helper()
	select {
	case x := <-from:
		return x
	case <-time.After(20 * time.Second):
		require.Failf(t, "too late or not at all", "%s: not within 20 s", what)
		panic("unreachable")
	}
}

// A run that has begun when the queue is stopped is finished first.
func TestRunWaitsForWhatRuns(t *testing.T) {
	t.Parallel()
	onBoth(t, nil, func(t *testing.T, q *Asynq) {
		began, finish := make(chan struct{}), make(chan struct{})
		var done atomic.Bool
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() {
			ended <- q.Run(ctx, func(ctx context.Context, _ Job) error {
				close(began)
				<-finish
				done.Store(ctx.Err() == nil) // stopping does not end a run at once
				return nil
			})
		}()
		enqueue(t, bench{Enqueue: q.Enqueue}, Job{ID: "a", Kind: "effects"})
		receive(t, "the run", began)
		cancel()
		select {
		case <-ended:
			assert.Fail(t, "Run ended before the handler had")
		case <-time.After(50 * time.Millisecond):
		}
		close(finish)
		assert.NoError(t, receive(t, "the end of Run", ended), "Run")
		assert.True(t, done.Load(), "the handler's context ended before its grace was over")
	})
}

// A run that outlasts its grace is told to stop, and the job runs again when
// the queue does.
func TestRunPutsBackWhatOutlastsItsGrace(t *testing.T) {
	t.Parallel()
	onBoth(t, func(o *Options) { o.ShutdownTimeout = 50 * time.Millisecond }, func(t *testing.T, q *Asynq) {
		began := make(chan struct{}, 1)
		var stopped atomic.Bool
		stop := running(t, q, func(ctx context.Context, _ Job) error {
			began <- struct{}{}
			<-ctx.Done()
			<-time.After(100 * time.Millisecond) // tidies up for longer than asynq waits
			stopped.Store(true)
			return ctx.Err()
		})
		enqueue(t, bench{Enqueue: q.Enqueue}, Job{ID: "a", Kind: "effects", Payload: []byte("whole")})
		receive(t, "the run", began)
		stop()
		assert.True(t, stopped.Load(), "Run ended before the handler had")
		again := make(chan Job, 1)
		running(t, q, func(_ context.Context, j Job) error {
			again <- j
			return nil
		})
		j := receive(t, "the second run", again)
		assert.Equal(t, "a", j.ID, "ran %+v, want the job that was put back", j)
		assert.Equal(t, "whole", string(j.Payload), "ran %+v, want the job that was put back", j)
	})
}

// Processes that share a queue share the work.
func TestTwoProcessesShareTheWork(t *testing.T) {
	t.Parallel()
	onBoth(t, nil, func(t *testing.T, q *Asynq) {
		const n = 40
		c := newRecorder()
		handle := func(_ context.Context, j Job) error {
			c.record(j, time.Now())
			return nil
		}
		running(t, q, handle)
		running(t, NewAsynq(q.rdb, q.opts), handle)
		for i := range n {
			enqueue(t, bench{Enqueue: q.Enqueue}, Job{ID: fmt.Sprint(i), Kind: "effects"})
		}
		deadline := time.After(20 * time.Second)
		for len(c.all()) < n {
			select {
			case <-c.more:
			case <-deadline:
				require.Failf(t, "too late or not at all", "%d of %d jobs ran within 20 s", len(c.all()), n)
			}
		}
		for _, r := range c.all() {
			assert.Equal(t, 1, r.nth, "job %s ran %d times", r.job.ID, r.nth)
		}
	})
}

// A panic is a failure like others, and neither it nor anything else writes
// what people wrote into the log.
func TestLogHoldsNoPayload(t *testing.T) {
	t.Parallel()
	const words = "nobody knows whether there is room for the bicycles"
	var log lockedBuffer
	logger := slog.New(slog.NewJSONHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	set := func(o *Options) {
		o.Logger = logger
		o.Policy = Policy{Tries: 4, Backoff: atOnce}
	}
	onBoth(t, set, func(t *testing.T, q *Asynq) {
		log.reset()
		ran := make(chan int, 10)
		n := 0
		running(t, q, func(_ context.Context, j Job) error {
			n++
			ran <- n
			switch n {
			case 1:
				panic(words + string(j.Payload))
			case 2:
				var none []byte
				_ = none[len(j.Payload)]
			case 3:
				return Retry(errStorm, 0)
			case 4:
				return errStorm
			}
			return Drop(errors.New("no such channel"))
		})
		enqueue(t, bench{Enqueue: q.Enqueue}, Job{ID: "a", Kind: "effects", Payload: []byte(words)})
		for want := 1; want <= 5; want++ {
			require.Equal(t, want, receive(t, "a run", ran), "run")
		}
		for !archived(t, q.rdb, q.opts.Queue, "a") {
			<-time.After(5 * time.Millisecond)
		}
		text := log.String()
		assert.NotContains(t, text, "bicycles", "the log holds the payload")
		for _, want := range []string{
			`"msg":"job panicked","kind":"effects","id":"a","stack":`,
			`"error":"the handler panicked with a string"`,
			`index out of range [51] with length 0`,
			`"msg":"job asked for another time"`,
			`"msg":"job failed and will be tried again","kind":"effects","id":"a","error":"the ferry is late","failures":3`,
			`"msg":"job was dropped","kind":"effects","id":"a","error":"no such channel"`,
		} {
			assert.Contains(t, text, want, "the log lacks")
		}
	})
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func (l *lockedBuffer) reset() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.b.Reset()
}

// asynq cuts off fractions of seconds; we round up, so that nothing is early.
func TestWholeSeconds(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ at, want string }{
		{"2027-03-01T09:00:00Z", "2027-03-01T09:00:00Z"},
		{"2027-03-01T09:00:00.000000001Z", "2027-03-01T09:00:01Z"},
		{"2027-03-01T09:00:59.5Z", "2027-03-01T09:01:00Z"},
		{"1969-12-31T23:59:58.5Z", "1969-12-31T23:59:59Z"},
	} {
		at, err := time.Parse(time.RFC3339Nano, tt.at)
		require.NoError(t, err)
		assert.Equal(t, tt.want, wholeSecond(at).Format(time.RFC3339Nano), "wholeSecond(%s)", tt.at)
	}
	for _, tt := range []struct{ d, want time.Duration }{
		{time.Millisecond, time.Second}, {time.Second, time.Second}, {1500 * time.Millisecond, 2 * time.Second},
	} {
		assert.Equal(t, tt.want, wholeSeconds(tt.d), "wholeSeconds(%v)", tt.d)
	}
}

// A job that is due does not wait for the next whole second.
func TestDueJobsAreNotScheduled(t *testing.T) {
	t.Parallel()
	onBoth(t, nil, func(t *testing.T, q *Asynq) {
		now := time.Now()
		for id, tt := range map[string]struct {
			at   time.Time
			want asynq.TaskState
		}{
			"now":   {time.Time{}, asynq.TaskStatePending},
			"late":  {now.Add(-time.Minute), asynq.TaskStatePending},
			"later": {now.Add(time.Minute), asynq.TaskStateScheduled},
		} {
			enqueue(t, bench{Enqueue: q.Enqueue}, Job{ID: id, Kind: "wake", At: tt.at})
			info, err := asynq.NewInspectorFromRedisClient(q.rdb).GetTaskInfo(q.opts.Queue, id)
			require.NoError(t, err)
			assert.Equal(t, tt.want, info.State, "job %s", id)
		}
	})
}

func TestEnqueueWithoutRedis(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	rdb := storetest.Client(t, url)
	q := NewAsynq(rdb, quick(t))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	err := q.Enqueue(ctx, Job{ID: "a", Kind: "effects"})
	assert.Error(t, err, "Enqueue")
	assert.Contains(t, err.Error(), "enqueue job a", "Enqueue")
}
