package screens

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"soundings/flows"
)

func TestAssumptionsAreAddedChangedAndWithdrawn(t *testing.T) {
	k := filled{moment: "assumptions", form: "assumptions.add", who: "U3",
		fill: map[string]string{"text": "The harbour office shares its counts.", "because": "They said so", "id": "H1"}}.taken(t)
	got := k.Assumptions[len(k.Assumptions)-1]
	if got.ID != "H1" || got.By != "U3" || got.Text != "The harbour office shares its counts." || got.Because != "They said so" {
		t.Errorf("added %+v", got)
	}
	k = filled{moment: "assumptions", form: "assumptions.edit", who: "U1", args: Args{Assumption: "A1"}, fill: map[string]string{"because": ""}}.taken(t)
	if got, _ := k.Assumption("A1"); got.Because != "" || got.Text != smallCast().assumptions[0].Text {
		t.Errorf("changed to %+v, want the reason gone and the text as it was", got)
	}
	k = filled{moment: "assumptions", form: "assumptions.edit", who: "U1", args: Args{Assumption: "A1"}, fill: map[string]string{"withdraw": "yes"}}.taken(t)
	if got, _ := k.Assumption("A1"); !got.Withdrawn {
		t.Errorf("not withdrawn: %+v", got)
	}
}

func TestAssumptionsAreWelcomeFromTheFirstDay(t *testing.T) {
	k := filled{moment: "brief", form: "assumptions.add", who: "U2", fill: map[string]string{"text": "The pier has a signal."}}.taken(t)
	if len(k.Assumptions) != 1 {
		t.Errorf("%d assumptions, want 1", len(k.Assumptions))
	}
}

func TestOneChangesOnesOwnAndALeadAny(t *testing.T) {
	m := momentAt(t, "assumptions")
	for _, c := range []struct {
		who  flows.UserID
		id   string
		want bool
	}{
		{"U2", "A2", true}, {"U2", "A1", false}, {"U1", "A2", true}, {"U99", "A2", false}, {"U1", "A77", false},
	} {
		p := pageFor(m, c.who)
		p.Args.Assumption = c.id
		_, err := Open("assumptions.edit", p)
		if got := err == nil; got != c.want || err != nil && !isRefusal(err) {
			t.Errorf("%s opens %s: %v, want %v", c.who, c.id, err, c.want)
		}
	}
}

func TestAssumptionsAreJoined(t *testing.T) {
	k := filled{moment: "assumptions", form: "assumptions.join", who: "U1", fill: map[string]string{"keep": "A1", "join": "A2,A3"}}.taken(t)
	if got, _ := k.Assumption("A1"); len(got.Wordings) != 3 {
		t.Errorf("A1 stands for %q, want three wordings", got.Wordings)
	}
	if got := len(k.Listed()); got != 2 {
		t.Errorf("%d are listed, want 2", got)
	}
}

func TestAssumptionsAreImported(t *testing.T) {
	k := filled{moment: "assumptions", form: "assumptions.import", who: "U3",
		fill: map[string]string{"csv": "text,because\n\"First, or so\",Seen\nSecond"}}.taken(t)
	got := k.Assumptions[len(k.Assumptions)-2:]
	if got[0].Text != "First, or so" || got[0].Because != "Seen" || got[1].Text != "Second" || got[1].By != "U3" {
		t.Errorf("imported %+v", got)
	}
	for rule, c := range map[string]struct{ csv, says string }{
		"a row that cannot be read":     {"a,b,c", "Row 1:"},
		"a reference that is taken":     {"id,text\nA1,Other", "Row 1: A1 is taken."},
		"a text that is far too long":   {"First\n" + strings.Repeat("x", 2900) + strings.Repeat("y", 90), ""},
		"a reference that cannot serve": {"id,text\nno blanks,Other", "Row 1: A reference"},
	} {
		_, answer := filled{moment: "assumptions", form: "assumptions.import", who: "U3", fill: map[string]string{"csv": c.csv}}.submit(t)
		if got := answer.Errors["csv"]; (c.says == "") != (got == "") || !strings.HasPrefix(got, c.says) {
			t.Errorf("%s: the error is %q, want it to begin with %q", rule, got, c.says)
		}
	}
}

func TestSayingThatThatIsAll(t *testing.T) {
	m := momentAt(t, "assumptions")
	intent, _, err := Do("assumptions.done", pageFor(m, "U3"))
	if err != nil {
		t.Fatal(err)
	}
	if _, done := take(t, m, intent).K.Window.Done["U3"]; !done {
		t.Error("U3 is not done")
	}
	p := pageFor(m, "U2")
	p.Args.Assumption = "A2"
	if intent, _, err = Do("assumptions.withdraw", p); err != nil {
		t.Fatal(err)
	}
	k := take(t, m, intent).K
	if a, _ := k.Assumption("A2"); !a.Withdrawn {
		t.Error("A2 is not withdrawn")
	}
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
			{Screen: flows.ScreenStage, Arg: "rating/1"}, {Screen: flows.ScreenSplit, Arg: "A2"}, {Screen: flows.ScreenDesk, To: "U1"},
		} {
			posting, err := Message(m.K, slot, m.Now)
			if err != nil {
				t.Fatal(err)
			}
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
			if err != nil {
				t.Fatal(err)
			}
			if text := string(data); strings.Contains(text, "Zebulon") || strings.Contains(text, "U2") {
				t.Errorf("at %s an author is to be seen: %s", at, text)
			}
		}
	}
}

func TestTheNewestAssumptionsAreShown(t *testing.T) {
	m := hostileMomentAt(t, "assumptions")
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "assumptions"}, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	drawn := PlainText(posting)
	for text, want := range map[string]bool{"100 assumptions so far, the newest 12 of them": true, "A100 ": true, "A88 ": false, "A89 ": true} {
		if strings.Contains(drawn, text) != want {
			t.Errorf("the message has %q: %v, want %v", text, !want, want)
		}
	}
}

func TestNoAssumptions(t *testing.T) {
	m := momentAt(t, "roles")
	m.K.Stage, m.K.Window.Stage, m.K.Assumptions = flows.StageAssumptions, flows.StageAssumptions, nil
	for slot, says := range map[flows.Slot]string{
		{Screen: flows.ScreenStage, Arg: "assumptions"}:  "None so far.",
		{Screen: flows.ScreenResult, Arg: "assumptions"}: "nothing to rate",
	} {
		posting, err := Message(m.K, slot, m.Now)
		if err != nil {
			t.Fatal(err)
		}
		checkMessage(t, slot.Name(), posting)
		if drawn := PlainText(posting); !strings.Contains(drawn, says) {
			t.Errorf("%s does not say %q:\n%s", slot.Name(), says, drawn)
		}
	}
	if _, err := Open("assumptions.join", pageFor(m, "U1")); !isRefusal(err) {
		t.Errorf("joining nothing opens with %v, want a refusal", err)
	}
}

// The platform gives a form three seconds from the press, with the way there
// and back; comparing a hundred long texts must leave most of that. The bound
// is loose, so that a busy machine does not fail it.
func TestTheFormToJoinOpensInTime(t *testing.T) {
	m := hostileMomentAt(t, "assumptions")
	began := time.Now()
	if _, err := Open("assumptions.join", pageFor(m, "U1")); err != nil {
		t.Fatal(err)
	}
	if took := time.Since(began); took > 2*time.Second {
		t.Errorf("it took %v", took)
	}
}
