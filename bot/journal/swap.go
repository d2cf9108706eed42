package journal

import (
	"context"

	"github.com/redis/go-redis/v9"
)

// swapScript replaces a field of a hash, or removes it where ARGV[3] is empty,
// unless it has changed since it was read.
//
// KEYS: the hash; ARGV: field, what was read, what to write
var swapScript = redis.NewScript(`
if redis.call('HGET', KEYS[1], ARGV[1]) ~= ARGV[2] then
	return 0
end
if ARGV[3] == '' then
	redis.call('HDEL', KEYS[1], ARGV[1])
else
	redis.call('HSET', KEYS[1], ARGV[1], ARGV[3])
end
return 1
`)

// Swap replaces the value read of a field of a hash by write, or removes the
// field where write is empty. It reports false, and changes nothing, when the
// field has another value by now.
func Swap(ctx context.Context, rdb redis.UniversalClient, hash, field, read, write string) (bool, error) {
	n, err := swapScript.Run(ctx, rdb, []string{hash}, field, read, write).Int()
	return n == 1, err
}
