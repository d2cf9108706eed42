package journal

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/redis/go-redis/v9"
)

// ErrGap says that entries are missing between what was read and what is
// there: somebody trimmed or edited the stream. State folded across the gap
// would be wrong. Go on from a snapshot behind it, or restore a backup.
var ErrGap = errors.New("entries are missing from the record")

// ErrPurged says that a record whose entries were read before is gone.
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
		page, err = j.next(ctx, keys.entries, after)
	}
	return nil, fmt.Errorf("read kickoff %s after version %d: %w", key.Kickoff, after, err)
}

// firstPage also checks that the record still exists when some of it was read
// before, in the same round trip.
func (j *Journal) firstPage(ctx context.Context, stream string, after int64) ([]redis.XMessage, error) {
	if after == 0 {
		return j.next(ctx, stream, after)
	}
	pipe := j.rdb.Pipeline()
	news := pipe.XRead(ctx, j.readArgs(stream, after))
	there := pipe.Exists(ctx, stream)
	if _, err := pipe.Exec(ctx); err != nil && !errors.Is(err, redis.Nil) {
		return nil, err
	}
	if there.Val() == 0 {
		return nil, ErrPurged
	}
	return found(news.Result())
}

// next reads the next page, without waiting for new entries. It uses XREAD
// because the embedded store walks a whole stream for XRANGE.
func (j *Journal) next(ctx context.Context, stream string, after int64) ([]redis.XMessage, error) {
	return found(j.rdb.XRead(ctx, j.readArgs(stream, after)).Result())
}

func (j *Journal) readArgs(stream string, after int64) *redis.XReadArgs {
	return &redis.XReadArgs{Streams: []string{stream, strconv.FormatInt(after, 10) + "-0"}, Count: j.opts.Page, Block: -1}
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
