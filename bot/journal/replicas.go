package journal

import (
	"context"
	"fmt"
	"time"

	"github.com/redis/go-redis/v9"
)

// waitFor is how long replicas are waited for: twice that, as when others were
// first, is within what the platform waits for an answer.
const waitFor = 800 * time.Millisecond

// runAppend runs the script of AppendAll, and waits for the replicas unless all
// that came of it is a conflict.
func (j *Journal) runAppend(ctx context.Context, k string, args []any) ([]int64, error) {
	keys := []string{k + keyEntries, k + keySeen, k + keySeenUntil, k + keyPacked}
	if j.opts.Replicas == 0 {
		return appendScript.Run(ctx, j.rdb, keys, args...).Int64Slice()
	}
	run := func(eval func(redis.Pipeliner) *redis.Cmd) (answer []int64, err, waited error) {
		var ran *redis.Cmd
		waited = j.wait(ctx, k, func(p redis.Pipeliner) { ran = eval(p) })
		answer, err = ran.Int64Slice()
		return answer, err, waited
	}
	answer, err, waited := run(func(p redis.Pipeliner) *redis.Cmd { return appendScript.EvalSha(ctx, p, keys, args...) })
	if redis.HasErrorPrefix(err, "NOSCRIPT") {
		answer, err, waited = run(func(p redis.Pipeliner) *redis.Cmd { return appendScript.Eval(ctx, p, keys, args...) })
	}
	if err != nil || len(answer) > 0 && answer[0] >= conflict {
		return answer, err
	}
	return answer, waited
}

// Replicated sees that whatever is in the record of a kickoff is on as many
// replicas as it must be, before a delivery is acknowledged that needs no entry
// of its own: what it asked for may have been stored a moment ago. Where no
// kickoff is named there is nothing to see to.
func (j *Journal) Replicated(ctx context.Context, key Key) error {
	if j.opts.Replicas == 0 || key.Kickoff == "" {
		return nil
	}
	_, err := onKickoff(j.store, key, "wait for the replicas", func(k string) (any, error) {
		return nil, j.wait(ctx, k, func(redis.Pipeliner) {})
	})
	return err
}

// touchScript writes what changes nothing, where there is a record.
//
// KEYS: entries, cursors
var touchScript = redis.NewScript(`
if redis.call('EXISTS', KEYS[1]) == 1 then
	redis.call('HSET', KEYS[2], 'replicated', 1)
end
return 0
`)

// wait does something with the keys of a kickoff and waits for the replicas.
// WAIT is about what its own connection wrote, so all of it goes over one, and
// begins with a write that changes nothing: where the entry was stored over
// another connection before, that write comes after it.
func (j *Journal) wait(ctx context.Context, k string, do func(redis.Pipeliner)) error {
	primary, err := j.primaryOf(ctx, k)
	if err != nil {
		return err
	}
	pipe := primary.Pipeline()
	mark := touchScript.Eval(ctx, pipe, []string{k + keyEntries, k + keyCursors})
	do(pipe)
	reached := redis.NewIntCmd(ctx, "wait", j.opts.Replicas, waitFor.Milliseconds())
	_ = pipe.Process(ctx, reached)
	_, _ = pipe.Exec(ctx) // each answer carries its own error
	err = mark.Err()
	if err == nil {
		err = reached.Err()
	}
	if cluster, is := j.rdb.(*redis.ClusterClient); is && err != nil {
		cluster.ReloadState(ctx) // the slot may have moved
	}
	if err == nil && reached.Val() < int64(j.opts.Replicas) {
		err = fmt.Errorf("%w: %d of %d within %v", ErrNotReplicated, reached.Val(), j.opts.Replicas, waitFor)
	}
	return err
}

// primaryOf is a client of the one server that takes writes to the keys of a
// kickoff.
func (j *Journal) primaryOf(ctx context.Context, k string) (redis.Cmdable, error) {
	if cluster, is := j.rdb.(*redis.ClusterClient); is {
		return cluster.MasterForKey(ctx, k)
	}
	return j.rdb, nil
}
