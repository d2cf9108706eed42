package rehearsal_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
)

// mostCalls is what a kickoff may cost the platform, in Web API calls a
// participant, from the brief to the decision.
const mostCalls = 25

// callsOf counts the Web API calls of a play by method, as the table that
// stands in the administrator's page, and holds them to the budget. The team enforces
// the published rate tiers: none may be met.
func callsOf(t *testing.T, got played) string {
	t.Helper()
	by, answers, sum := map[string]int{}, 0, 0
	for _, c := range got.calls {
		assert.True(t, c.OK, "%s at %v failed: %d %s", c.Method, c.At, c.Status, c.Error)
		if c.Method == fakeslack.ResponseURL {
			answers++
			continue
		}
		by[c.Method]++
		sum++
	}
	per := float64(sum) / float64(got.people)
	assert.False(t, per > mostCalls, "the play costs %.1f Web API calls a participant, which is more than", per)
	var out strings.Builder
	fmt.Fprintf(&out, "| Web API method | calls |\n| --- | ---: |\n")
	methods := slices.SortedFunc(maps.Keys(by), func(a, b string) int {
		if by[a] != by[b] {
			return by[b] - by[a]
		}
		return strings.Compare(a, b)
	})
	for _, m := range methods {
		fmt.Fprintf(&out, "| `%s` | %d |\n", m, by[m])
	}
	fmt.Fprintf(&out, "| all, for %d people | %d |\n| for each of them | %.1f |\n", got.people, sum, per)
	t.Logf("%d answers at the address of a press, and these calls:\n%s", answers, &out)
	return out.String()
}

// allCalls is every call as it was made, but for the address of the
// team, which is another one in each run.
func (p played) allCalls(t *testing.T) string {
	t.Helper()
	data, err := json.MarshalIndent(p.calls, "", " ")
	require.NoError(t, err)
	return strings.ReplaceAll(string(data), p.play.Team().URL(), "http://team.example")
}

// TestAdministratorKnowsWhatAKickoffCosts holds the table in their page to what
// was counted for the golden files.
func TestAdministratorKnowsWhatAKickoffCosts(t *testing.T) {
	const place = "../../deploy/docs/administrator.md"
	counted, err := os.ReadFile("../../testdata/golden/ferry/calls.md")
	require.NoError(t, err)
	page, err := os.ReadFile(place)
	require.NoError(t, err)
	if bytes.Contains(page, counted) {
		return
	}
	before, rest, found := bytes.Cut(page, counted[:bytes.IndexByte(counted, '\n')])
	_, after, ends := bytes.Cut(rest, []byte("\n\n"))
	require.True(t, *rewrite, "the page does not hold this table:\n%s", counted)
	require.True(t, found, "the page does not hold this table:\n%s", counted)
	require.True(t, ends, "the page does not hold this table:\n%s", counted)
	require.NoError(t, os.WriteFile(place, slices.Concat(before, counted, []byte("\n"), after), 0o644))
}
