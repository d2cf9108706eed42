package screens

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows"
	"soundings/flows/state"
)

func TestPlaceSelf(t *testing.T) {
	for _, c := range []struct {
		rule string
		fill map[string]string
		ring state.Ring
		days float64
	}{
		{"core, with days", map[string]string{"ring": "core", "days": "3.5"}, state.Core, 3.5},
		{"core, without days", map[string]string{"ring": "core"}, state.Core, state.DefaultDays},
		{"days count only in the core", map[string]string{"ring": "informed", "days": "3"}, state.Informed, 0},
	} {
		k := filled{moment: "roles", form: "roles.place", who: "U2", fill: c.fill}.taken(t)
		got := k.Roles.Self["U2"]
		assert.False(t, got != c.ring || k.Roles.Days["U2"] != c.days, "%s: placed %q with %v days, want %q with %v", c.rule, got, k.Roles.Days["U2"], c.ring, c.days)
	}
	k := filled{moment: "roles", form: "roles.place", who: "U1", fill: map[string]string{}}.taken(t)
	assert.False(t, k.Roles.Self["U1"] != state.Core || k.Roles.Days["U1"] != 2.5, "sending the form as it opens changes the place to %q with %v days", k.Roles.Self["U1"], k.Roles.Days["U1"])
}

func TestNameSomebody(t *testing.T) {
	k := filled{moment: "roles", form: "roles.name", who: "U3", fill: map[string]string{"user": "U8", "ring": "core"}}.taken(t)
	assert.Equal(t, (state.NamedPerson{By: "U3", User: "U8", Ring: state.Core}), k.Roles.Named[len(k.Roles.Named)-1], "named")
	k = filled{moment: "roles", form: "roles.name", who: "U3", fill: map[string]string{"name": "The mayor", "ring": "informed"}}.taken(t)
	assert.Equal(t, (state.NamedPerson{By: "U3", Name: "The mayor", Ring: state.Informed}), k.Roles.Named[len(k.Roles.Named)-1], "named")
	_, answer := filled{moment: "roles", form: "roles.name", who: "U3", fill: map[string]string{"ring": "core"}}.submit(t)
	assert.NotEqual(t, "", answer.Errors["name"], "nobody named gives %+v", answer)
	assert.Empty(t, answer.Intents, "nobody named gives %+v", answer)
}

func TestRolesAreSettledWhereTheyDiffer(t *testing.T) {
	k := filled{moment: "roles/settling", form: "roles.settle", who: "U1", fill: map[string]string{"ring/core": "U1,U2", "ring/consulted": ""}}.taken(t)
	want := map[state.UserID]state.Ring{"U2": state.Core}
	assert.Equal(t, want, k.Roles.Settled, "settled %v, want %v: the others stand where they placed themselves", k.Roles.Settled, want)
	assert.Equal(t, state.UserID("U1"), k.Roles.DoneBy, "settled by %q, at stage", k.Roles.DoneBy)
	assert.Equal(t, state.StageAssumptions, k.Stage, "settled by %q, at stage", k.Roles.DoneBy)
}

// What was settled before a stage was reopened stands until the lead says
// otherwise; of those who left, nothing is settled.
func TestRolesSettledBeforeStayAsTheyWere(t *testing.T) {
	m := momentAt(t, "roles/settling")
	m.K.Roles.Settled = map[state.UserID]state.Ring{"U2": state.Core, "U3": state.Core, "U9": state.Core}
	intent, _, err := Do("roles.confirm", pageFor(m, "U1"))
	require.NoError(t, err)
	assert.Equal(t, (map[state.UserID]state.Ring{"U2": state.Core, "U3": state.Core}), take(t, m, intent).K.Roles.Settled, "settled")
	view, err := Open("roles.settle", pageFor(m, "U1"))
	require.NoError(t, err)
	answer, err := Submit("roles.settle", pageFor(m, "U1"), fillIn(t, view, map[string]string{"ring/core": "U1,U2", "ring/informed": "U3"}))
	require.NoError(t, err)
	assert.Equal(t, (map[state.UserID]state.Ring{"U2": state.Core, "U3": state.Informed}), take(t, m, answer.Intents[0]).K.Roles.Settled, "settled")
}

func TestTheLeadSeesWhereViewsDiffer(t *testing.T) {
	m := momentAt(t, "roles/settling")
	slot := flows.Slot{Screen: flows.ScreenSettle, Arg: "roles", To: "U1"}
	drawn := func() string {
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		return PlainText(posting)
	}
	assert.Contains(t, drawn(), "Tui said consulted; Ana expects core team.", "the lead does not read")
	m.K.Roles.Self = map[state.UserID]state.Ring{"U1": state.Consulted, "U3": state.Informed}
	got := drawn()
	for _, want := range []string{"Nobody placed themselves in the core team. Until somebody is there, you are.", "Tui did not say; Ana expects core team."} {
		assert.Contains(t, got, want, "the lead does not read")
	}
	m.K.Roles.Self, m.K.Roles.Named = map[state.UserID]state.Ring{"U1": state.Core}, nil
	assert.Contains(t, drawn(), "Nobody sees it differently.", "the lead does not read")
}

func TestTheResultSaysThatNobodyIsCore(t *testing.T) {
	k := kickoffAt(t, state.StageAssumptions)
	const says = "Nobody is in the core team, so the lead does the work for now."
	assert.NotContains(t, rolesBy(k), says, "with a core team it says")
	k.Roles.Self, k.Roles.Settled = nil, nil
	assert.Contains(t, rolesBy(k), says, "without a core team it says")
}

// A view holds 100 blocks: of more people, the first are asked about, and
// nothing that was settled of the others is lost.
func TestSettlingMorePeopleThanAFormHolds(t *testing.T) {
	m := momentAt(t, "roles/settling")
	m.K.People = slices.Clone(m.K.People)
	for i := range 120 {
		m.K.People = append(m.K.People, state.Person{ID: state.UserID(fmt.Sprint("V", i)), Name: "V"})
	}
	last := m.K.People[len(m.K.People)-1].ID
	m.K.Roles.Settled = map[state.UserID]state.Ring{last: state.Core}
	view, err := Open("roles.settle", pageFor(m, "U1"))
	require.NoError(t, err)
	checkView(t, "roles.settle", view)
	answer, err := Submit("roles.settle", pageFor(m, "U1"), fillIn(t, view, nil))
	require.NoError(t, err)
	assert.Equal(t, state.Core, take(t, m, answer.Intents[0]).K.Roles.Settled[last], "whom the form had no room for is now")
}

// Somebody in two lists, or in none where they had a place, is said at the list.
func TestEverybodyStandsInOneList(t *testing.T) {
	for rule, fill := range map[string]map[string]string{
		"in two":  {"ring/core": "U1,U2", "ring/consulted": "U2"},
		"in none": {"ring/core": ""},
	} {
		_, answer := filled{moment: "roles/settling", form: "roles.settle", who: "U1", fill: fill}.submit(t)
		assert.NotEmpty(t, answer.Errors, rule)
		for field, said := range answer.Errors {
			assert.Contains(t, []string{"ring/core", "ring/consulted"}, field, rule)
			checkSentence(t, field, said)
		}
	}
}

// The form in which a lead gives everybody a place says who has none.
func TestTheFormOfPlacesNamesWhoHasNone(t *testing.T) {
	m := momentAt(t, "roles/settling")
	drawn := func() string {
		view, err := Open("roles.settle", pageFor(m, "U1"))
		require.NoError(t, err)
		checkView(t, "roles.settle", view)
		return PlainForm(view)
	}
	m.K.Roles.Self, m.K.Roles.Named = map[state.UserID]state.Ring{"U1": state.Core}, nil
	assert.Contains(t, drawn(), "Not placed: Tui and Noor")
	m.K.Roles.Self = map[state.UserID]state.Ring{"U1": state.Core, "U2": state.Core, "U3": state.Informed}
	assert.NotContains(t, drawn(), "Not placed")
}
