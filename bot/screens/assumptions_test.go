package screens

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

func TestAssumptionsAreAddedChangedAndWithdrawn(t *testing.T) {
	k := filled{moment: "assumptions", form: "assumptions.add", who: "U3",
		fill: map[string]string{"text": "The harbour office shares its counts.", "because": "They said so", "id": "H1"}}.taken(t)
	got := k.Assumptions[len(k.Assumptions)-1]
	assert.Equal(t, "H1", got.ID, "added %+v", got)
	assert.Equal(t, state.UserID("U3"), got.By, "added %+v", got)
	assert.Equal(t, "The harbour office shares its counts.", got.Text, "added %+v", got)
	assert.Equal(t, "They said so", got.Because, "added %+v", got)
	k = filled{moment: "assumptions", form: "assumptions.edit", who: "U1", args: screen.Args{Assumption: "A1"}, fill: map[string]string{"because": ""}}.taken(t)
	got, _ = k.Assumption("A1")
	assert.False(t, got.Because != "" || got.Text != smallCast().assumptions[0].Text, "changed to %+v, want the reason gone and the text as it was", got)
	k = filled{moment: "assumptions", form: "assumptions.edit", who: "U1", args: screen.Args{Assumption: "A1"}, fill: map[string]string{"withdraw": "yes"}}.taken(t)
	got, _ = k.Assumption("A1")
	assert.True(t, got.Withdrawn, "not withdrawn: %+v", got)
}

func TestAssumptionsAreWelcomeFromTheFirstDay(t *testing.T) {
	k := filled{moment: "brief", form: "assumptions.add", who: "U2", fill: map[string]string{"text": "The pier has a signal."}}.taken(t)
	assert.Len(t, k.Assumptions, 1, "assumptions")
}

func TestOneChangesOnesOwnAndALeadAny(t *testing.T) {
	m := momentAt(t, "assumptions")
	for _, c := range []struct {
		who  state.UserID
		id   string
		want bool
	}{
		{"U2", "A2", true}, {"U2", "A1", false}, {"U1", "A2", true}, {"U99", "A2", false}, {"U1", "A77", false},
	} {
		p := pageFor(m, c.who)
		p.Args.Assumption = c.id
		_, err := Open("assumptions.edit", p)
		assert.Equal(t, c.want, err == nil, "%s opens %s: %v", c.who, c.id, err)
		assert.False(t, err != nil && !isRefusal(err), "%s opens %s: %v", c.who, c.id, err)
	}
}

func TestAssumptionsAreJoined(t *testing.T) {
	k := filled{moment: "assumptions", form: "assumptions.join", who: "U1", fill: map[string]string{"keep": "A1", "join": "A2,A3"}}.taken(t)
	got, _ := k.Assumption("A1")
	assert.Len(t, got.Wordings, 3, "A1 stands for")
	assert.Len(t, k.Listed(), 2, "are listed")
}

func TestAssumptionsAreImported(t *testing.T) {
	k := filled{moment: "assumptions", form: "assumptions.import", who: "U3",
		fill: map[string]string{"csv": "text,because\n\"First, or so\",Seen\nSecond"}}.taken(t)
	got := k.Assumptions[len(k.Assumptions)-2:]
	assert.False(t, got[0].Text != "First, or so" || got[0].Because != "Seen" || got[1].Text != "Second" || got[1].By != "U3", "imported %+v", got)
	for rule, c := range map[string]struct{ csv, says string }{
		"a row that cannot be read":     {"a,b,c", "Row 1:"},
		"a reference that is taken":     {"id,text\nA1,Other", "Row 1: A1 is taken."},
		"a text that is far too long":   {"First\n" + strings.Repeat("x", 2900) + strings.Repeat("y", 90), ""},
		"a reference that cannot serve": {"id,text\nno blanks,Other", "Row 1: A reference"},
	} {
		_, answer := filled{moment: "assumptions", form: "assumptions.import", who: "U3", fill: map[string]string{"csv": c.csv}}.submit(t)
		got := answer.Errors["csv"]
		assert.Equal(t, (got == ""), (c.says == ""), "%s: the error is %q, want it to begin with %q", rule, got, c.says)
		assert.True(t, strings.HasPrefix(got, c.says), "%s: the error is %q, want it to begin with %q", rule, got, c.says)
	}
}

func TestSayingThatThatIsAll(t *testing.T) {
	m := momentAt(t, "assumptions")
	intent, _, err := Do("assumptions.done", pageFor(m, "U3"))
	require.NoError(t, err)
	_, done := take(t, m, intent).K.Window.Done["U3"]
	assert.True(t, done, "U3 is not done")
	p := pageFor(m, "U2")
	p.Args.Assumption = "A2"
	intent, _, err = Do("assumptions.withdraw", p)
	require.NoError(t, err)
	k := take(t, m, intent).K
	a, _ := k.Assumption("A2")
	assert.True(t, a.Withdrawn, "A2 is not withdrawn")
}

// Authors stay hidden until the rating has closed: from the channel, from
// whoever fills in a form, from the lead.
func TestAuthorsOfAssumptionsStayHidden(t *testing.T) {
	for _, at := range []string{"assumptions", "rating", "rating/2"} {
		m := momentAt(t, at)
		m.K.People[1].Name = "Zebulon" // who wrote A2, and is named for nothing else here
		var shown []any
		for _, slot := range []flows.Slot{
			{Screen: flows.ScreenStage, Arg: "assumptions"}, {Screen: flows.ScreenResult, Arg: "assumptions"},
			{Screen: flows.ScreenStage, Arg: "rating/1"}, {Screen: flows.ScreenSplit, Arg: "A2"},
		} {
			posting, err := Message(m.K, slot, m.Now)
			require.NoError(t, err)
			shown = append(shown, posting)
		}
		for _, form := range []string{"assumptions.add", "assumptions.list", "assumptions.edit", "assumptions.join", "rating.ballot"} {
			p := pageFor(m, "U1")
			p.Args.Assumption, p.Args.N = "A2", 0
			if view, err := Open(form, p); err == nil {
				shown = append(shown, view)
			}
		}
		for _, s := range shown {
			data, err := json.Marshal(s)
			require.NoError(t, err)
			text := string(data)
			assert.NotContains(t, text, "Zebulon", "at %s an author is to be seen", at)
			assert.NotContains(t, text, "U2", "at %s an author is to be seen", at)
		}
	}
}

// The message counts; what there is can be read by everybody behind its button,
// the newest first.
func TestTheListIsOnePressAway(t *testing.T) {
	m := hostileMomentAt(t, "assumptions")
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "assumptions"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, PlainText(posting), "100 assumptions so far.")
	assert.Contains(t, labels(posting), "See the List")
	view, err := Open("assumptions.list", pageFor(m, m.K.People[1].ID))
	require.NoError(t, err)
	checkView(t, "list", view)
	newest := m.K.Listed()[99]
	assert.Contains(t, PlainForm(view), newest.ID+" ")
}

func TestNoAssumptions(t *testing.T) {
	m := momentAt(t, "roles")
	m.K.Stage, m.K.Window.Stage, m.K.Assumptions = state.StageAssumptions, state.StageAssumptions, nil
	for slot, says := range map[flows.Slot]string{
		{Screen: flows.ScreenStage, Arg: "assumptions"}:  "None so far.",
		{Screen: flows.ScreenResult, Arg: "assumptions"}: "nothing to rate",
	} {
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		checkMessage(t, slot.Name(), posting)
		assert.Contains(t, PlainText(posting), says, "%s does not say", slot.Name())
	}
	_, err := Open("assumptions.join", pageFor(m, "U1"))
	assert.True(t, isRefusal(err), "joining nothing opens with %v, want a refusal", err)
}

// BenchmarkJoinForm opens the form to join assumptions on the worst list, a
// hundred long texts to compare. The platform gives a form three seconds from
// the press, with the way there and back: this must leave most of them.
func BenchmarkJoinForm(b *testing.B) {
	m := hostileMomentAt(b, "assumptions")
	for b.Loop() {
		_, err := Open("assumptions.join", pageFor(m, "U1"))
		require.NoError(b, err)
	}
}
