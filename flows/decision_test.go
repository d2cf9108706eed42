package flows

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/state"
)

// voted is a kickoff in whose open decision so many of the core team, and so
// many of the others, have voted; each third one for stopping.
func voted(core, others int) *state.Kickoff {
	k := &state.Kickoff{Roles: state.Roles{Self: map[state.UserID]state.Ring{}}}
	k.Underway.Decision.Votes = map[state.UserID]state.DecisionVote{}
	for n := range core + others {
		u := state.UserID(fmt.Sprintf("u%d", n))
		k.People = append(k.People, state.Person{ID: u})
		k.Roles.Self[u] = state.Core
		if n >= core {
			k.Roles.Self[u] = state.Consulted
		}
		k.Underway.Decision.Votes[u] = state.DecisionVote{Choice: state.Build}
		if n%3 == 0 {
			k.Underway.Decision.Votes[u] = state.DecisionVote{Choice: state.Stop}
		}
	}
	return k
}

func TestTheVoteIsToldByRingWhereBothAreEnough(t *testing.T) {
	tally := countDecision(voted(4, 5))
	require.NotNil(t, tally)
	assert.Equal(t, []state.ChoiceCount{{DecisionVote: state.DecisionVote{Choice: state.Build}, N: 2}, {DecisionVote: state.DecisionVote{Choice: state.Stop}, N: 2}}, tally.Core)
	assert.Equal(t, []state.ChoiceCount{{DecisionVote: state.DecisionVote{Choice: state.Build}, N: 4}, {DecisionVote: state.DecisionVote{Choice: state.Stop}, N: 1}}, tally.OthersTally())
}

// Three votes of a ring beside the whole would tell each other's.
func TestAFewVotesOfARingAreNotTold(t *testing.T) {
	for _, few := range [][2]int{{3, 9}, {9, 3}, {0, 9}, {9, 0}, {0, 0}} {
		tally := countDecision(voted(few[0], few[1]))
		assert.Nil(t, tally.Core, "%d of the core team, %d others", few[0], few[1])
		assert.Nil(t, tally.OthersTally())
	}
}
