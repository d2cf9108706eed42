package journal

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// ErrGap says that entries are missing between what was read and what is
// there: somebody trimmed or edited the stream. State folded across the gap
// would be wrong. Go on from a snapshot behind it, or restore a backup.
var ErrGap = errors.New("entries are missing from the record")

// ErrPurged says that a record of which entries were read has gone as a whole.
var ErrPurged = errors.New("the record was purged")

// Read returns the entries after a version, oldest first: all of them when
// after is 0, none when there is nothing new, and ErrPurged when there is
// nothing any more.
func (j *Journal) Read(ctx context.Context, key Key, after int64) ([]Entry, error) {
	keys, err := j.keys(key)
	if err != nil {
		return nil, err
	}
	var entries []Entry
	page, err := j.firstPage(ctx, keys.entries, after)
	for err == nil {
		var read []Entry
		if read, err = entriesOf(page, after); err != nil {
			break
		}
		entries = append(entries, read...)
		if int64(len(page)) < j.opts.Page {
			return entries, nil
		}
		after = read[len(read)-1].Version
		page, err = j.next(ctx, keys.entries, after, noWait)
	}
	return nil, fmt.Errorf("read kickoff %s after version %d: %w", key.Kickoff, after, err)
}

// firstPage also sees that what was read before is still there. That costs no
// further round trip.
func (j *Journal) firstPage(ctx context.Context, stream string, after int64) ([]redis.XMessage, error) {
	if after == 0 {
		return j.next(ctx, stream, after, noWait)
	}
	pipe := j.rdb.Pipeline()
	news := pipe.XRead(ctx, j.asks(stream, after, noWait))
	there := pipe.Exists(ctx, stream)
	if _, err := pipe.Exec(ctx); err != nil && !errors.Is(err, redis.Nil) {
		return nil, err
	}
	if there.Val() == 0 {
		return nil, ErrPurged
	}
	return found(news.Result())
}

// Follow hands every entry after a version to fn, oldest first, and then new
// ones as they are written. It returns fn's error, ErrGap, an error of Redis
// (follow again from the last entry that fn took), or ctx.Err() no later than
// Options.Block after the context ends. While it waits it occupies one
// connection.
func (j *Journal) Follow(ctx context.Context, key Key, after int64, fn func(Entry) error) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	for ctx.Err() == nil {
		page, err := j.next(ctx, keys.entries, after, j.opts.Block)
		if ctx.Err() != nil {
			break
		}
		if err != nil {
			return fmt.Errorf("follow kickoff %s after version %d: %w", key.Kickoff, after, err)
		}
		entries, err := entriesOf(page, after)
		if err != nil {
			return fmt.Errorf("follow kickoff %s: %w", key.Kickoff, err)
		}
		for _, e := range entries {
			if err := fn(e); err != nil {
				return err
			}
			after = e.Version
		}
	}
	return ctx.Err()
}

// noWait asks for what is there.
const noWait = -1

// next reads the next entries, and waits for them that long; none when the
// wait is over. XREAD serves both: the embedded store walks a whole stream
// for XRANGE, and here searches for the place.
func (j *Journal) next(ctx context.Context, stream string, after int64, wait time.Duration) ([]redis.XMessage, error) {
	return found(j.rdb.XRead(ctx, j.asks(stream, after, wait)).Result())
}

func (j *Journal) asks(stream string, after int64, wait time.Duration) *redis.XReadArgs {
	return &redis.XReadArgs{Streams: []string{stream, strconv.FormatInt(after, 10) + "-0"}, Count: j.opts.Page, Block: wait}
}

func found(streams []redis.XStream, err error) ([]redis.XMessage, error) {
	if errors.Is(err, redis.Nil) {
		return nil, nil
	}
	if err != nil || len(streams) == 0 {
		return nil, err
	}
	return streams[0].Messages, nil
}

// entriesOf reads a page that follows a version without a gap.
func entriesOf(page []redis.XMessage, after int64) ([]Entry, error) {
	entries := make([]Entry, len(page))
	for i, m := range page {
		e, err := entryOf(m)
		if err != nil {
			return nil, err
		}
		if e.Version != after+1 {
			return nil, fmt.Errorf("%w: version %d is followed by %d", ErrGap, after, e.Version)
		}
		entries[i], after = e, e.Version
	}
	return entries, nil
}

func entryOf(m redis.XMessage) (Entry, error) {
	number, ok := strings.CutSuffix(m.ID, "-0")
	version, err := strconv.ParseInt(number, 10, 64)
	if !ok || err != nil {
		return Entry{}, fmt.Errorf("entry %q was not written by a journal", m.ID)
	}
	data, ok := m.Values["data"].(string)
	if !ok {
		return Entry{}, fmt.Errorf("entry %q has no data", m.ID)
	}
	delivery, _ := m.Values["delivery"].(string)
	return Entry{Version: version, Delivery: delivery, Data: []byte(data)}, nil
}
