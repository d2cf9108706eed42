package journal

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// A Write is one decision to be added.
type Write struct {
	Data []byte // at most MaxData bytes

	// Delivery names the request that asked for it, as the platform does.
	// The same delivery is added once. Empty: nothing to recognise.
	Delivery string

	// After is the version that the decision was made on: 0 for a kickoff
	// without entries.
	After int64

	// Commutes says that it is right whatever was written since, as a rating
	// is: the order in the record decides.
	Commutes bool
}

// MaxData is the most bytes one entry may hold. A decision is a few hundred
// bytes, an import of a long table some hundred thousand.
const MaxData = 4 << 20

var (
	// ErrDuplicate says that the delivery was written before. Nothing is to be
	// done.
	ErrDuplicate = errors.New("this delivery was written before")

	// ErrConflict says that others wrote since the version that was read: read
	// again and decide again.
	ErrConflict = errors.New("the record has moved on")

	// ErrTooLarge says that Data is over MaxData. Trying again does not help.
	ErrTooLarge = errors.New("the entry is too large")
)

// appendScript adds an entry, or says why not.
//
// KEYS: entries, seen, seen-until (see keys.go)
// ARGV: data, delivery (may be empty), name to remember it by, attempt,
// version that was read, 1 if others may have written since, ms to remember it
//
// It returns {0, version} when added, {1, version of the earlier entry} when
// the delivery is a duplicate, {2, last version} on a conflict.
//
// The last version is kept beside what was seen. Where it is missing, or older
// than the stream, as after an entry that another release wrote, the stream's
// own last id tells it, which trimming does not lower: a number is never used
// for two entries. An attempt that finds its own mark was cut off after it had
// written, and reports that success.
var appendScript = redis.NewScript(`
local clock = redis.call('TIME')
local now = clock[1] * 1000 + math.floor(clock[2] / 1000)
local past = redis.call('ZRANGEBYSCORE', KEYS[3], '-inf', now, 'LIMIT', 0, 100)
for _, name in ipairs(past) do
	redis.call('HDEL', KEYS[2], name)
	redis.call('ZREM', KEYS[3], name)
end
local held = redis.call('HMGET', KEYS[2], ARGV[3], 'last')
if held[1] then
	local version, attempt = string.match(held[1], '^(%d+) (.*)$')
	if attempt == ARGV[4] then
		return {0, tonumber(version)}
	end
	return {1, tonumber(version)}
end
local function newest()
	if redis.call('EXISTS', KEYS[1]) == 1 then
		local info = redis.call('XINFO', 'STREAM', KEYS[1])
		for i = 1, #info, 2 do
			if info[i] == 'last-generated-id' then
				return tonumber(string.match(info[i + 1], '^(%d+)'))
			end
		end
	end
	return 0
end
local after, commutes = tonumber(ARGV[5]), ARGV[6] == '1'
local last, added = tonumber(held[2]), nil
for look = 1, 2 do
	if last and (last == after or (commutes and last > after)) then
		local version = string.format('%d', last + 1)
		if ARGV[2] == '' then
			added = redis.pcall('XADD', KEYS[1], version .. '-0', 'data', ARGV[1])
		else
			added = redis.pcall('XADD', KEYS[1], version .. '-0', 'data', ARGV[1], 'delivery', ARGV[2])
		end
		if type(added) == 'string' then
			redis.call('HSET', KEYS[2], ARGV[3], version .. ' ' .. ARGV[4], 'last', version)
			redis.call('ZADD', KEYS[3], now + tonumber(ARGV[7]), ARGV[3])
			return {0, last + 1}
		end
	elseif look == 2 then
		return {2, last}
	end
	last = newest()
end
return added
`)

// What appendScript answers.
const (
	_ = iota // added
	duplicate
	conflict
)

// attemptMS is how long a write without a delivery is remembered, so that it
// is not added twice when the client repeats it after a lost answer: the
// client's own retries take seconds.
const attemptMS = 60_000

// Append adds a decision and returns its version. When it returns without an
// error the entry is stored. It refuses with ErrDuplicate, ErrConflict or ErrTooLarge;
// any other error is Redis out of reach, where the entry may or may not have
// been stored: try again with the same Delivery.
func (j *Journal) Append(ctx context.Context, key Key, w Write) (int64, error) {
	k, err := j.kickoff(key)
	if err != nil {
		return 0, err
	}
	if len(w.Data) > MaxData {
		return 0, fmt.Errorf("append to kickoff %s: %w: %d bytes, at most %d", key.Kickoff, ErrTooLarge, len(w.Data), MaxData)
	}
	if w.After < 0 {
		panic(fmt.Sprintf("journal: append after version %d", w.After))
	}
	attempt := rand.Text()
	name, remember := "delivery/"+w.Delivery, j.opts.SeenFor.Milliseconds()
	if w.Delivery == "" {
		name, remember = "attempt/"+attempt, attemptMS
	}
	answer, err := appendScript.Run(ctx, j.rdb, []string{k + keyEntries, k + keySeen, k + keySeenUntil},
		w.Data, w.Delivery, name, attempt, w.After, w.Commutes, remember).Int64Slice()
	if err == nil && len(answer) != 2 {
		err = fmt.Errorf("redis answered %d numbers instead of 2", len(answer))
	}
	if err != nil {
		return 0, fmt.Errorf("append to kickoff %s: %w", key.Kickoff, err)
	}
	switch status, version := answer[0], answer[1]; status {
	case duplicate:
		return 0, fmt.Errorf("%w, as version %d", ErrDuplicate, version)
	case conflict:
		return 0, fmt.Errorf("%w: read at version %d, now at %d", ErrConflict, w.After, version)
	default:
		return version, nil
	}
}
