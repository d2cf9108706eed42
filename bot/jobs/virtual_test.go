package jobs

import (
	"context"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var monday = time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)

func TestVirtual(t *testing.T) {
	t.Parallel()
	suite(t, virtualBench)
}

func virtualBench(t *testing.T, p Policy, h func(context.Context, run) error) bench {
	v := NewVirtual(monday)
	v.policy = p.withDefaults()
	c := newRecorder()
	handle := func(ctx context.Context, j Job) error { return h(ctx, c.record(j, v.Now())) }
	return bench{
		Enqueue: v.Enqueue,
		Forget:  v.Forget,
		now:     v.Now,
		await: func(t *testing.T, n int) []run {
			t.Helper()
			for len(c.all()) < n {
				step(t, v, handle)
			}
			return c.all()
		},
		turn: func(t *testing.T) {
			t.Helper()
			v.Advance(v.Now().Add(20 * time.Millisecond))
			for next, ok := v.Next(); ok && !next.After(v.Now()); next, ok = v.Next() {
				step(t, v, handle)
			}
		},
		givenUp: func(_ *testing.T, id string) bool {
			return slices.ContainsFunc(v.Failed(), func(f Failure) bool { return f.Job.ID == id })
		},
	}
}

func step(t *testing.T, v *Virtual, h Handler) {
	t.Helper()
	ran, err := v.Step(t.Context(), h)
	require.NoError(t, err, "Step = %v", ran)
	require.True(t, ran, "Step = %v", ran)
}

// Whatever comes in, jobs run in the order of a stable sort by time, and the
// clock stands at the later of the job's time and its own.
func TestVirtualOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := NewVirtual(monday)
		hours := rapid.SliceOfN(rapid.IntRange(-3, 5), 0, 30).Draw(t, "hours")
		var want []Job
		for i, h := range hours {
			j := Job{ID: string(rune('A' + i)), Kind: "wake", At: monday.Add(time.Duration(h) * time.Hour)}
			if h == 0 {
				j.At = time.Time{} // now
			}
			require.NoError(t, v.Enqueue(context.Background(), j))
			if h == 0 {
				j.At = monday
			}
			want = append(want, j)
		}
		slices.SortStableFunc(want, func(a, b Job) int { return a.At.Compare(b.At) })
		for _, w := range want {
			next, ok := v.Next()
			require.True(t, ok, "Next = %v, %v, want %v", next, ok, w.At)
			require.True(t, next.Equal(w.At), "Next = %v, %v, want %v", next, ok, w.At)
			ran, err := v.Step(context.Background(), func(_ context.Context, j Job) error {
				require.Equal(t, w.ID, j.ID, "ran")
				at := later(w.At, monday)
				require.True(t, v.Now().Equal(at), "job %s ran at %v, want %v", j.ID, v.Now(), at)
				return nil
			})
			require.NoError(t, err, "Step = %v", ran)
			require.True(t, ran, "Step = %v", ran)
		}
		_, ok := v.Next()
		assert.False(t, ok, "a job is left")
		ran, err := v.Step(context.Background(), nil)
		assert.False(t, ran, "Step without a job = %v", ran)
		assert.NoError(t, err, "Step without a job = %v", ran)
	})
}

func TestVirtualClockOnlyMovesForward(t *testing.T) {
	t.Parallel()
	v := NewVirtual(monday)
	for _, tt := range []struct{ to, want time.Time }{
		{monday.Add(time.Hour), monday.Add(time.Hour)},
		{monday, monday.Add(time.Hour)},
		{monday.Add(2 * time.Hour), monday.Add(2 * time.Hour)},
	} {
		v.Advance(tt.to)
		assert.True(t, v.Now().Equal(tt.want), "after Advance(%v) it is %v, want %v", tt.to, v.Now(), tt.want)
	}
}

// A retried job goes behind others of the same time.
func TestVirtualRetryGoesBehind(t *testing.T) {
	t.Parallel()
	v := NewVirtual(monday)
	var ran []string
	handle := func(_ context.Context, j Job) error {
		ran = append(ran, j.ID)
		if len(ran) == 1 {
			return Retry(errStorm, 0)
		}
		return nil
	}
	for _, id := range []string{"a", "b"} {
		require.NoError(t, v.Enqueue(t.Context(), Job{ID: id, Kind: "wake"}))
	}
	for range 3 {
		step(t, v, handle)
	}
	assert.Equal(t, []string{"a", "b", "a"}, ran, "ran")
}

// The pauses of the default policy add up to about a day, in no real time.
func TestVirtualGivesUpAfterADay(t *testing.T) {
	t.Parallel()
	v := NewVirtual(monday)
	require.NoError(t, v.Enqueue(t.Context(), Job{ID: "a", Kind: "effects"}))
	for len(v.Failed()) == 0 {
		step(t, v, func(context.Context, Job) error { return errStorm })
	}
	// 1+2+4+…+512 s, then 89 times 900 s: 99 pauses between 100 tries.
	assert.Equal(t, 1023*time.Second+89*15*time.Minute, v.Now().Sub(monday), "given up after")
	f := v.Failed()[0]
	assert.Equal(t, 100, f.Tries, "Failed = %+v, want job a after 100 tries", f)
	assert.Equal(t, "a", f.Job.ID, "Failed = %+v, want job a after 100 tries", f)
	assert.ErrorIs(t, f.Err, errStorm, "Failed = %+v, want job a after 100 tries", f)
}

// A rehearsal that is stopped leaves its jobs as they were.
func TestVirtualStopsWithItsContext(t *testing.T) {
	t.Parallel()
	v := NewVirtual(monday)
	require.NoError(t, v.Enqueue(t.Context(), Job{ID: "a", Kind: "effects"}))
	ctx, cancel := context.WithCancel(t.Context())
	_, err := v.Step(ctx, func(ctx context.Context, _ Job) error {
		cancel()
		return ctx.Err()
	})
	assert.ErrorIs(t, err, context.Canceled, "Step")
	ran, err := v.Step(ctx, nil)
	assert.False(t, ran, "Step with an ended context = %v", ran)
	assert.ErrorIs(t, err, context.Canceled, "Step with an ended context = %v", ran)
	assert.Empty(t, v.Failed(), "Failed")
	step(t, v, func(_ context.Context, j Job) error { return nil })
}

// Many hands may step and enqueue at once; each job runs once.
func TestVirtualIsSafeForManyHands(t *testing.T) {
	t.Parallel()
	v := NewVirtual(monday)
	c := newRecorder()
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			for n := range 50 {
				id := string(rune('A'+i)) + string(rune('A'+n))
				assert.NoError(t, v.Enqueue(t.Context(), Job{ID: id, Kind: "wake", At: monday.Add(time.Duration(n) * time.Minute)}), "Enqueue")
				v.Next()
				_, err := v.Step(t.Context(), func(_ context.Context, j Job) error {
					c.record(j, v.Now())
					return nil
				})
				assert.NoError(t, err, "Step")
			}
		})
	}
	wg.Wait()
	runs := c.all()
	assert.Len(t, runs, 400, "runs")
	for _, r := range runs {
		assert.Equal(t, 1, r.nth, "job %s ran %d times", r.job.ID, r.nth)
	}
}
