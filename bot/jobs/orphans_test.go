package jobs

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
)

// A process that is killed in the midst of a job leaves it to the others within
// ten seconds; a job that a living process works on for longer stays with it.
func TestJobsOfAKilledProcess(t *testing.T) {
	t.Parallel()
	if url := os.Getenv("SOUNDINGS_TEST_KILLED"); url != "" {
		workUntilKilled(t, url)
		return
	}
	url := storetest.Server(t)
	o := Options{Queue: "killed", Concurrency: 2}
	killed := exec.Command(os.Args[0], "-test.run=^TestJobsOfAKilledProcess$")
	killed.Env = append(os.Environ(), "SOUNDINGS_TEST_KILLED="+url)
	out, err := killed.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, killed.Start())
	t.Cleanup(func() { _ = killed.Process.Kill() })
	q := NewAsynq(storetest.Client(t, url), o)
	require.NoError(t, q.Enqueue(t.Context(), Job{ID: "left", Kind: "k"}))
	lines := bufio.NewScanner(out)
	require.True(t, lines.Scan(), "the job began")
	require.Equal(t, "began left", lines.Text())
	require.NoError(t, killed.Process.Kill())
	_ = killed.Wait() // killed, as asked

	began := time.Now()
	var runs atomic.Int32
	left, long := make(chan time.Time, 1), make(chan time.Time, 1)
	work := func(_ context.Context, j Job) error {
		if j.ID == "left" {
			left <- time.Now()
			return nil
		}
		runs.Add(1)
		time.Sleep(orphanedAfter + 4*time.Second)
		long <- time.Now()
		return nil
	}
	require.NoError(t, q.Enqueue(t.Context(), Job{ID: "long", Kind: "k"}))
	running(t, q, work)
	running(t, NewAsynq(storetest.Client(t, url), o), work)
	assert.Less(t, receive(t, "what was left", left).Sub(began), 10*time.Second)
	receive(t, "what takes long", long)
	assert.EqualValues(t, 1, runs.Load(), "what a living process works on was taken from it")
}

func workUntilKilled(t *testing.T, url string) {
	q := NewAsynq(storetest.Client(t, url), Options{Queue: "killed", Concurrency: 2})
	_ = q.Run(t.Context(), func(ctx context.Context, j Job) error {
		fmt.Println("began", j.ID)
		<-ctx.Done()
		return ctx.Err()
	})
}

// A job at which one process after another ends is left to asynq, which gives it
// up at last; and a lease that moves is never taken for one that stands still.
func TestAdoptionsEnd(t *testing.T) {
	t.Parallel()
	onBoth(t, nil, func(t *testing.T, a *Asynq) {
		key := "asynq:{" + a.opts.Queue + "}:"
		require.NoError(t, a.Enqueue(t.Context(), Job{ID: "deadly", Kind: "k"}))
		now := float64(time.Now().Unix())
		still := map[string]lease{"deadly": {now, time.Now().Add(-orphanedAfter)}}
		for try := range mostAdoptions + 1 {
			require.NoError(t, a.rdb.LMove(t.Context(), key+"pending", key+"active", "RIGHT", "LEFT").Err())
			require.NoError(t, a.rdb.ZAdd(t.Context(), key+"lease", redis.Z{Score: now + 5, Member: "deadly"}).Err())
			_, err := a.adoptOrphans(t.Context(), still)
			require.NoError(t, err)
			require.EqualValues(t, 1, a.rdb.ZCard(t.Context(), key+"lease").Val(), "its lease has moved")
			require.NoError(t, a.rdb.ZAdd(t.Context(), key+"lease", redis.Z{Score: now, Member: "deadly"}).Err())
			_, err = a.adoptOrphans(t.Context(), still)
			require.NoError(t, err)
			waits := int64(1)
			if try == mostAdoptions {
				waits = 0
			}
			assert.Equal(t, waits, a.rdb.LLen(t.Context(), key+"pending").Val(), "adoption %d", try+1)
			assert.Equal(t, 1-waits, a.rdb.ZCard(t.Context(), key+"lease").Val(), "adoption %d", try+1)
		}
	})
}

// Redis is away for a hundred seconds: whoever reads the log is told twice, not
// a hundred times.
func TestAnOutageIsToldOnceAMinute(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		away := errors.New("nobody listens")
		rdb := redis.NewClient(&redis.Options{Addr: "127.0.0.1:1", MaxRetries: -1, Dialer: func(context.Context, string, string) (net.Conn, error) { return nil, away }})
		defer time.Sleep(time.Minute) // the client looks once more before it ends
		defer rdb.Close()
		var log bytes.Buffer
		ctx, stop := context.WithTimeout(t.Context(), 100*time.Second)
		defer stop()
		NewAsynq(rdb, Options{Logger: slog.New(slog.NewTextHandler(&log, nil))}).watchOrphans(ctx)
		assert.Equal(t, 2, strings.Count(log.String(), away.Error()), log.String())
	})
}
