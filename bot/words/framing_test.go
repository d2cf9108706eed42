package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

// What a result is called: agreed from three quarters on (common practice, no source).
func TestSettledText(t *testing.T) {
	began, other := "Nobody knows whether there is room.", "On Fridays nobody knows whether there is room."
	kickoff := func(by state.UserID, problem string, voters, level int, ticked ...int) state.Kickoff {
		k := state.Kickoff{People: []state.Person{{ID: "U1", Name: "Ana"}}, Brief: state.Brief{Problem: began},
			Framing: state.Framing{Wordings: []state.Wording{{N: 1, Level: -1, Text: other}}, Settled: true, SettledBy: by, Problem: problem, AtLevel: level, Ticked: ticked}}
		k.Framing.Level.N = voters
		if ticked[1] > ticked[0] {
			k.Framing.Proposed = 1
		}
		return k
	}
	for _, c := range []struct {
		k    state.Kickoff
		want string
	}{
		{kickoff("U1", began, 8, 0, 4, 2), "Ana settled it, with the wording that people chose. 4 of 8 could live with it; 4 did not tick it."},
		{kickoff("U1", began, 8, 0, 5, 2), "Ana settled it, with the wording that people chose. 5 of 8 could live with it; 3 did not tick it."},
		{kickoff("U1", began, 8, 0, 6, 2), "Ana settled it, with the wording that people chose. 6 of 8 could live with it: agreed."},
		{kickoff("U1", began, 8, 0, 8, 2), "Ana settled it, with the wording that people chose. All 8 could live with it: agreed."},
		{kickoff("U1", began, 1, 0, 1, 0), "Ana settled it, with the wording that people chose. 1 of 1 could live with it: agreed."},
		{kickoff("", other, 8, -1, 1, 5), "The lead did not settle it in time, so what people chose stands. 5 of 8 could live with it; 3 did not tick it."},
		{kickoff("", other, 8, 0, 1, 7), "The lead did not settle it in time, so what people chose stands. 7 of 8 could live with it: agreed. The level is 0, but this wording stands at -1."},
		{kickoff("U1", began, 8, 0, 1, 7), "Ana settled it, and kept the original wording. 1 of 8 could live with it; 7 did not tick it."},
		{kickoff("U1", "Something else.", 8, 0, 1, 7), "Ana settled it, and changed the wording that people chose. These words are new, so nobody has ticked them."},
		{kickoff("U1", began, 0, 0, 0, 0), "Ana settled it, as it was brought. Nobody ticked a wording."},
	} {
		assert.Equal(t, c.want, SettledText(c.k))
	}
	assert.Empty(t, SettledText(state.Kickoff{}))
}
