package fakeslack

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseFaults(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       Faults
	}{
		{"nothing", "", Faults{}},
		{"none", "none", Faults{}},
		{"one", "lost=5", Faults{faultLost: {Every: 5}}},
		{"several, with spaces", "lost=5, slow=3:800ms", Faults{faultLost: {Every: 5}, faultSlow: {Every: 3, Lasts: 800 * time.Millisecond}}},
		{"a storm", "limited=20:30s", Faults{faultLimited: {Every: 20, Lasts: 30 * time.Second}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ParseFaults(c.text)
			assert.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}
}

func TestAllIsSomeOfEverything(t *testing.T) {
	f, err := ParseFaults("all")
	require.NoError(t, err)
	for _, k := range FaultKinds {
		every := f[k.Name].Every
		assert.GreaterOrEqual(t, every, 2, "%s: every", k.Name)
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
			assert.Error(t, err, "got %+v, %v; want it to say", f, err)
			assert.Contains(t, err.Error(), c.says, "got %+v, %v; want it to say", f, err)
			assert.Equal(t, (Faults{}), f, "got %+v, %v; want it to say", f, err)
		})
	}
}

func TestFaultsReadAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Faults{}
		for _, k := range FaultKinds {
			every := rapid.IntRange(0, 99).Draw(t, k.Name)
			if every == 0 {
				continue
			}
			f[k.Name] = Fault{Every: every}
			if k.timed {
				f[k.Name] = Fault{Every: every, Lasts: time.Duration(rapid.IntRange(0, 5000).Draw(t, k.Name+" time")) * time.Millisecond}
			}
		}
		got, err := ParseFaults(f.String())
		require.NoError(t, err, "%q", f.String())
		require.Equal(t, f, got, "%q", f.String())
		require.Equal(t, (f.String() != "none"), f.Any(), "%q: Any says", f.String())
	})
}
