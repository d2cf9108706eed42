package journal

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/redis/go-redis/v9"
)

// ErrGap says that entries are missing between what was read and what is
// there: somebody trimmed or edited the stream. State folded across the gap
// would be wrong. Go on from a snapshot behind it, or restore a backup.
var ErrGap = errors.New("entries are missing from the record")

// ErrForeign says that an entry was written by something else than a journal.
var ErrForeign = errors.New("was not written by a journal")

// ErrPurged says that a record whose entries were read before is gone.
var ErrPurged = errors.New("the record was purged")

// Read returns the entries after a position, oldest first: all of them after
// the zero one, none when there is nothing new, ErrPurged when there is
// nothing any more, and ErrDiverged when the entry of the position is not there
// any more.
func (j *Journal) Read(ctx context.Context, key Key, after Position) ([]Entry, error) {
	k, err := j.kickoff(key)
	if err != nil {
		return nil, err
	}
	var entries []Entry
	for {
		page, full, err := j.next(ctx, k, after)
		if err == nil {
			entries, err = appendPage(entries, page, after.Version)
		}
		if err != nil {
			return nil, fmt.Errorf("read kickoff %s after version %d: %w", key.Kickoff, after.Version, err)
		}
		if !full {
			return entries, nil
		}
		if len(page) > 0 {
			after = entries[len(entries)-1].Position()
		}
	}
}

// next reads the next page, and the entry before it, which must be the one
// that was read last. It says whether more may follow.
func (j *Journal) next(ctx context.Context, k string, after Position) (page []redis.XMessage, full bool, err error) {
	stream := k + keyEntries
	if j.opts.Embedded && after.Version > 0 { // it loses nothing but everything
		if last, err := j.rdb.XInfoStream(ctx, stream).Result(); err == nil && last.LastGeneratedID == idOf(after.Version) {
			return nil, false, nil
		}
	}
	pipe := j.rdb.Pipeline()
	news := pipe.XRead(ctx, j.page(stream, after.Version))
	there := pipe.Exists(ctx, stream)
	if _, err := pipe.Exec(ctx); err != nil && !errors.Is(err, redis.Nil) {
		return nil, false, err
	}
	if there.Val() == 0 {
		return j.nextPacked(ctx, k, after)
	}
	page, err = follows(news.Val(), true, after)
	return page, int64(len(page)) >= j.opts.Page, err
}

// page asks for the next page of a stream and the entry before it, without
// waiting for new ones. It uses XREAD because the embedded store walks a whole
// stream for XRANGE.
func (j *Journal) page(stream string, after int64) *redis.XReadArgs {
	if after == 0 {
		return &redis.XReadArgs{Streams: []string{stream, idOf(0)}, Count: j.opts.Page, Block: -1}
	}
	return &redis.XReadArgs{Streams: []string{stream, idOf(after - 1)}, Count: j.opts.Page + 1, Block: -1}
}

// follows takes the entry of a position off what was read from it on. Entries
// before a position may have been trimmed away, and it with them.
func follows(read []redis.XStream, exists bool, after Position) ([]redis.XMessage, error) {
	var page []redis.XMessage
	if len(read) > 0 {
		page = read[0].Messages
	}
	switch {
	case after.Version == 0:
		return page, nil
	case !exists:
		return nil, ErrPurged
	case len(page) == 0:
		return nil, ErrDiverged
	case page[0].ID != idOf(after.Version):
		return page, nil
	}
	at, err := entryOf(page[0])
	if err == nil && after.Digest != "" && at.Position() != after {
		err = ErrDiverged
	}
	return page[1:], err
}

// Has reports whether an entry is in the record.
func (j *Journal) Has(ctx context.Context, key Key, e Position) (bool, error) {
	k, err := j.kickoff(key)
	if err != nil {
		return false, err
	}
	read, err := j.rdb.XRead(ctx, &redis.XReadArgs{Streams: []string{k + keyEntries, idOf(e.Version - 1)}, Count: 1, Block: -1}).Result()
	if errors.Is(err, redis.Nil) { // it is lost, or the record is packed
		entries, err := j.Read(ctx, key, Position{})
		return slices.ContainsFunc(entries, func(at Entry) bool { return at.Position() == e }), err
	}
	if err != nil {
		return false, fmt.Errorf("look for entry %d of kickoff %s: %w", e.Version, key.Kickoff, err)
	}
	at, err := entryOf(read[0].Messages[0])
	return at.Position() == e, err
}

// idOf is the id of the entry of a version.
func idOf(version int64) string { return strconv.FormatInt(version, 10) + "-0" }

// appendPage appends a page that follows a version without a gap.
func appendPage(entries []Entry, page []redis.XMessage, after int64) ([]Entry, error) {
	entries = slices.Grow(entries, len(page))
	for _, m := range page {
		e, err := entryOf(m)
		if err != nil {
			return nil, err
		}
		if e.Version != after+1 {
			return nil, fmt.Errorf("%w: version %d is followed by %d", ErrGap, after, e.Version)
		}
		entries, after = append(entries, e), e.Version
	}
	return entries, nil
}

func entryOf(m redis.XMessage) (Entry, error) {
	number, ok := strings.CutSuffix(m.ID, "-0")
	version, err := strconv.ParseInt(number, 10, 64)
	if !ok || err != nil {
		return Entry{}, fmt.Errorf("entry %q %w", m.ID, ErrForeign)
	}
	data, ok := m.Values["data"].(string)
	if !ok {
		return Entry{}, fmt.Errorf("entry %q has no data, so it %w", m.ID, ErrForeign)
	}
	delivery, _ := m.Values["delivery"].(string)
	return Entry{Version: version, Delivery: delivery, Data: []byte(data)}, nil
}
