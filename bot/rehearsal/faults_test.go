package rehearsal_test

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/rehearsal"
)

// playFaulty plays five.yaml while things go wrong.
func playFaulty(t *testing.T, faults string, socket bool) *rehearsal.Play {
	t.Helper()
	f, err := fakeslack.ParseFaults(faults)
	require.NoError(t, err)
	return run(t, rehearsal.PlayConfig{Scenario: readScenario(t, "five.yaml"), Faults: f, Socket: socket})
}

// seconds is where it shows in the files when exactly the lead got the kickoff
// started, which is part of its id, and when the files were drawn.
var seconds = regexp.MustCompile(`\bC[0-9]+-[0-9]+|"exported": "[^"]+"|DTSTAMP:\w+`)

func withoutSeconds(files map[string][]byte) map[string][]byte {
	out := map[string][]byte{}
	for name, data := range files {
		out[name] = seconds.ReplaceAll(data, []byte("second"))
	}
	return out
}

// TestFaultsChangeNothing plays the same script under each fault, and under
// all of them, over HTTP and by socket: the files are the same bytes, and every
// message of the channel stands there once.
func TestFaultsChangeNothing(t *testing.T) {
	t.Parallel()
	calm := playedOnce(t, "five.yaml")
	wantFiles, wantTexts := withoutSeconds(calm.files), texts(calm.play)
	for _, c := range []struct {
		name, faults string
		socket       bool
		struck       []string
		often        bool // also without -all
	}{
		{name: "slow", faults: "slow=2:600ms", struck: []string{"slow"}},
		{name: "refused", faults: "refused=7", struck: []string{"refused"}},
		{name: "failed", faults: "failed=7", struck: []string{"failed"}},
		{name: "limited", faults: "limited=11", struck: []string{"limited"}},
		{name: "lost", faults: "lost=7", struck: []string{"lost"}},
		{name: "doubled", faults: "doubled=2", struck: []string{"doubled"}},
		{name: "dropped sockets", faults: "dropped=5", socket: true, struck: []string{"dropped"}, often: true},
		{name: "all over HTTP", faults: "all", struck: []string{"slow", "refused", "failed", "limited", "lost", "doubled"}, often: true},
		{name: "all by socket", faults: "slow=3:700ms,refused=29,failed=31,limited=23,lost=37,doubled=5,reordered=2,dropped=13", socket: true, struck: []string{"slow", "refused", "failed", "limited", "lost", "doubled", "dropped"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !c.often && !*all {
				t.Skip("one fault by itself is played with -all only, as .ci/run does")
			}
			t.Parallel()
			p := playFaulty(t, c.faults, c.socket)
			struck := p.Team().Faults.Struck()
			for _, fault := range c.struck {
				assert.GreaterOrEqual(t, struck[fault], 3, "%s struck %d times only", fault, struck[fault])
			}
			sameFiles(t, c.name, withoutSeconds(filesOf(t, p)), wantFiles)
			sameTexts(t, texts(p), wantTexts)
		})
	}
}

func sameTexts(t *testing.T, got, want map[string]int) {
	t.Helper()
	for slot, n := range want {
		assert.Equal(t, n, got[slot], "%s stands %d times", slot, got[slot])
	}
	for slot := range got {
		assert.NotEqual(t, want[slot], 0, "%s should not be there", slot)
	}
}

// texts counts the messages of the bot in the channel by their slot.
func texts(p *rehearsal.Play) map[string]int {
	out := map[string]int{}
	for _, m := range p.Team().Messages(p.Team().Channels()[0].ID) {
		if m.Metadata != nil {
			slot, _ := m.Metadata.EventPayload["slot"].(string)
			out[slot]++
		}
	}
	return out
}
