package rehearsal_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// What people say of any problem is a script like others: twelve, five and one of them
// play it to its end.
func TestAnyProblemIsPlayedToItsEnd(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"ferry.yaml", "five.yaml", "solo.yaml"} {
		s := readScenario(t, name)
		p := run(t, rehearsal.PlayConfig{Scenario: scenario.AnyProblem(s.People, s.Starts)})
		shown := p.Transcript()
		assert.Contains(t, shown, "People who have this problem would change what they do today", name)
		if name != "solo.yaml" { // one alone has given no ratings to be counted by others
			assert.Contains(t, shown, "Conversations with people who have the problem", name)
		}
	}
}
