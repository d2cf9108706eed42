package journal_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

func readsPages(t *testing.T, f fixture) {
	f = f.with(func(o *journal.Options) { o.Page = 3 })
	got := f.read(t, 0)
	assert.Empty(t, got, "an empty record has %d entries", len(got))
	for n := range 10 { // pages that are full, not full and empty at the end
		f.add(t, 1)
		entries := f.read(t, 0)
		require.Len(t, entries, n+1, "entries")
		for i, e := range entries {
			assert.Equal(t, int64(i)+1, e.Version, "entry %d has version", i)
		}
	}
}

func readGap(t *testing.T, f fixture) {
	f.add(t, 3)
	stream := fmt.Sprintf("%s:{T1/K1}:entries", f.opts.Prefix)
	must(t, "delete", f.rdb.XDel(t.Context(), stream, "2-0").Err())
	_, err := f.Read(t.Context(), f.key, journal.Position{})
	wantError(t, "Read", err, journal.ErrGap)
}

// failing lets the n-th XREAD fail, as when a connection breaks.
type failing struct{ n, seen int }

func (*failing) DialHook(next redis.DialHook) redis.DialHook          { return next }
func (*failing) ProcessHook(next redis.ProcessHook) redis.ProcessHook { return next }
func (f *failing) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return func(ctx context.Context, cmds []redis.Cmder) error {
		if cmds[0].Name() == "xread" {
			if f.seen++; f.seen == f.n {
				return errBroken
			}
		}
		return next(ctx, cmds)
	}
}

var errBroken = errors.New("the connection broke")

// A page that is lost is an error, never the end of what there is.
func TestLostPage(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Embedded(t))
	j, key := journal.New(rdb, journal.Options{Page: 2}), journal.Key{Team: "T1", Kickoff: "K1"}
	for range 5 {
		_, err := j.Append(t.Context(), key, journal.Write{Data: []byte(`{}`), Commutes: true})
		must(t, "append", err)
	}
	rdb.AddHook(&failing{n: 2})
	entries, err := j.Read(t.Context(), key, journal.Position{})
	assert.ErrorIs(t, err, errBroken, "got %d entries and", len(entries))
}
