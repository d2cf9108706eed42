package journal_test

import (
	"fmt"
	"sync/atomic"
	"testing"
)

func snapshotForward(t *testing.T, f fixture) {
	wantSnapshot(t, f, 0, "")
	for _, step := range []struct {
		version int64
		data    string
		want    int64
		kept    string
	}{
		{5, "five", 5, "five"},
		{3, "three", 5, "five"},
		{5, "five anew", 5, "five anew"},
		{10, "ten \x00\xff", 10, "ten \x00\xff"},
		{9, "nine", 10, "ten \x00\xff"},
	} {
		must(t, "save", f.SaveSnapshot(t.Context(), f.key, step.version, []byte(step.data)))
		wantSnapshot(t, f, step.want, step.kept)
	}
}

func wantSnapshot(t *testing.T, f fixture, version int64, data string) {
	t.Helper()
	gotVersion, got, err := f.Snapshot(t.Context(), f.key)
	must(t, "read the snapshot", err)
	if gotVersion != version || string(got) != data {
		t.Errorf("Snapshot = %d, %q, want %d, %q", gotVersion, got, version, data)
	}
}

func shownForward(t *testing.T, f fixture) {
	mark := func(v int64) error { return f.Marks.SetShown(t.Context(), f.key, "head", v) }
	read := func() (int64, error) { return f.Marks.Shown(t.Context(), f.key, "head") }
	forward(t, mark, read)
	other, err := f.Marks.Shown(t.Context(), f.key, "progress")
	if err != nil || other != 0 {
		t.Errorf("Shown of another slot = %d, %v, want 0", other, err)
	}
}

func queuedForward(t *testing.T, f fixture) {
	mark := func(v int64) error { return f.Marks.SetQueued(t.Context(), f.key, v) }
	read := func() (int64, error) { return f.Marks.Queued(t.Context(), f.key) }
	forward(t, mark, read)
}

// forward checks a mark that only rises, also under many hands.
func forward(t *testing.T, mark func(int64) error, read func() (int64, error)) {
	t.Helper()
	for _, step := range []struct{ set, want int64 }{{0, 0}, {9, 9}, {7, 9}, {10, 10}} {
		must(t, "mark", mark(step.set))
		got, err := read()
		must(t, "read the mark", err)
		if got != step.want {
			t.Errorf("after %d the mark is %d, want %d", step.set, got, step.want)
		}
	}
	together(16, func(i int) {
		if err := mark(int64(100 - i)); err != nil {
			t.Errorf("mark: %v", err)
		}
	})
	if got, err := read(); err != nil || got != 100 {
		t.Errorf("after many marks the mark is %d, %v, want 100", got, err)
	}
}

func effectsDone(t *testing.T, f fixture) {
	done := func(effect string, want bool) {
		t.Helper()
		got, err := f.Marks.Done(t.Context(), f.key, effect)
		must(t, "ask", err)
		if got != want {
			t.Errorf("Done(%q) = %v, want %v", effect, got, want)
		}
	}
	done("3/show", false)
	for range 2 {
		must(t, "mark", f.Marks.SetDone(t.Context(), f.key, "3/show"))
	}
	done("3/show", true)
	done("4/show", false)
}

func begunOnce(t *testing.T, f fixture) {
	var firsts atomic.Int64
	together(16, func(int) {
		first, err := f.Marks.Begin(t.Context(), f.key, "sending/stage")
		if err != nil {
			t.Errorf("Begin: %v", err)
		}
		if first {
			firsts.Add(1)
		}
	})
	if got := firsts.Load(); got != 1 {
		t.Errorf("%d of 16 were the first to begin, want 1", got)
	}
	if first, err := f.Marks.Begin(t.Context(), f.key, "sending/other"); !first || err != nil {
		t.Errorf("Begin something else = %v, %v", first, err)
	}
}

func claimOnce(t *testing.T, f fixture) {
	holders := make([]string, 16)
	together(len(holders), func(i int) {
		holder, err := f.Index.Claim(t.Context(), "T1", "C1", fmt.Sprint("K", i))
		if err != nil {
			t.Errorf("Claim: %v", err)
		}
		holders[i] = holder
	})
	own := 0
	for i, holder := range holders {
		if holder != holders[0] {
			t.Errorf("K%d was told that %s holds the channel, K0 that %s does", i, holder, holders[0])
		}
		if holder == fmt.Sprint("K", i) {
			own++
		}
	}
	if own != 1 {
		t.Errorf("%d kickoffs hold the channel, want 1", own)
	}
	again, err := f.Index.Claim(t.Context(), "T1", "C1", holders[0])
	if err != nil || again != holders[0] {
		t.Errorf("Claim again = %q, %v, want %q", again, err, holders[0])
	}
	wantHolder(t, f, "C1", holders[0])
	wantHolder(t, f, "C2", "")
}

func wantHolder(t *testing.T, f fixture, channel, want string) {
	t.Helper()
	got, err := f.Index.InChannel(t.Context(), "T1", channel)
	must(t, "look up", err)
	if got != want {
		t.Errorf("InChannel(%s) = %q, want %q", channel, got, want)
	}
}

func (f fixture) claim(t *testing.T, team, channel, kickoff, want string) {
	t.Helper()
	got, err := f.Index.Claim(t.Context(), team, channel, kickoff)
	must(t, "claim", err)
	if got != want {
		t.Errorf("Claim(%s for %s) = %q, want %q", channel, kickoff, got, want)
	}
}

func releaseByHolder(t *testing.T, f fixture) {
	const odd = "K 1\n{}" // a space stands in the stored value too
	f.claim(t, "T1", "C1", odd, odd)
	must(t, "release by another", f.Index.Release(t.Context(), "T1", "C1", "K"))
	wantHolder(t, f, "C1", odd)
	must(t, "release", f.Index.Release(t.Context(), "T1", "C1", odd))
	wantHolder(t, f, "C1", "")
	must(t, "release again", f.Index.Release(t.Context(), "T1", "C1", odd))
	f.claim(t, "T1", "C1", "K2", "K2")
}

func abandonedClaim(t *testing.T, f fixture) {
	f.claim(t, "T1", "C1", "K1", "K1")
	f.claim(t, "T1", "C1", "K2", "K1") // K1 may be about to write its first entry
	must(t, "age the claim", f.rdb.HSet(t.Context(), f.opts.Prefix+":{T1}:channels", "C1", "1000 K1").Err())
	f.claim(t, "T1", "C1", "K1", "K1")
	f.add(t, 1) // to K1
	f.claim(t, "T1", "C1", "K2", "K1")
	must(t, "purge", f.Purge(t.Context(), f.key))
	must(t, "leave an old claim", f.rdb.HSet(t.Context(), f.opts.Prefix+":{T1}:channels", "C1", "1000 K1").Err())
	f.claim(t, "T1", "C1", "K2", "K2")
}
