package journal_test

import (
	"errors"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

func TestUninstalls(t *testing.T) {
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, j := t.Context(), journal.New(rdb, journal.Options{})
		began := time.Date(2030, 3, 4, 9, 0, 0, 5e6, time.UTC)
		check := func(what string, got bool, err error, want bool) {
			t.Helper()
			if err != nil || got != want {
				t.Errorf("%s: got %v, %v, want %v", what, got, err, want)
			}
		}
		_, away, err := j.Uninstalls.Get(ctx, "T1")
		check("before", away, err, false)
		first, err := j.Uninstalls.Add(ctx, "T1", began)
		check("the first word", first, err, true)
		first, err = j.Uninstalls.Add(ctx, "T1", began.Add(time.Hour))
		check("a second word", first, err, false)
		a, away, err := journal.New(rdb, journal.Options{}).Uninstalls.Get(ctx, "T1") // another process
		check("then", away, err, true)
		if !a.Since.Equal(began) || a.Purging {
			t.Errorf("away since %v, purging %v; want since %v", a.Since, a.Purging, began)
		}
		_, away, err = j.Uninstalls.Get(ctx, "T2")
		check("another team", away, err, false)
		all, err := j.Uninstalls.All(ctx)
		if err != nil || !slices.Equal(slices.Collect(maps.Keys(all)), []string{"T1"}) {
			t.Errorf("Uninstalls.All = %v, %v", all, err)
		}

		stale := journal.Uninstall{Since: began.Add(-time.Hour)}
		back, err := j.Uninstalls.Remove(ctx, "T1", stale)
		check("back from an earlier uninstall", back, err, false)
		begun, err := j.Uninstalls.BeginPurge(ctx, "T1", stale)
		check("a purge for an earlier uninstall", begun, err, false)
		begun, err = j.Uninstalls.BeginPurge(ctx, "T1", a)
		check("its purge", begun, err, true)
		back, err = j.Uninstalls.Remove(ctx, "T1", a)
		check("back during the purge", back, err, false)
		a, _, err = j.Uninstalls.Get(ctx, "T1")
		check("it is purged", a.Purging, err, true)
		begun, err = j.Uninstalls.BeginPurge(ctx, "T1", a)
		check("its purge, after it was cut off", begun, err, true)
		if err := j.Uninstalls.EndPurge(ctx, "T1", a); err != nil {
			t.Error(err)
		}
		_, away, err = j.Uninstalls.Get(ctx, "T1")
		check("afterwards", away, err, false)
		begun, err = j.Uninstalls.BeginPurge(ctx, "T1", a)
		check("a purge after all is over", begun, err, false)

		_, err = j.Uninstalls.Add(ctx, "T1", began)
		a, _, _ = j.Uninstalls.Get(ctx, "T1")
		check("away again", true, err, true)
		back, err = j.Uninstalls.Remove(ctx, "T1", a)
		check("back", back, err, true)
		if n := rdb.DBSize(ctx).Val(); n != 0 {
			t.Errorf("%d keys are left", n)
		}
	})
}

// Whoever has read of a record that was purged since is told, and does not
// take it for a quiet one.
func TestReadOfPurged(t *testing.T) {
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, j, key := t.Context(), journal.New(rdb, journal.Options{}), journal.Key{Team: "T1", Kickoff: "k"}
		for version := range int64(2) {
			if _, err := j.Append(ctx, key, journal.Write{Data: []byte("x"), After: version}); err != nil {
				t.Fatal(err)
			}
		}
		for after, want := range map[int64]int{0: 2, 1: 1, 2: 0} {
			if got, err := j.Read(ctx, key, after); err != nil || len(got) != want {
				t.Errorf("after %d: %d entries, %v, want %d", after, len(got), err, want)
			}
		}
		if err := j.Marks.SetQueued(ctx, key, 2); err != nil {
			t.Fatal(err)
		}
		if err := j.Marks.ResetQueued(ctx, key); err != nil {
			t.Fatal(err)
		}
		if got, err := j.Marks.Queued(ctx, key); err != nil || got != 0 {
			t.Errorf("queued up to %d, %v, want 0", got, err)
		}
		if err := j.Purge(ctx, key); err != nil {
			t.Fatal(err)
		}
		if _, err := j.Read(ctx, key, 2); !errors.Is(err, journal.ErrPurged) {
			t.Errorf("got %v, want %v", err, journal.ErrPurged)
		}
		if got, err := j.Read(ctx, key, 0); err != nil || len(got) != 0 {
			t.Errorf("from the start: %d entries, %v", len(got), err)
		}
	})
}
