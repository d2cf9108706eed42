package jobs

import (
	"context"
	"fmt"
	"time"

	"github.com/redis/go-redis/v9"
	"golang.org/x/time/rate"
)

// A job whose process was killed is an orphan: asynq has it down as running.
// Asynq itself takes it up again when its lease of 30 s has been over for 30 s,
// and looks for that once a minute, none of which can be set. People would wait
// for their messages all that time.
//
// A living process extends the leases of its jobs every 5 s, so one that stands
// still tells of a process that is gone. It is watched by the clock of whoever
// watches: the times in it are those of another machine.
const (
	orphanedAfter = 8 * time.Second
	watchEvery    = time.Second

	// A job at which process after process ends is left to asynq, which counts it
	// as failed, and gives it up at last.
	mostAdoptions = 3
)

// adopt puts a job back at the head of those that wait, unless its lease has
// moved in the meantime. The keys are asynq's; what it does to them is what asynq
// does with the jobs of a process that stops.
//
// KEYS: lease, active, pending, the job. ARGV: its id, the lease that stands still,
// the most adoptions.
var adopt = redis.NewScript(`
if tonumber(redis.call("ZSCORE", KEYS[1], ARGV[1]) or -1) ~= tonumber(ARGV[2]) or redis.call("EXISTS", KEYS[4]) == 0 then
	return 0
end
if redis.call("HINCRBY", KEYS[4], "adopted", 1) > tonumber(ARGV[3]) then
	return 0
end
if redis.call("LREM", KEYS[2], 0, ARGV[1]) == 0 then
	return 0
end
redis.call("ZREM", KEYS[1], ARGV[1])
redis.call("RPUSH", KEYS[3], ARGV[1])
redis.call("HSET", KEYS[4], "state", "pending")
return 1
`)

// A lease of a job, as it was first seen.
type lease struct {
	score float64
	since time.Time
}

// watchOrphans adopts orphans until ctx ends.
func (a *Asynq) watchOrphans(ctx context.Context) {
	var watched map[string]lease
	often := &rate.Sometimes{First: 1, Interval: time.Minute} // an outage is told of once a minute
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for last := time.Now(); ; {
		if now := time.Now(); now.Sub(last) > 3*watchEvery {
			watched = nil // this process stood still; so may the others have, and their leases with them
		}
		last = time.Now()
		var err error
		if watched, err = a.adoptOrphans(ctx, watched); err != nil && ctx.Err() == nil {
			watched = nil // no lease can be extended where Redis cannot be reached
			often.Do(func() {
				a.opts.Logger.Warn("jobs of processes that are gone cannot be looked for; it will be tried again", "error", err)
			})
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// adoptOrphans adopts the jobs whose leases have stood still for too long, and
// returns what it saw of the others.
func (a *Asynq) adoptOrphans(ctx context.Context, before map[string]lease) (map[string]lease, error) {
	ctx, cancel := context.WithTimeout(ctx, 2*watchEvery)
	defer cancel()
	key := "asynq:{" + a.opts.Queue + "}:"
	held, err := a.rdb.ZRangeWithScores(ctx, key+"lease", 0, -1).Result()
	if err != nil {
		return nil, fmt.Errorf("read the leases: %w", err)
	}
	now, watched := time.Now(), make(map[string]lease, len(held))
	for _, z := range held {
		id, _ := z.Member.(string)
		l, known := before[id]
		if !known || l.score != z.Score {
			l = lease{z.Score, now}
		}
		watched[id] = l
		if now.Sub(l.since) < orphanedAfter {
			continue
		}
		adopted, err := adopt.Run(ctx, a.rdb, []string{key + "lease", key + "active", key + "pending", key + "t:" + id}, id, z.Score, mostAdoptions).Int()
		if err != nil {
			return nil, fmt.Errorf("adopt job %s: %w", id, err)
		}
		if adopted == 1 {
			a.opts.Logger.Warn("a process ended in the midst of a job; it is done again", "id", id)
		}
	}
	return watched, nil
}
