package storetest

import (
	"fmt"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"
)

// Held is everything that a store holds, as whoever copies it would see it: for
// each key its value, or its fields, members and values, as they were written. It
// fails the test at a key of a kind that it cannot look into.
func Held(t testing.TB, rdb redis.UniversalClient) map[string][]string {
	t.Helper()
	keys, err := rdb.Keys(t.Context(), "*").Result()
	require.NoError(t, err)
	all := map[string][]string{}
	for _, key := range keys {
		all[key], err = held(t, rdb, key)
		require.NoError(t, err, key)
	}
	return all
}

func held(t testing.TB, rdb redis.UniversalClient, key string) (texts []string, err error) {
	t.Helper()
	switch kind := rdb.Type(t.Context(), key).Val(); kind {
	case "string":
		value, err := rdb.Get(t.Context(), key).Result()
		return []string{value}, err
	case "hash":
		fields, err := rdb.HGetAll(t.Context(), key).Result()
		for field, value := range fields {
			texts = append(texts, field, value)
		}
		return texts, err
	case "set":
		return rdb.SMembers(t.Context(), key).Result()
	case "zset":
		return rdb.ZRange(t.Context(), key, 0, -1).Result()
	case "list":
		return rdb.LRange(t.Context(), key, 0, -1).Result()
	case "stream":
		entries, err := rdb.XRange(t.Context(), key, "-", "+").Result()
		for _, e := range entries {
			for field, value := range e.Values {
				texts = append(texts, field, fmt.Sprint(value))
			}
		}
		return texts, err
	default:
		return nil, fmt.Errorf("nobody has looked into a key of kind %q", kind)
	}
}
