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

	// Read is the last entry that was read before the decision. Where the
	// server has lost it, the decision is refused.
	Read Position

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

	// ErrConflict says that others wrote since the version that was read, or
	// that what was read is lost: read again and decide again.
	ErrConflict = errors.New("the record has moved on")

	// ErrNotReplicated says that an entry is stored, and not on as many replicas
	// as it must be: a failover could lose it. Try again with the same Delivery.
	ErrNotReplicated = errors.New("stored, but on too few replicas")

	// ErrTooLarge says that Data is over MaxData. Trying again does not help.
	ErrTooLarge = errors.New("the entry is too large")
)

// appendScript adds entries, all or up to the first that is not to be added.
//
// KEYS: entries, seen, seen-until, packed (see keys.go)
// ARGV: attempt, and of each entry: data, delivery (may be empty), name to
// remember it by, version that it was made on, 1 if others may have written
// since, ms to remember it, version and digest of the last entry that was read
//
// It returns two numbers for each entry that it came to: 0 and its version when
// added, 1 and the version of the earlier entry when the delivery is a
// duplicate, 2 and the last version on a conflict. The latter two are the last.
// 3 says that the record is packed, and nothing was added.
//
// The last version is kept beside what was seen, with the digest of its data.
// Where it is missing, or older than the stream, as after an entry that another
// release wrote, the stream's own last id tells it, which trimming does not
// lower: a number is never used for two entries. An attempt that finds its own mark was cut off after it had
// written, and reports that success.
var appendScript = redis.NewScript(`
if redis.call('EXISTS', KEYS[4]) == 1 then
	return {3, 0}
end
local clock = redis.call('TIME')
local now = clock[1] * 1000 + math.floor(clock[2] / 1000)
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
local tip -- version and digest of the last entry, where they are known
local same = {} -- digest of an entry -> whether that one is here
local function has(version, digest)
	if version == 0 or digest == '' then
		return true
	end
	if same[digest] == nil then
		if tip and tip[1] == version and tip[2] ~= '' then
			same[digest] = tip[2] == digest
		else
			local at = redis.call('XRANGE', KEYS[1], version .. '-0', version .. '-0')[1]
			same[digest] = not at
			for i = 1, at and #at[2] or 0, 2 do
				if at[2][i] == 'data' then
					same[digest] = redis.sha1hex(at[2][i + 1]) == digest
				end
			end
		end
	end
	return same[digest]
end
local function forget()
	local past = redis.call('ZRANGEBYSCORE', KEYS[3], '-inf', now, 'LIMIT', 0, 200)
	for _, name in ipairs(past) do
		redis.call('HDEL', KEYS[2], name)
		redis.call('ZREM', KEYS[3], name)
	end
end
local function add(data, delivery, name, after, commutes, ms, read, digest)
	local held = redis.call('HMGET', KEYS[2], name, 'last')
	if held[1] and tonumber(redis.call('ZSCORE', KEYS[3], name) or 0) > now then
		local version, attempt = string.match(held[1], '^(%d+) (.*)$')
		return attempt == ARGV[1] and 0 or 1, tonumber(version)
	end
	local last, added
	if held[2] then
		local version, sum = string.match(held[2], '^(%d+) ?(%x*)$')
		last = tonumber(version)
		tip = {last, sum}
	end
	for look = 1, 2 do
		if last and (last == after or (commutes and last > after)) then
			if not has(read, digest) then
				return 2, last
			end
			local version = string.format('%d', last + 1)
			if delivery == '' then
				added = redis.pcall('XADD', KEYS[1], version .. '-0', 'data', data)
			else
				added = redis.pcall('XADD', KEYS[1], version .. '-0', 'data', data, 'delivery', delivery)
			end
			if type(added) == 'string' then
				redis.call('HSET', KEYS[2], name, version .. ' ' .. ARGV[1], 'last', version .. ' ' .. redis.sha1hex(data))
				redis.call('ZADD', KEYS[3], now + ms, name)
				if last % 50 == 0 then -- now and then: most appends find nothing to forget
					forget()
				end
				return 0, last + 1
			end
		elseif look == 2 then
			return 2, last
		end
		last = newest()
	end
	return nil, added
end
local done = {}
for i = 2, #ARGV, 8 do
	local status, what = add(ARGV[i], ARGV[i+1], ARGV[i+2], tonumber(ARGV[i+3]), ARGV[i+4] == '1', tonumber(ARGV[i+5]), tonumber(ARGV[i+6]), ARGV[i+7])
	if not status and #done == 0 then
		return what
	end
	if status then
		done[#done+1], done[#done+2] = status, what
	end
	if status ~= 0 then
		break
	end
end
return done
`)

// What appendScript answers.
const (
	_ = iota // added
	duplicate
	conflict
	isPacked
)

// attemptMS is how long a write without a delivery is remembered, so that it
// is not added twice when the client repeats it after a lost answer: the
// client's own retries take seconds.
const attemptMS = 60_000

// Append adds a decision and returns its version. When it returns without an
// error the entry is stored, and on as many replicas as it must be. It refuses with ErrDuplicate, ErrConflict or ErrTooLarge;
// any other error is Redis out of reach, where the entry may or may not have
// been stored: try again with the same Delivery.
func (j *Journal) Append(ctx context.Context, key Key, w Write) (int64, error) {
	versions, err := j.AppendAll(ctx, key, []Write{w})
	if err != nil {
		return 0, err
	}
	return versions[0], nil
}

// AppendAll adds decisions in one step, each made on what the one before leads
// to. It returns the versions of those that were added, and why the next one
// was not, as Append does.
func (j *Journal) AppendAll(ctx context.Context, key Key, all []Write) (versions []int64, err error) {
	k, err := j.kickoff(key)
	if err != nil {
		return nil, err
	}
	attempt := rand.Text()
	args := []any{attempt}
	for i, w := range all {
		if w.After < 0 {
			panic(fmt.Sprintf("journal: append after version %d", w.After))
		}
		if len(w.Data) > MaxData {
			err = fmt.Errorf("append to kickoff %s: %w: %d bytes, at most %d", key.Kickoff, ErrTooLarge, len(w.Data), MaxData)
			all = all[:i]
			break
		}
		name, remember := "delivery/"+w.Delivery, j.opts.SeenFor.Milliseconds()
		if w.Delivery == "" {
			name, remember = fmt.Sprintf("attempt/%s/%d", attempt, i), attemptMS
		}
		args = append(args, w.Data, w.Delivery, name, w.After, w.Commutes, remember, w.Read.Version, w.Read.Digest)
	}
	if len(all) == 0 {
		return nil, err
	}
	answer, failed := j.runAppend(ctx, k, args)
	if failed == nil && len(answer) > 0 && answer[0] == isPacked {
		if failed = j.unpack(ctx, k); failed == nil {
			answer, failed = j.runAppend(ctx, k, args)
		}
	}
	if failed == nil && (len(answer) == 0 || len(answer)%2 != 0) {
		failed = fmt.Errorf("redis answered %d numbers for %d entries", len(answer), len(all))
	}
	if failed != nil {
		return nil, fmt.Errorf("append to kickoff %s: %w", key.Kickoff, failed)
	}
	for i, w := range all {
		if 2*i >= len(answer) { // Redis refused this one, and may say why when it is asked again
			return versions, fmt.Errorf("%w: entry %d of %d was refused", ErrConflict, i+1, len(all))
		}
		switch status, version := answer[2*i], answer[2*i+1]; status {
		case duplicate:
			return versions, fmt.Errorf("%w, as version %d", ErrDuplicate, version)
		case conflict, isPacked: // packed again at this very moment
			return versions, fmt.Errorf("%w: read at version %d, now at %d", ErrConflict, w.After, version)
		default:
			versions = append(versions, version)
		}
	}
	return versions, err
}
