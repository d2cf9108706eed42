package journal_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

func readsPages(t *testing.T, f fixture) {
	f = f.with(func(o *journal.Options) { o.Page = 3 })
	if got := f.read(t, 0); len(got) != 0 {
		t.Errorf("an empty record has %d entries", len(got))
	}
	for n := range 10 { // pages that are full, not full and empty at the end
		f.add(t, 1)
		entries := f.read(t, 0)
		if len(entries) != n+1 {
			t.Fatalf("%d entries, want %d", len(entries), n+1)
		}
		for i, e := range entries {
			if e.Version != int64(i)+1 {
				t.Errorf("entry %d has version %d", i, e.Version)
			}
		}
	}
}

func followStops(t *testing.T, f fixture) {
	f = f.with(func(o *journal.Options) { o.Block, o.Page = 50*time.Millisecond, 2 })
	f.add(t, 5)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	got, ended := make(chan int64), make(chan error, 1)
	go func() {
		ended <- f.Follow(ctx, f.key, 2, func(e journal.Entry) error {
			got <- e.Version
			return nil
		})
	}()
	for want := int64(3); want <= 5; want++ {
		wantVersion(t, got, want)
	}
	f.add(t, 1)
	wantVersion(t, got, 6)
	cancel()
	select {
	case err := <-ended:
		wantError(t, "Follow", err, context.Canceled)
	case <-time.After(10 * time.Second):
		t.Fatal("Follow did not stop with its context")
	}
}

func wantVersion(t *testing.T, got <-chan int64, want int64) {
	t.Helper()
	select {
	case version := <-got:
		if version != want {
			t.Fatalf("followed to version %d, want %d", version, want)
		}
	case <-time.After(10 * time.Second):
		t.Fatalf("version %d did not arrive within 10 s", want)
	}
}

func followError(t *testing.T, f fixture) {
	f.add(t, 3)
	errFull := errors.New("full")
	var got []int64
	err := f.Follow(t.Context(), f.key, 0, func(e journal.Entry) error {
		got = append(got, e.Version)
		if e.Version == 2 {
			return errFull
		}
		return nil
	})
	wantError(t, "Follow", err, errFull)
	if len(got) != 2 {
		t.Errorf("followed %v, want 1 and 2", got)
	}
}

func followGap(t *testing.T, f fixture) {
	f.add(t, 3)
	stream := fmt.Sprintf("%s:{T1/K1}:entries", f.opts.Prefix)
	must(t, "delete", f.rdb.XDel(t.Context(), stream, "2-0").Err())
	err := f.Follow(t.Context(), f.key, 0, func(journal.Entry) error { return nil })
	wantError(t, "Follow", err, journal.ErrGap)
	_, err = f.Read(t.Context(), f.key, 0)
	wantError(t, "Read", err, journal.ErrGap)
}

// failing lets the n-th XREAD fail, as when a connection breaks.
type failing struct{ n, seen int }

func (*failing) DialHook(next redis.DialHook) redis.DialHook { return next }
func (*failing) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return next
}
func (f *failing) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		if cmd.Name() == "xread" {
			if f.seen++; f.seen == f.n {
				return errBroken
			}
		}
		return next(ctx, cmd)
	}
}

var errBroken = errors.New("the connection broke")

// A page that is lost is an error, never the end of what there is.
func TestLostPage(t *testing.T) {
	rdb := storetest.Client(t, storetest.Embedded(t))
	j, key := journal.New(rdb, journal.Options{Page: 2}), journal.Key{Team: "T1", Kickoff: "K1"}
	for range 5 {
		_, err := j.Append(t.Context(), key, journal.Write{Data: []byte(`{}`), After: journal.Commutes})
		must(t, "append", err)
	}
	rdb.AddHook(&failing{n: 2})
	if entries, err := j.Read(t.Context(), key, 0); !errors.Is(err, errBroken) {
		t.Errorf("got %d entries and %v, want %v", len(entries), err, errBroken)
	}
}
