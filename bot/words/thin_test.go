package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

func TestThinText(t *testing.T) {
	eight := []state.UserID{"a", "b", "c", "d", "e", "f", "g", "h"}
	closed := func(s state.Stage, round int, thin bool, heard int) state.Window {
		return state.Window{Stage: s, Round: round, Asked: eight, Thin: thin, Answers: &state.Answers{Heard: heard}, Phase: state.PhaseClosed}
	}
	k := state.Kickoff{Past: []state.Window{closed(state.StageFraming, 0, true, 3), closed(state.StageRating, 1, false, 7), closed(state.StageRating, 2, true, 2)}}
	assert.Equal(t, "“Framing the problem”: 3 of 8 answered. Take it with care.", ThinText(k, state.StageFraming))
	assert.Equal(t, "“Rate the assumptions, second round”: 2 of 8 answered. Take it with care.", ThinText(k, state.StageAssumptions, state.StageRating))
	assert.Empty(t, ThinText(k, state.StageRoles))

	k.Past = append(k.Past, closed(state.StageFraming, 0, false, 6), closed(state.StageRating, 1, true, 1))
	assert.Empty(t, ThinText(k, state.StageFraming), "it was opened again, and enough answered")
	assert.Equal(t, "“Rate the assumptions”: 1 of 8 answered. Take it with care.", ThinText(k, state.StageRating))
}

// A lead who does not rate is called so as long as they lead.
func TestNotRatingText(t *testing.T) {
	k := state.Kickoff{Leads: []state.UserID{"ines", "tui"}, People: []state.Person{{ID: "ines", Name: "Inês"}, {ID: "tui", Name: "Tui"}}}
	for _, c := range []struct {
		not  []state.UserID
		lead []state.UserID
		want string
	}{
		{nil, k.Leads, ""},
		{[]state.UserID{"ines"}, k.Leads, "As the lead, Inês chose beforehand not to rate."},
		{[]state.UserID{"ines"}, []state.UserID{"tui"}, "Inês, who led then, chose beforehand not to rate."},
		{k.Leads, k.Leads, "As leads, Inês and Tui chose beforehand not to rate."},
		{k.Leads, []state.UserID{"tui"}, "Inês and Tui, who led then, chose beforehand not to rate."},
	} {
		k.NotRating, k.Leads = c.not, c.lead
		assert.Equal(t, c.want, NotRatingText(k))
	}
}
