package journal

import (
	"bytes"
	"compress/flate"
	"context"
	"encoding/gob"
	"errors"
	"fmt"
	"io"
	"strconv"

	"github.com/redis/go-redis/v9"
)

// The record of a kickoff that has ended is kept packed: all entries are one
// compressed value, a tenth as large, and are read as they were. The first who
// writes to it has it unpacked again.

// packScript puts a packed record in the place of its entries, unless one was
// added since they were read. What only helps while a kickoff goes on, or is
// folded from the entries, goes too.
//
// KEYS: entries, packed, seen, seen-until, snapshot, cursors; ARGV: version and digest of
// the last entry, number of entries, data, whether an entry is not as it was
var packScript = redis.NewScript(`
local last = redis.call('XREVRANGE', KEYS[1], '+', '-', 'COUNT', 1)[1]
if not last or last[1] ~= ARGV[1] .. '-0' or redis.call('XLEN', KEYS[1]) ~= tonumber(ARGV[3]) then
	return 0
end
redis.call('HSET', KEYS[2], 'version', ARGV[1], 'digest', ARGV[2], 'data', ARGV[4])
redis.call('DEL', KEYS[1], KEYS[3], KEYS[4], KEYS[5])
if ARGV[5] == '1' then
	redis.call('HSET', KEYS[6], 'rewritten', 1)
end
return 1
`)

// Pack packs the record of a kickoff that has ended. One that is packed, or to
// which somebody writes at this moment, stays as it is. The kickoff must not be
// open in a channel. Of each entry but the last, keep says what is kept.
func (j *Journal) Pack(ctx context.Context, key Key, keep func(data []byte) ([]byte, error)) error {
	_, err := onKickoff(j.store, key, "pack the entries", func(k string) (any, error) {
		there, err := j.rdb.Exists(ctx, k+keyEntries).Result()
		if err != nil || there == 0 {
			return nil, err
		}
		entries, err := j.Read(ctx, key, Position{})
		if err != nil || len(entries) == 0 {
			return nil, err
		}
		last := entries[len(entries)-1].Position()
		changed := false
		for i, e := range entries[:len(entries)-1] {
			if entries[i].Data, err = keep(e.Data); err != nil {
				return nil, err
			}
			changed = changed || !bytes.Equal(entries[i].Data, e.Data)
		}
		data, err := pack(entries)
		if err != nil {
			return nil, err
		}
		return packScript.Run(ctx, j.rdb, []string{k + keyEntries, k + keyPacked, k + keySeen, k + keySeenUntil, k + keySnapshot, k + keyCursors},
			last.Version, last.Digest, len(entries), data, changed).Result()
	})
	return err
}

// unpackScript puts the entries back in the place of a packed record.
//
// KEYS: entries, packed; ARGV: version of the last entry, and of each entry:
// version, data, delivery
var unpackScript = redis.NewScript(`
if redis.call('HGET', KEYS[2], 'version') ~= ARGV[1] or redis.call('EXISTS', KEYS[1]) == 1 then
	return 0
end
for i = 2, #ARGV, 3 do
	if ARGV[i + 2] == '' then
		redis.call('XADD', KEYS[1], ARGV[i] .. '-0', 'data', ARGV[i + 1])
	else
		redis.call('XADD', KEYS[1], ARGV[i] .. '-0', 'data', ARGV[i + 1], 'delivery', ARGV[i + 2])
	end
end
redis.call('DEL', KEYS[2])
return 1
`)

// unpack makes a packed record one that can be written to. One that is not
// packed stays as it is.
func (j *Journal) unpack(ctx context.Context, k string) error {
	packed, err := j.packed(ctx, k)
	if err != nil || packed.Version == 0 {
		return err
	}
	entries, err := packed.entries()
	if err != nil {
		return err
	}
	args := []any{packed.Version}
	for _, e := range entries {
		args = append(args, e.Version, e.Data, e.Delivery)
	}
	return unpackScript.Run(ctx, j.rdb, []string{k + keyEntries, k + keyPacked}, args...).Err()
}

// A packedRecord is a Snapshot of entries rather than of what they lead to.
type packedRecord Snapshot

// packed reads a packed record; the zero one where there is none.
func (j *Journal) packed(ctx context.Context, k string) (p packedRecord, err error) {
	err = j.rdb.HMGet(ctx, k+keyPacked, "version", "digest", "data").Scan(&p)
	return p, err
}

// isAt reports whether nothing follows a position in a packed record of which
// version and digest were read.
func (p packedRecord) isAt(after Position) bool {
	return p.Version > 0 && p.Version == after.Version && (after.Digest == "" || after.Digest == p.Digest)
}

// from gives the entries from a version on, as a stream would.
func (p packedRecord) from(version int64) ([]redis.XStream, error) {
	entries, err := p.entries()
	if err != nil {
		return nil, err
	}
	var all []redis.XMessage
	for _, e := range entries {
		if e.Version >= version {
			all = append(all, redis.XMessage{ID: idOf(e.Version), Values: map[string]any{"data": string(e.Data), "delivery": e.Delivery}})
		}
	}
	return []redis.XStream{{Messages: all}}, nil
}

// nextPacked is next for a record without a stream: all of the rest at once.
func (j *Journal) nextPacked(ctx context.Context, k string, after Position) (page []redis.XMessage, full bool, err error) {
	packed, err := j.packed(ctx, k)
	if err != nil || packed.isAt(after) {
		return nil, false, err
	}
	if packed.Version == 0 {
		if there, err := j.rdb.Exists(ctx, k+keyEntries).Result(); err != nil || there > 0 {
			return nil, err == nil, err // unpacked at this moment: look once more
		}
		page, err = follows(nil, false, after)
		return page, false, err
	}
	read, err := packed.from(after.Version)
	if err == nil {
		page, err = follows(read, true, after)
	}
	return page, false, err
}

func pack(entries []Entry) ([]byte, error) {
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, flate.BestCompression)
	if err == nil {
		err = gob.NewEncoder(w).Encode(entries)
	}
	if err == nil {
		err = w.Close()
	}
	return out.Bytes(), err
}

// mostUnpacked bounds what a packed record unfolds to, so that one which
// somebody made up does not take all memory.
const mostUnpacked = 1 << 30

func (p packedRecord) entries() (entries []Entry, err error) {
	r := flate.NewReader(bytes.NewReader(p.Data))
	if err := gob.NewDecoder(io.LimitReader(r, mostUnpacked)).Decode(&entries); err != nil {
		return nil, fmt.Errorf("unpack the entries: %w", err)
	}
	if n := len(entries); n == 0 || entries[n-1].Version != p.Version {
		return nil, errors.New("unpack the entries: they do not end with version " + strconv.FormatInt(p.Version, 10))
	}
	return entries, nil
}
