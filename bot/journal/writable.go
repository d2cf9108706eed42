package journal

import (
	"context"
	"strings"

	"github.com/redis/go-redis/v9"
)

// Writable sees that the server takes writes: a small one, always to the same
// key.
func (j *Journal) Writable(ctx context.Context) error {
	return j.rdb.HSet(ctx, j.ready(), "ready", 1).Err()
}

// Refusal says in one sentence why the server refused a write, and what to do
// about it. It is empty where the error says something else.
func Refusal(err error) string {
	has := func(marks ...string) bool { // scripts report the error of what they call inside one of their own
		for _, mark := range marks {
			if err != nil && strings.Contains(err.Error(), mark) {
				return true
			}
		}
		return false
	}
	switch {
	case redis.IsOOMError(err), has("OOM command not allowed"):
		return "Redis is full and refuses writes: give it more memory (maxmemory), or remove what is not needed from it"
	case redis.IsReadOnlyError(err), has("READONLY"):
		return "Redis is read-only here, since this is a replica: set SOUNDINGS_REDIS_URL to the primary, or to the sentinels as redis+sentinel://"
	case redis.IsPermissionError(err), has("NOPERM", "ACL failure", "can't run this command"):
		return "the account lacks a right: it needs to run scripts, and to read and write keys that begin with snd and asynq; allow that with ACL SETUSER, or name another account in SOUNDINGS_REDIS_URL"
	case has("MISCONF"):
		return "Redis cannot write to its disk and refuses writes: see that the disk is neither full nor broken"
	case redis.IsNoReplicasError(err):
		return "Redis has fewer replicas than its min-replicas-to-write: start them, or lower that setting"
	}
	return ""
}
