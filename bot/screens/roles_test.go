package screens

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"soundings/flows"
)

func TestPlaceSelf(t *testing.T) {
	for _, c := range []struct {
		rule string
		fill map[string]string
		ring flows.Ring
		days float64
	}{
		{"core, with days", map[string]string{"ring": "core", "days": "3.5"}, flows.Core, 3.5},
		{"core, without days", map[string]string{"ring": "core"}, flows.Core, flows.DefaultDays},
		{"days count only in the core", map[string]string{"ring": "informed", "days": "3"}, flows.Informed, 0},
	} {
		k := filled{moment: "roles", form: "roles.place", who: "U2", fill: c.fill}.taken(t)
		if got := k.Roles.Self["U2"]; got != c.ring || k.Roles.Days["U2"] != c.days {
			t.Errorf("%s: placed %q with %v days, want %q with %v", c.rule, got, k.Roles.Days["U2"], c.ring, c.days)
		}
	}
	k := filled{moment: "roles", form: "roles.place", who: "U1", fill: map[string]string{}}.taken(t)
	if k.Roles.Self["U1"] != flows.Core || k.Roles.Days["U1"] != 2.5 {
		t.Errorf("sending the form as it opens changes the place to %q with %v days", k.Roles.Self["U1"], k.Roles.Days["U1"])
	}
}

func TestNameSomebody(t *testing.T) {
	k := filled{moment: "roles", form: "roles.name", who: "U3", fill: map[string]string{"user": "U8", "ring": "core"}}.taken(t)
	if got, want := k.Roles.Named[len(k.Roles.Named)-1], (flows.NamedPerson{By: "U3", User: "U8", Ring: flows.Core}); got != want {
		t.Errorf("named %+v, want %+v", got, want)
	}
	k = filled{moment: "roles", form: "roles.name", who: "U3", fill: map[string]string{"name": "The mayor", "ring": "informed"}}.taken(t)
	if got, want := k.Roles.Named[len(k.Roles.Named)-1], (flows.NamedPerson{By: "U3", Name: "The mayor", Ring: flows.Informed}); got != want {
		t.Errorf("named %+v, want %+v", got, want)
	}
	_, answer := filled{moment: "roles", form: "roles.name", who: "U3", fill: map[string]string{"ring": "core"}}.submit(t)
	if answer.Errors["name"] == "" || len(answer.Intents) > 0 {
		t.Errorf("nobody named gives %+v", answer)
	}
}

func TestRolesAreSettledWhereTheyDiffer(t *testing.T) {
	k := filled{moment: "roles/settling", form: "roles.settle", who: "U1", fill: map[string]string{"ring/U2": "core"}}.taken(t)
	if want := map[flows.UserID]flows.Ring{"U2": flows.Core}; !maps.Equal(k.Roles.Settled, want) {
		t.Errorf("settled %v, want %v: the others stand where they placed themselves", k.Roles.Settled, want)
	}
	if k.Roles.DoneBy != "U1" || k.Stage != flows.StageAssumptions {
		t.Errorf("settled by %q, at stage %s", k.Roles.DoneBy, k.Stage)
	}
}

// What was settled before a stage was reopened stands until the lead says
// otherwise; of those who left, nothing is settled.
func TestRolesSettledBeforeStayAsTheyWere(t *testing.T) {
	m := momentAt(t, "roles/settling")
	m.K.Roles.Settled = map[flows.UserID]flows.Ring{"U2": flows.Core, "U3": flows.Core, "U9": flows.Core}
	intent, _, err := Do("roles.confirm", pageFor(m, "U1"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := take(t, m, intent).K.Roles.Settled, (map[flows.UserID]flows.Ring{"U2": flows.Core, "U3": flows.Core}); !maps.Equal(got, want) {
		t.Errorf("settled %v, want %v", got, want)
	}
	view, err := Open("roles.settle", pageFor(m, "U1"))
	if err != nil {
		t.Fatal(err)
	}
	answer, err := Submit("roles.settle", pageFor(m, "U1"), fillIn(t, view, map[string]string{"ring/U3": "informed"}))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := take(t, m, answer.Intents[0]).K.Roles.Settled, (map[flows.UserID]flows.Ring{"U2": flows.Core, "U3": flows.Informed}); !maps.Equal(got, want) {
		t.Errorf("settled %v, want %v", got, want)
	}
}

func TestTheLeadSeesWhereViewsDiffer(t *testing.T) {
	m := momentAt(t, "roles/settling")
	slot := flows.Slot{Screen: flows.ScreenSettle, Arg: "roles", To: "U1"}
	drawn := func() string {
		posting, err := Message(m.K, slot, m.Now)
		if err != nil {
			t.Fatal(err)
		}
		return PlainText(posting)
	}
	if got, want := drawn(), "Tui said consulted; Ana expects core team."; !strings.Contains(got, want) {
		t.Errorf("the lead does not read %q:\n%s", want, got)
	}
	m.K.Roles.Self = map[flows.UserID]flows.Ring{"U1": flows.Consulted, "U3": flows.Informed}
	got := drawn()
	for _, want := range []string{"Nobody placed themselves in the core team. Until somebody is there, you are.", "Tui did not say; Ana expects core team."} {
		if !strings.Contains(got, want) {
			t.Errorf("the lead does not read %q:\n%s", want, got)
		}
	}
	m.K.Roles.Self, m.K.Roles.Named = map[flows.UserID]flows.Ring{"U1": flows.Core}, nil
	if got, want := drawn(), "Nobody sees it differently."; !strings.Contains(got, want) {
		t.Errorf("the lead does not read %q:\n%s", want, got)
	}
}

func TestTheResultSaysThatNobodyIsCore(t *testing.T) {
	k := kickoffAt(t, flows.StageAssumptions)
	const says = "Nobody is in the core team, so the lead does the work for now."
	if got := rolesBy(k); strings.Contains(got, says) {
		t.Errorf("with a core team it says %q", got)
	}
	k.Roles.Self, k.Roles.Settled = nil, nil
	if got := rolesBy(k); !strings.Contains(got, says) {
		t.Errorf("without a core team it says %q", got)
	}
}

// A view holds 100 blocks: of more people, the first are asked about, and
// nothing that was settled of the others is lost.
func TestSettlingMorePeopleThanAFormHolds(t *testing.T) {
	m := momentAt(t, "roles/settling")
	m.K.People = slices.Clone(m.K.People)
	for i := range 120 {
		m.K.People = append(m.K.People, flows.Person{ID: flows.UserID("V" + strings.Repeat("x", i)), Name: "V"})
	}
	last := m.K.People[len(m.K.People)-1].ID
	m.K.Roles.Settled = map[flows.UserID]flows.Ring{last: flows.Core}
	view, err := Open("roles.settle", pageFor(m, "U1"))
	if err != nil {
		t.Fatal(err)
	}
	checkView(t, "roles.settle", view)
	answer, err := Submit("roles.settle", pageFor(m, "U1"), fillIn(t, view, nil))
	if err != nil {
		t.Fatal(err)
	}
	if got := take(t, m, answer.Intents[0]).K.Roles.Settled[last]; got != flows.Core {
		t.Errorf("whom the form had no room for is now %q, want core", got)
	}
}
