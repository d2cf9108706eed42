package jobs

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var monday = time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)

func TestVirtual(t *testing.T) { suite(t, virtualBench) }

func virtualBench(t *testing.T, p Policy, h func(context.Context, run) error) bench {
	v := NewVirtualWith(monday, p)
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
	if err != nil || !ran {
		t.Fatalf("Step = %v, %v, want a job to run", ran, err)
	}
}

// Whatever comes in, jobs run in the order of a stable sort by time, and the
// clock stands at the later of the job's time and its own.
func TestVirtualOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := NewVirtual(monday)
		hours := rapid.SliceOfN(rapid.IntRange(-3, 5), 0, 30).Draw(t, "hours")
		var want []Job
		for i, h := range hours {
			j := Job{ID: string(rune('A' + i)), Kind: "wake", At: monday.Add(time.Duration(h) * time.Hour)}
			if h == 0 {
				j.At = time.Time{} // now
			}
			if err := v.Enqueue(context.Background(), j); err != nil {
				t.Fatal(err)
			}
			if h == 0 {
				j.At = monday
			}
			want = append(want, j)
		}
		slices.SortStableFunc(want, func(a, b Job) int { return a.At.Compare(b.At) })
		for _, w := range want {
			next, ok := v.Next()
			if !ok || !next.Equal(w.At) {
				t.Fatalf("Next = %v, %v, want %v", next, ok, w.At)
			}
			ran, err := v.Step(context.Background(), func(_ context.Context, j Job) error {
				if j.ID != w.ID {
					t.Fatalf("ran %s, want %s", j.ID, w.ID)
				}
				if at := later(w.At, monday); !v.Now().Equal(at) {
					t.Fatalf("job %s ran at %v, want %v", j.ID, v.Now(), at)
				}
				return nil
			})
			if err != nil || !ran {
				t.Fatalf("Step = %v, %v", ran, err)
			}
		}
		if _, ok := v.Next(); ok {
			t.Error("a job is left")
		}
		if ran, err := v.Step(context.Background(), nil); ran || err != nil {
			t.Errorf("Step without a job = %v, %v, want false", ran, err)
		}
	})
}

func TestVirtualClockOnlyMovesForward(t *testing.T) {
	v := NewVirtual(monday)
	for _, tt := range []struct{ to, want time.Time }{
		{monday.Add(time.Hour), monday.Add(time.Hour)},
		{monday, monday.Add(time.Hour)},
		{monday.Add(2 * time.Hour), monday.Add(2 * time.Hour)},
	} {
		v.Advance(tt.to)
		if !v.Now().Equal(tt.want) {
			t.Errorf("after Advance(%v) it is %v, want %v", tt.to, v.Now(), tt.want)
		}
	}
}

// A retried job goes behind others of the same time.
func TestVirtualRetryGoesBehind(t *testing.T) {
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
		if err := v.Enqueue(t.Context(), Job{ID: id, Kind: "wake"}); err != nil {
			t.Fatal(err)
		}
	}
	for range 3 {
		step(t, v, handle)
	}
	if want := []string{"a", "b", "a"}; !slices.Equal(ran, want) {
		t.Errorf("ran %q, want %q", ran, want)
	}
}

// The pauses of the default policy add up to about a day, in no real time.
func TestVirtualGivesUpAfterADay(t *testing.T) {
	v := NewVirtual(monday)
	if err := v.Enqueue(t.Context(), Job{ID: "a", Kind: "effects"}); err != nil {
		t.Fatal(err)
	}
	for len(v.Failed()) == 0 {
		step(t, v, func(context.Context, Job) error { return errStorm })
	}
	// 1+2+4+…+512 s, then 89 times 900 s: 99 pauses between 100 tries.
	if got, want := v.Now().Sub(monday), 1023*time.Second+89*15*time.Minute; got != want {
		t.Errorf("given up after %v, want %v", got, want)
	}
	f := v.Failed()[0]
	if f.Tries != 100 || f.Job.ID != "a" || !errors.Is(f.Err, errStorm) {
		t.Errorf("Failed = %+v, want job a after 100 tries", f)
	}
	if err := v.Err(); !errors.Is(err, errStorm) || !strings.Contains(err.Error(), "job a, given up after 100 failures") {
		t.Errorf("Err = %v", err)
	}
}

func TestVirtualWithoutFailures(t *testing.T) {
	if err := NewVirtual(monday).Err(); err != nil {
		t.Errorf("Err = %v, want none", err)
	}
}

// A rehearsal that is stopped leaves its jobs as they were.
func TestVirtualStopsWithItsContext(t *testing.T) {
	v := NewVirtual(monday)
	if err := v.Enqueue(t.Context(), Job{ID: "a", Kind: "effects"}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	_, err := v.Step(ctx, func(ctx context.Context, _ Job) error {
		cancel()
		return ctx.Err()
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("Step = %v, want %v", err, context.Canceled)
	}
	if ran, err := v.Step(ctx, nil); ran || !errors.Is(err, context.Canceled) {
		t.Errorf("Step with an ended context = %v, %v, want %v", ran, err, context.Canceled)
	}
	if len(v.Failed()) != 0 {
		t.Errorf("Failed = %v, want none", v.Failed())
	}
	step(t, v, func(_ context.Context, j Job) error { return nil })
}

// Many hands may step and enqueue at once; each job runs once.
func TestVirtualIsSafeForManyHands(t *testing.T) {
	v := NewVirtual(monday)
	c := newRecorder()
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			for n := range 50 {
				id := string(rune('A'+i)) + string(rune('A'+n))
				if err := v.Enqueue(t.Context(), Job{ID: id, Kind: "wake", At: monday.Add(time.Duration(n) * time.Minute)}); err != nil {
					t.Errorf("Enqueue: %v", err)
				}
				v.Next()
				if _, err := v.Step(t.Context(), func(_ context.Context, j Job) error {
					c.record(j, v.Now())
					return nil
				}); err != nil {
					t.Errorf("Step: %v", err)
				}
			}
		})
	}
	wg.Wait()
	runs := c.all()
	if len(runs) != 400 {
		t.Errorf("%d runs, want 400", len(runs))
	}
	for _, r := range runs {
		if r.nth != 1 {
			t.Errorf("job %s ran %d times", r.job.ID, r.nth)
		}
	}
}
