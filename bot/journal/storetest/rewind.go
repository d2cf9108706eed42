package storetest

import (
	"context"
	"fmt"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"
)

// Copy keeps what a server holds, all of it or some keys, and gives back the
// way to put it back as it was: what was written in between is lost, as in a
// failover to a replica that lagged, or when a backup is restored under running
// processes. On a cluster the keys must be named, and share a slot.
func Copy(t testing.TB, rdb redis.UniversalClient, keys ...string) (restore func()) {
	t.Helper()
	ctx := context.Background()
	var puts []func(redis.Pipeliner)
	forget := func(p redis.Pipeliner) { p.Unlink(ctx, keys...) }
	if len(keys) == 0 {
		var err error
		keys, err = rdb.Keys(ctx, "*").Result()
		require.NoError(t, err)
		forget = func(p redis.Pipeliner) { p.FlushAll(ctx) }
	}
	for _, key := range keys {
		put, err := copyKey(ctx, rdb, key)
		require.NoError(t, err, "copy %s", key)
		puts = append(puts, put)
	}
	return func() {
		t.Helper()
		pipe := rdb.TxPipeline()
		forget(pipe)
		for _, put := range puts {
			put(pipe)
		}
		_, err := pipe.Exec(ctx)
		require.NoError(t, err, "restore")
	}
}

func copyKey(ctx context.Context, rdb redis.UniversalClient, key string) (put func(redis.Pipeliner), err error) {
	kind, err := rdb.Type(ctx, key).Result()
	if err != nil {
		return nil, err
	}
	switch kind {
	case "none":
		return func(redis.Pipeliner) {}, nil
	case "stream":
		entries, err := rdb.XRange(ctx, key, "-", "+").Result()
		return func(p redis.Pipeliner) {
			for _, e := range entries {
				p.XAdd(ctx, &redis.XAddArgs{Stream: key, ID: e.ID, Values: e.Values})
			}
		}, err
	case "hash":
		fields, err := rdb.HGetAll(ctx, key).Result()
		return func(p redis.Pipeliner) { p.HSet(ctx, key, fields) }, err
	case "set":
		members, err := rdb.SMembers(ctx, key).Result()
		return func(p redis.Pipeliner) { p.SAdd(ctx, key, members) }, err
	case "zset":
		members, err := rdb.ZRangeWithScores(ctx, key, 0, -1).Result()
		return func(p redis.Pipeliner) { p.ZAdd(ctx, key, members...) }, err
	case "string":
		value, err := rdb.Get(ctx, key).Result()
		return func(p redis.Pipeliner) { p.Set(ctx, key, value, 0) }, err
	case "list":
		values, err := rdb.LRange(ctx, key, 0, -1).Result()
		return func(p redis.Pipeliner) { p.RPush(ctx, key, values) }, err
	}
	return nil, fmt.Errorf("%s is of kind %s", key, kind)
}
