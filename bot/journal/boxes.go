package journal

import (
	"context"
	"crypto/rand"
	"errors"

	"github.com/redis/go-redis/v9"
)

// Boxes keep the keys with which ballots are sealed, a key for each box of a
// kickoff. Losing one loses the ballots; so one is destroyed, and never comes
// again, when they were counted.
type Boxes struct{ store }

// ErrEmptied says that the key of a box was destroyed.
var ErrEmptied = errors.New("the box was emptied")

// keySize is that of AES-256.
const keySize = 32

// boxKeyScript gives the key of a box: of many who ask at once for a new one,
// all get the same.
//
// KEYS: box-keys; ARGV: box, a new key
var boxKeyScript = redis.NewScript(`
redis.call('HSETNX', KEYS[1], ARGV[1], ARGV[2])
return redis.call('HGET', KEYS[1], ARGV[1])
`)

// Key gives the key of a box, which it makes where there is none; ErrEmptied
// where there is none any more.
func (b *Boxes) Key(ctx context.Context, key Key, box string) ([]byte, error) {
	return onKickoff(b.store, key, "find the key of the box "+box, func(k string) ([]byte, error) {
		anew := make([]byte, keySize)
		_, _ = rand.Read(anew) // never fails
		kept, err := boxKeyScript.Run(ctx, b.rdb, []string{k + keyBoxKeys}, box, anew).Text()
		if err == nil && kept == "" {
			err = ErrEmptied
		}
		return []byte(kept), err
	})
}

// Keys gives the keys of all boxes of a kickoff that have one.
func (b *Boxes) Keys(ctx context.Context, key Key) (map[string][]byte, error) {
	return onKickoff(b.store, key, "read the keys of boxes", func(k string) (map[string][]byte, error) {
		kept, err := b.rdb.HGetAll(ctx, k+keyBoxKeys).Result()
		return standing(kept), err
	})
}

// standing leaves out the keys that were destroyed.
func standing(kept map[string]string) map[string][]byte {
	keys := map[string][]byte{}
	for box, key := range kept {
		if key != "" {
			keys[box] = []byte(key)
		}
	}
	return keys
}

// Destroy destroys the keys of boxes. Doing so twice is fine. None of them can
// be made again: whoever has not seen that the box was emptied is told so.
func (b *Boxes) Destroy(ctx context.Context, key Key, boxes ...string) error {
	if len(boxes) == 0 {
		return nil
	}
	_, err := onKickoff(b.store, key, "destroy the keys of boxes", func(k string) (int64, error) {
		var fields []any
		for _, box := range boxes {
			fields = append(fields, box, "")
		}
		return b.rdb.HSet(ctx, k+keyBoxKeys, fields...).Result()
	})
	return err
}
