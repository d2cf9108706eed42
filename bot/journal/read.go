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

// ErrPurged says that a record whose entries were read before is gone.
var ErrPurged = errors.New("the record was purged")

// Read returns the entries after a version, oldest first: all of them when
// after is 0, none when there is nothing new, and ErrPurged when there is
// nothing any more.
func (j *Journal) Read(ctx context.Context, key Key, after int64) ([]Entry, error) {
	k, err := j.kickoff(key)
	if err != nil {
		return nil, err
	}
	var entries []Entry
	for {
		page, err := j.next(ctx, k+keyEntries, after)
		if err == nil {
			entries, err = appendPage(entries, page, after)
		}
		if err != nil {
			return nil, fmt.Errorf("read kickoff %s after version %d: %w", key.Kickoff, after, err)
		}
		if int64(len(page)) < j.opts.Page {
			return entries, nil
		}
		after = entries[len(entries)-1].Version
	}
}

// next reads the next page, and checks in the same round trip that what was
// read before still exists.
func (j *Journal) next(ctx context.Context, stream string, after int64) ([]redis.XMessage, error) {
	if j.opts.Embedded && after > 0 {
		if last, err := j.rdb.XInfoStream(ctx, stream).Result(); err == nil && last.LastGeneratedID == idOf(after) {
			return nil, nil
		}
	}
	pipe := j.rdb.Pipeline()
	news := pipe.XRead(ctx, j.page(stream, after))
	there := pipe.Exists(ctx, stream)
	if _, err := pipe.Exec(ctx); err != nil && !errors.Is(err, redis.Nil) {
		return nil, err
	}
	if after > 0 && there.Val() == 0 {
		return nil, ErrPurged
	}
	if len(news.Val()) == 0 {
		return nil, nil
	}
	return news.Val()[0].Messages, nil
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
		return Entry{}, fmt.Errorf("entry %q was not written by a journal", m.ID)
	}
	data, ok := m.Values["data"].(string)
	if !ok {
		return Entry{}, fmt.Errorf("entry %q has no data", m.ID)
	}
	delivery, _ := m.Values["delivery"].(string)
	return Entry{Version: version, Delivery: delivery, Data: []byte(data)}, nil
}
