package fakeslack

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestParseFaults(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Faults
	}{
		{"nothing", "", Faults{}},
		{"none", "none", Faults{}},
		{"one", "lost=5", Faults{Lost: 5}},
		{"several, with spaces", "lost=5, slow=3:800ms", Faults{Lost: 5, Slow: 3, SlowBy: 800 * time.Millisecond}},
		{"a storm", "limited=20:30s", Faults{Limited: 20, LimitedFor: 30 * time.Second}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ParseFaults(c.text)
			if err != nil || got != c.want {
				t.Errorf("got %+v, %v", got, err)
			}
		})
	}
}

func TestAllIsSomeOfEverything(t *testing.T) {
	f, err := ParseFaults("all")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range FaultKinds() {
		if every, _ := f.place(k.Name); *every < 2 {
			t.Errorf("%s: every %d, want it now and then", k.Name, *every)
		}
	}
}

// A person reads what is wrong with a flag, and what would do.
func TestParseFaultsRefuses(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"an unknown fault", "fire=3", "slow, refused, failed, limited, lost, doubled, reordered, dropped"},
		{"no number", "lost", "lost=5"},
		{"never", "lost=0", "lost=5"},
		{"backwards", "lost=-2", "lost=5"},
		{"a time where there is none", "lost=5:3s", "takes no time"},
		{"no time", "slow=5:", "800ms"},
		{"a time that runs backwards", "slow=5:-1s", "800ms"},
		{"an empty part", "lost=5,", "the faults are"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := ParseFaults(c.text)
			if err == nil || !strings.Contains(err.Error(), c.says) || f != (Faults{}) {
				t.Errorf("got %+v, %v; want it to say %q", f, err, c.says)
			}
		})
	}
}

func TestFaultsReadAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var f Faults
		for _, k := range FaultKinds() {
			every, length := f.place(k.Name)
			*every = rapid.IntRange(0, 99).Draw(t, k.Name)
			if (length != nil) != k.Time {
				t.Fatalf("%s: a time is offered: %v", k.Name, k.Time)
			}
			if length != nil && *every > 0 {
				*length = time.Duration(rapid.IntRange(0, 5000).Draw(t, k.Name+" time")) * time.Millisecond
			}
		}
		got, err := ParseFaults(f.String())
		if err != nil || got != f {
			t.Fatalf("%q: got %+v, %v; want %+v", f.String(), got, err, f)
		}
		if f.Any() != (f.String() != "none") {
			t.Fatalf("%q: Any says %v", f.String(), f.Any())
		}
	})
}
