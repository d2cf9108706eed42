package screens

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"soundings/flows"
)

func deskButtons(t *testing.T, m moment, lead flows.UserID) []string {
	t.Helper()
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: lead}, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	checkMessage(t, "desk", posting)
	return labels(posting)
}

func TestTheDeskOffersWhatCanBeDone(t *testing.T) {
	always := []string{"Invite People", "Let Somebody Go", "Add a Lead", "Hand Over"}
	for at, want := range map[string][]string{
		"brief":             {"Close This Step", "Give More Time", "Leave Out Roles", "Edit the Brief"},
		"framing":           {"Close This Step", "Give More Time", "Go Back a Step", "Leave Out Roles"},
		"framing/settling":  {"Go Back a Step", "Leave Out Roles"},
		"roles":             {"Close This Step", "Give More Time", "Go Back a Step", "Leave Out Roles"},
		"assumptions":       {"Close This Step", "Give More Time", "Go Back a Step", "Join What Is the Same", "Change Assumptions"},
		"rating":            {"Close This Step", "Give More Time", "Go Back a Step"},
		"close":             {"Give More Time", "Go Back a Step"},
		"underway/moved":    {"Decide Now", "Change the Summary"},
		"underway/decision": {"Change the Summary"},
	} {
		if got := deskButtons(t, momentAt(t, at), "U1"); !slices.Equal(got, append(want, always...)) {
			t.Errorf("at %s the desk offers %q, want %q and %q", at, got, want, always)
		}
	}
	if got := deskButtons(t, momentAt(t, "ended"), "U1"); len(got) > 0 {
		t.Errorf("at the end the desk offers %q", got)
	}
	if got := deskButtons(t, momentAt(t, "rating"), "U2"); len(got) > 0 {
		t.Errorf("the desk of somebody who does not lead offers %q", got)
	}
}

// What the desk's buttons do is what they say, and flows takes it.
func TestDeskActions(t *testing.T) {
	for _, c := range []struct {
		action, moment string
		check          func(flows.Kickoff) bool
	}{
		{"lead.close", "framing", func(k flows.Kickoff) bool { return k.Window.Phase == flows.PhaseSettling }},
		{"lead.reopen", "framing/settling", func(k flows.Kickoff) bool { return k.Window.Phase == flows.PhaseOpen && k.Stage == flows.StageFraming }},
		{"lead.reopen", "framing", func(k flows.Kickoff) bool { return k.Stage == flows.StageBrief }},
		{"lead.skip-roles", "roles", func(k flows.Kickoff) bool { return k.Roles.Skipped && k.Stage == flows.StageAssumptions }},
		{"lead.skip-roles", "framing", func(k flows.Kickoff) bool { return k.Roles.Skipped }},
		{"lead.decide", "underway/moved", func(k flows.Kickoff) bool { return k.Underway.Decision.Phase == flows.PhaseOpen }},
		{"lead.day", "brief/quorum", func(k flows.Kickoff) bool { return k.Stage == flows.StageBrief && k.Window.Extended }},
	} {
		m := momentAt(t, c.moment)
		intent, thanks, err := Do(c.action, pageFor(m, "U1"))
		if err != nil {
			t.Fatal(err)
		}
		checkSentence(t, c.action, thanks)
		if k := take(t, m, intent).K; !c.check(k) {
			t.Errorf("%s at %s leads to stage %s, %s", c.action, c.moment, k.Stage, k.Window.Phase)
		}
	}
}

// A button or form of an old message must not act on the stage that has
// opened since.
func TestOldButtonsDoNotActOnANewStage(t *testing.T) {
	for _, action := range []string{"lead.close", "lead.reopen"} {
		for _, old := range []Args{{Stage: "brief"}, {Stage: "rating", Round: 1}, {Stage: "backlog"}} {
			m := momentAt(t, "rating/2")
			p := pageFor(m, "U1")
			p.Args.Stage, p.Args.Round = old.Stage, old.Round
			intent, _, err := Do(action, p)
			if err != nil {
				t.Fatal(err)
			}
			if events, err := flows.Decide(m.K, intent, m.Now); !isRefusal(err) {
				t.Errorf("%s of %s/%d in the second round leads to %v, %v, want a refusal", action, old.Stage, old.Round, events, err)
			}
		}
	}
	p := pageFor(momentAt(t, "framing"), "U1")
	p.Args.Stage = "brief"
	if answer, err := Submit("lead.extend", p, entries("days", "2")); err != nil || answer.Errors["days"] == "" || len(answer.Intents) > 0 {
		t.Errorf("more time for a closed stage gives %+v, %v", answer, err)
	}
}

// “lead.close” at the brief, where 1 of 3 has answered.
func TestClosingBelowHalfSaysWhatItTakes(t *testing.T) {
	m := momentAt(t, "brief/quorum")
	_, thanks, _ := Do("lead.close", pageFor(m, "U1"))
	if want := "Closed. What follows is in the channel."; thanks != want {
		t.Errorf("the only lead reads %q, want %q", thanks, want)
	}
	m.K.Leads = []flows.UserID{"U1", "U2", "U3"}
	intent, thanks, _ := Do("lead.close", pageFor(m, "U1"))
	if want := "Noted. Fewer than half have answered, so 2 other leads have to wish it too."; thanks != want {
		t.Errorf("one of three leads reads %q, want %q", thanks, want)
	}
	m = take(t, m, intent)
	if m.K.Stage != flows.StageBrief {
		t.Fatal("it closed")
	}
	if _, thanks, _ = Do("lead.close", pageFor(m, "U2")); !strings.Contains(thanks, "1 other lead has") {
		t.Errorf("the second of three leads reads %q", thanks)
	}
}

func TestLeadForms(t *testing.T) {
	k := filled{moment: "brief", form: "lead.extend", who: "U1", fill: map[string]string{"days": "2"}}.taken(t)
	if before := momentAt(t, "brief").K.Window.Closes; k.Window.Closes.Sub(before) < 40*time.Hour {
		t.Errorf("two days more move the close from %v to %v", before, k.Window.Closes)
	}
	k = filled{moment: "brief", form: "lead.handover", who: "U1", fill: map[string]string{"to": "U2"}}.taken(t)
	if !slices.Equal(k.Leads, []flows.UserID{"U2"}) {
		t.Errorf("after the hand-over %v lead", k.Leads)
	}
	k = filled{moment: "brief", form: "lead.add", who: "U1", fill: map[string]string{"to": "U3"}}.taken(t)
	if !slices.Equal(k.Leads, []flows.UserID{"U1", "U3"}) {
		t.Errorf("after adding one %v lead", k.Leads)
	}
	k = filled{moment: "brief", form: "lead.invite", who: "U1", fill: map[string]string{"people": "U7,U8"}}.taken(t)
	if !k.Takes("U7") || !k.Takes("U8") {
		t.Error("the invited do not take part")
	}
	k = filled{moment: "brief", form: "lead.remove", who: "U1", fill: map[string]string{"person": "U3"}}.taken(t)
	if k.Takes("U3") {
		t.Error("U3 still takes part")
	}
}

// A lead cannot choose what makes no sense: themselves, or who leads already.
func TestLeadFormsOfferOnlyWhatMakesSense(t *testing.T) {
	m := momentAt(t, "brief")
	m.K.Leads = []flows.UserID{"U1", "U2"}
	for form, want := range map[string]string{"lead.handover": "U2 U3", "lead.add": "U3", "lead.remove": "U2 U3"} {
		view, err := Open(form, pageFor(m, "U1"))
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(optionValues(t, view), " "); got != want {
			t.Errorf("%s offers %q, want %q", form, got, want)
		}
	}
	m.K.People = m.K.People[:1]
	for _, form := range []string{"lead.handover", "lead.add", "lead.remove"} {
		if _, err := Open(form, pageFor(m, "U1")); !isRefusal(err) {
			t.Errorf("%s opens for a lead alone with %v, want a refusal", form, err)
		}
	}
}

func TestQuorumMessage(t *testing.T) {
	slot := flows.Slot{Screen: flows.ScreenQuorum, Arg: "brief", To: "U1"}
	m := momentAt(t, "brief/quorum")
	drawn := func() (string, []string) {
		posting, err := Message(m.K, slot, m.Now)
		if err != nil {
			t.Fatal(err)
		}
		checkMessage(t, "quorum", posting)
		return PlainText(posting), labels(posting)
	}
	text, buttons := drawn()
	if !strings.Contains(text, "1 of 3 have answered “The brief”; half would be 2.") || len(buttons) != 2 {
		t.Errorf("the lead reads %q with %q", text, buttons)
	}
	m.K.Leads = []flows.UserID{"U1", "U2"}
	if text, _ := drawn(); !strings.Contains(text, "every lead has to wish it") {
		t.Errorf("one of two leads reads %q", text)
	}
	m = take(t, m, flows.MarkRead{By: flows.By{Who: "U2"}})
	if text, buttons := drawn(); !strings.Contains(text, "By now 2 of 3 have answered, which is enough.") || len(buttons) > 0 {
		t.Errorf("with enough answers the lead reads %q with %q", text, buttons)
	}
	m = take(t, m, flows.MarkRead{By: flows.By{Who: "U3"}})
	if text, buttons := drawn(); !strings.Contains(text, "has closed since") || len(buttons) > 0 {
		t.Errorf("after the close the lead reads %q with %q", text, buttons)
	}
}

func TestLettingSomebodyIn(t *testing.T) {
	m := momentAt(t, "brief")
	m = take(t, m, flows.AskToJoin{FromOutside: flows.FromOutside{Who: "U99"}, Person: flows.Person{ID: "U99", Name: "Mika"}})
	slot := flows.Slot{Screen: flows.ScreenJoin, Arg: "U99", To: "U1"}
	posting, err := Message(m.K, slot, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	all := buttonsIn(posting.Blocks)
	if len(all) != 1 {
		t.Fatalf("the buttons are %q", labels(posting))
	}
	p := pageFor(m, "U1")
	if p.Args, err = ParseArgs(all[0].Value); err != nil {
		t.Fatal(err)
	}
	intent, _, err := Do(strings.TrimPrefix(all[0].ActionID, "do/"), p)
	if err != nil {
		t.Fatal(err)
	}
	if m = take(t, m, intent); !m.K.Takes("U99") {
		t.Fatal("Mika does not take part")
	}
	if posting, err = Message(m.K, slot, m.Now); err != nil || len(labels(posting)) > 0 {
		t.Errorf("afterwards the message has %q, %v", labels(posting), err)
	}
}

func TestWhereTheKickoffIs(t *testing.T) {
	for at, want := range map[string]string{
		"brief":          "Step 1 of 8 is open: The brief.",
		"roles/settling": "Step 3 of 8, “Who does what”, waits for you to settle it. See the message beside this one.",
		"rating/2":       "Step 5 of 8 is open: Rate the assumptions, second round.",
		"timebox":        "Step 7 of 8 is open: How long shall we take?",
		"underway":       "The kickoff is done and the discovery is underway.",
	} {
		if got := deskState(momentAt(t, at).K); got != want {
			t.Errorf("at %s: %q, want %q", at, got, want)
		}
	}
}

// What a stage is called on the desk is what its message is called.
func TestStagesHaveOneName(t *testing.T) {
	for _, stage := range flows.Stages()[1:8] {
		m := momentAt(t, string(stage))
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: flows.StageArg(stage, m.K.Window.Round)}, m.Now)
		if err != nil {
			t.Fatal(err)
		}
		title, _, _ := strings.Cut(PlainText(posting), "\n")
		if got := stageName(stage); got != title {
			t.Errorf("stage %s is called %q, and its message %q", stage, got, title)
		}
	}
	if got := fmt.Sprint(stageName(flows.StageUnderway), stageName(flows.StageEnded)); strings.Contains(got, "%") || got == "" {
		t.Errorf("the last stages are called %q", got)
	}
}
