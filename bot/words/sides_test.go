package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

// What the two sides see differently is one sentence, with the clearest three.
func TestApartText(t *testing.T) {
	of := func(n int) state.Sides {
		all := []state.Apart{{Assumption: "A8", Scale: state.Importance}, {Assumption: "A4", Scale: state.Evidence, CoreHigher: true},
			{Assumption: "A4", Scale: state.Importance, CoreHigher: true}, {Assumption: "A1", Scale: state.Evidence}, {Assumption: "A2", Scale: state.Evidence}}
		return state.Sides{Apart: all[:n]}
	}
	const then = " A difference as large would rarely come by chance: what does one side know that the other does not?"
	for n, want := range []string{
		"",
		"The core team finds A8 less important than the others do." + then,
		"The core team finds A8 less important and A4 better known than the others do." + then,
		"The core team finds A8 less important, A4 better known and A4 more important than the others do." + then,
		"The core team finds A8 less important, A4 better known and A4 more important than the others do. On 1 further point they differ too." + then,
		"The core team finds A8 less important, A4 better known and A4 more important than the others do. On 2 further points they differ too." + then,
	} {
		assert.Equal(t, want, ApartText(of(n)))
	}
	assert.Contains(t, ApartText(state.Sides{Apart: of(5).Apart[3:]}), "finds A1 less well known and A2 less well known than")
}

// That no ballot decides is said of all alike; that one does is not said, since it could be
// the lead's.
func TestSingleText(t *testing.T) {
	k := state.Kickoff{Leads: []state.UserID{"ines"}}
	assert.Empty(t, SingleText(k, state.Sides{}), "it was not looked at")
	assert.Empty(t, SingleText(k, state.Sides{Single: true, Pivotal: []string{"A7"}}))
	assert.Equal(t, "No single ballot decides which three come first, the lead's included.", SingleText(k, state.Sides{Single: true}))
	k.NotRating = k.Leads
	assert.Equal(t, "No single ballot decides which three come first.", SingleText(k, state.Sides{Single: true}))
}
