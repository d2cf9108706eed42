package journal_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

func appendInOrder(t *testing.T, f fixture) {
	for i := range int64(3) {
		w := journal.Write{Data: fmt.Append(nil, "entry ", i+1), Delivery: fmt.Sprint("d", i+1), After: i}
		assert.Equal(t, i+1, f.write(t, w), "Append after %d = version", i)
	}
	for after := range int64(4) {
		entries := f.read(t, after)
		got, want := len(entries), int(3-after)
		require.Equal(t, want, got, "Read after %d: %d entries", after, got)
		for i, e := range entries {
			n := after + int64(i) + 1
			want := journal.Entry{Version: n, Delivery: fmt.Sprint("d", n), Data: fmt.Append(nil, "entry ", n)}
			assert.Equal(t, want.Version, e.Version, "Read after %d: entry %+v, want %+v", after, e, want)
			assert.Equal(t, want.Delivery, e.Delivery, "Read after %d: entry %+v, want %+v", after, e, want)
			assert.True(t, bytes.Equal(e.Data, want.Data), "Read after %d: entry %+v, want %+v", after, e, want)
		}
	}
}

func refusesConflict(t *testing.T, f fixture) {
	f.add(t, 2)
	for _, after := range []int64{0, 1, 3} {
		_, err := f.Append(t.Context(), f.key, journal.Write{Data: []byte("late"), After: after})
		wantError(t, fmt.Sprintf("Append after %d", after), err, journal.ErrConflict)
	}
	assert.Len(t, f.read(t, 0), 2, "entries: a refused write was added")
}

// raceForVersions lets 16 writers fight: each reads, decides and appends
// until it has won ten times.
func raceForVersions(t *testing.T, f fixture) {
	const writers, wins = 16, 10
	var mu sync.Mutex
	won := map[int64]string{}
	together(writers, func(writer int) {
		after := int64(0)
		for n := 0; n < wins; {
			data := fmt.Sprintf("%d/%d", writer, n)
			version, err := f.Append(t.Context(), f.key, journal.Write{Data: []byte(data), After: after})
			switch {
			case errors.Is(err, journal.ErrConflict):
				entries, err := f.Read(t.Context(), f.key, journal.Position{Version: after})
				if !assert.False(t, err != nil || len(entries) == 0, "Read after %d, which had moved on = %d entries, %v", after, len(entries), err) {
					return
				}
				after = entries[len(entries)-1].Version
			case err != nil:
				assert.NoError(t, err, "Append")
				return
			default:
				mu.Lock()
				other, taken := won[version]
				assert.False(t, taken, "version %d was won by %s and by %s", version, other, data)
				won[version] = data
				mu.Unlock()
				after, n = version, n+1
			}
		}
	})
	entries := f.read(t, 0)
	require.Len(t, entries, writers*wins, "entries")
	for _, e := range entries {
		got, want := string(e.Data), won[e.Version]
		assert.Equal(t, want, got, "version %d holds %q, but %q won it", e.Version, got, want)
	}
}

func raceCommuting(t *testing.T, f fixture) {
	const writers, each = 16, 10
	together(writers, func(writer int) {
		for n := range each {
			w := journal.Write{Data: fmt.Appendf(nil, "%d/%d", writer, n), Commutes: true}
			_, err := f.Append(t.Context(), f.key, w)
			if !assert.NoError(t, err, "Append") {
				return
			}
		}
	})
	var got []string
	for _, e := range f.read(t, 0) {
		got = append(got, string(e.Data))
	}
	slices.Sort(got)
	assert.Len(t, slices.Compact(got), writers*each, "different entries")
}

func deliveryOnce(t *testing.T, f fixture) {
	f.add(t, 1)
	w := journal.Write{Data: []byte("a"), Delivery: "d", Commutes: true}
	first := f.write(t, w)
	f.add(t, 1)
	_, err := f.Append(t.Context(), f.key, w)
	wantError(t, "second Append", err, journal.ErrDuplicate)
	assert.ErrorContains(t, err, fmt.Sprintf("as version %d", first))
	assert.Len(t, f.read(t, 0), 3, "entries")
	other := f
	other.key.Kickoff = "K2"
	assert.Equal(t, int64(1), other.write(t, w), "the same delivery in another kickoff = version")
}

func deliveryRace(t *testing.T, f fixture) {
	var wins, seen atomic.Int32
	together(16, func(int) {
		_, err := f.Append(t.Context(), f.key, journal.Write{Data: []byte("a"), Delivery: "d", Commutes: true})
		switch {
		case err == nil:
			wins.Add(1)
		case errors.Is(err, journal.ErrDuplicate):
			seen.Add(1)
		default:
			assert.NoError(t, err, "Append")
		}
	})
	assert.Equal(t, int32(1), wins.Load(), "won and %d were told that it was seen", seen.Load())
	assert.Equal(t, int32(15), seen.Load(), "won and %d were told that it was seen", seen.Load())
}

// A double tap arrives after the record has moved on, by its own first write
// at least: it must not be decided anew.
func duplicateBeforeConflict(t *testing.T, f fixture) {
	w := journal.Write{Data: []byte("a"), Delivery: "d", After: 0}
	f.write(t, w)
	_, err := f.Append(t.Context(), f.key, w)
	wantError(t, "the same Append", err, journal.ErrDuplicate)
}

func deliveryForgotten(t *testing.T, f fixture) {
	f = f.with(func(o *journal.Options) { o.SeenFor = 50 * time.Millisecond })
	w := journal.Write{Data: []byte("a"), Delivery: "d", Commutes: true}
	f.write(t, w)
	_, err := f.Append(t.Context(), f.key, w)
	wantError(t, "Append at once", err, journal.ErrDuplicate)
	eventually(t, "the delivery is forgotten", func() bool {
		_, err := f.Append(t.Context(), f.key, w)
		return err == nil
	})
}

// eventually asks every few milliseconds until the answer is yes.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(10 * time.Second)
	for !ok() {
		select {
		case <-tick.C:
		case <-deadline:
			require.Fail(t, "not within 10 s", what)
		}
	}
}

func numbersAfterTrim(t *testing.T, f fixture) {
	f.add(t, 5)
	stream := f.opts.Prefix + ":{T1/K1}:entries"
	for _, keep := range []int64{1, 0} {
		must(t, "trim", f.rdb.XTrimMaxLen(t.Context(), stream, keep).Err())
		_, err := f.Append(t.Context(), f.key, journal.Write{After: 0})
		wantError(t, "Append after 0 to a trimmed record", err, journal.ErrConflict)
	}
	assert.Equal(t, int64(6), f.write(t, journal.Write{Data: []byte("next"), After: 5}), "Append after a trim = version")
	assert.Equal(t, int64(7), f.write(t, journal.Write{Data: []byte("next"), Commutes: true}), "commuting Append after a trim = version")
	got := len(f.read(t, 5))
	assert.Equal(t, 2, got, "Read after 5: %d entries, want 2", got)
	_, err := f.Read(t.Context(), f.key, journal.Position{Version: 4})
	wantError(t, "Read over the trimmed part", err, journal.ErrGap)
}

func largeEntries(t *testing.T, f fixture) {
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	datas := [][]byte{{}, all, []byte(strings.Repeat("ferry\r\n", 1000)), bytes.Repeat(all, journal.MaxData/256)}
	for _, data := range datas {
		f.write(t, journal.Write{Data: data, Delivery: fmt.Sprint("odd \x00}{", len(data)), Commutes: true})
	}
	for i, e := range f.read(t, 0) {
		assert.True(t, bytes.Equal(e.Data, datas[i]), "entry %d: %d bytes came back as %d other ones", i+1, len(datas[i]), len(e.Data))
		assert.Equal(t, fmt.Sprint("odd \x00}{", len(datas[i])), e.Delivery, "entry %d: delivery", i+1)
	}
}

func tooLarge(t *testing.T, f fixture) {
	_, err := f.Append(t.Context(), f.key, journal.Write{Data: make([]byte, journal.MaxData+1)})
	wantError(t, "Append", err, journal.ErrTooLarge)
	assert.Empty(t, f.read(t, 0), "entries")
}

func hostileNames(t *testing.T, f fixture) {
	names := []string{"a", "A", "a}b", "a{b", "{a}", "}", "{", "a/b", "/", "a:b", "%7D", "a b", "a\nb", "\x00", "é", "*"}
	for _, team := range names {
		for _, kickoff := range names {
			f.key = journal.Key{Team: team, Kickoff: kickoff}
			f.write(t, journal.Write{Data: fmt.Appendf(nil, "%q/%q", team, kickoff), After: 0})
		}
	}
	for _, team := range names {
		for _, kickoff := range names {
			f.key = journal.Key{Team: team, Kickoff: kickoff}
			entries := f.read(t, 0)
			want := fmt.Sprintf("%q/%q", team, kickoff)
			assert.False(t, len(entries) != 1 || string(entries[0].Data) != want, "%q/%q: %d entries, want one that is %s", team, kickoff, len(entries), want)
		}
	}
}

// An answer that is lost on its way makes the client send the append again.
// It must be added once, and the repetition must not look like somebody else.
func TestLostAnswer(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		write journal.Write
	}{
		{"checked", journal.Write{Data: []byte("a"), After: 1}},
		{"commuting", journal.Write{Data: []byte("a"), Commutes: true}},
		{"with a delivery", journal.Write{Data: []byte("a"), Delivery: "d", After: 1}},
	}
	storetest.EachURL(t, func(t *testing.T, _, url string) {
		for i, tt := range tests {
			t.Run(tt.name, func(t *testing.T) {
				var cut atomic.Bool
				rdb := losing(t, url, &cut)
				o := journal.Options{Prefix: fmt.Sprintf("lost%d", i)}
				f := fixture{Journal: journal.New(rdb, o), rdb: rdb, opts: o, key: journal.Key{Team: "T1", Kickoff: "K1"}}
				f.add(t, 1)
				cut.Store(true)
				assert.Equal(t, int64(2), f.write(t, tt.write), "Append = version")
				assert.False(t, cut.Load(), "no answer was lost: the test shows nothing")
				assert.Len(t, f.read(t, 0), 2, "entries")
			})
		}
	})
}

// losing connects to a store through connections that lose the next answer
// while cut is set, and then unset it.
func losing(t *testing.T, url string, cut *atomic.Bool) redis.UniversalClient {
	t.Helper()
	opts, err := redis.ParseURL(url)
	must(t, "parse", err)
	opts.Dialer = func(ctx context.Context, network, addr string) (net.Conn, error) {
		conn, err := new(net.Dialer).DialContext(ctx, network, addr)
		return &losingConn{Conn: conn, cut: cut}, err
	}
	rdb := redis.NewClient(opts)
	t.Cleanup(func() { _ = rdb.Close() })
	return rdb
}

type losingConn struct {
	net.Conn
	cut *atomic.Bool
}

func (c *losingConn) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b) // the server has done its work by now
	if err == nil && c.cut.CompareAndSwap(true, false) {
		_ = c.Close()
		return 0, io.ErrUnexpectedEOF
	}
	return n, err
}

// A decision on what the server has lost since is refused, whatever its
// number, and also where others may have written in between.
func refusedOnLost(t *testing.T, f fixture) {
	write := func(data string, after int64, read journal.Position, commutes bool) error {
		_, err := f.Append(t.Context(), f.key, journal.Write{Data: []byte(data), After: after, Read: read, Commutes: commutes})
		return err
	}
	at := func(version int64, data string) journal.Position {
		return journal.Position{Version: version, Digest: journal.Digest([]byte(data))}
	}
	must(t, "append", write("a", 0, journal.Position{}, false))
	kickoff := fmt.Sprintf("%s:{T1/K1}:", f.opts.Prefix)
	restore := storetest.Copy(t, f.rdb, kickoff+"entries", kickoff+"seen", kickoff+"seen-until")
	must(t, "append what is lost", write("b", 1, at(1, "a"), false))
	restore()
	for _, commutes := range []bool{false, true} {
		wantError(t, "append after the end", write("x", 2, at(2, "b"), commutes), journal.ErrConflict)
	}
	_, err := f.Read(t.Context(), f.key, at(2, "b"))
	wantError(t, "read after the end", err, journal.ErrDiverged)
	must(t, "append in its place", write("c", 1, at(1, "a"), false))
	must(t, "append", write("d", 2, at(2, "c"), false))
	for _, commutes := range []bool{false, true} {
		wantError(t, "append after another of that number", write("x", 2, at(2, "b"), commutes), journal.ErrConflict)
		wantError(t, "append after the last of that number", write("x", 3, at(3, "z"), commutes), journal.ErrConflict)
	}
	_, err = f.Read(t.Context(), f.key, at(2, "b"))
	wantError(t, "read after another of that number", err, journal.ErrDiverged)
	must(t, "append after one that stands", write("e", 2, at(2, "c"), true))
	entries, err := f.Read(t.Context(), f.key, at(2, "c"))
	must(t, "read", err)
	assert.Len(t, entries, 2)

	// An entry of an older release has no digest kept beside it.
	must(t, "set back", f.rdb.HSet(t.Context(), kickoff+"seen", "last", "4").Err())
	wantError(t, "append after another of that number", write("x", 4, at(4, "z"), false), journal.ErrConflict)
	must(t, "append after one that stands", write("f", 4, at(4, "e"), false))
}
