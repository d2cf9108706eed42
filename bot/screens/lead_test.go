package screens

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// behindMore are the buttons that a lead finds behind More.
func behindMore(t *testing.T, m moment, lead state.UserID) []string {
	t.Helper()
	view, err := Open("lead.more", pageFor(m, lead))
	require.NoError(t, err)
	checkView(t, "more", view)
	var all []string
	for _, b := range buttonsIn(view.Blocks.BlockSet) {
		all = append(all, b.Text.Text)
	}
	return all
}

func TestTheDeskOffersWhatCanBeDone(t *testing.T) {
	always := []string{"Invite People", "Remove Somebody", "Add a Lead", "Hand Over", "Call It Off"}
	for at, want := range map[string]struct {
		first string
		more  []string
	}{
		"brief":             {"Who Is Missing", []string{"Close This Step", "Give More Time", "Choose the Steps", "Edit the Brief", "Who Rates What"}},
		"framing":           {"Who Is Missing", []string{"Close This Step", "Give More Time", "Go Back a Step", "Choose the Steps", "Who Rates What"}},
		"framing/settling":  {"Keep the Original", []string{"Go Back a Step", "Choose the Steps"}},
		"roles":             {"Who Is Missing", []string{"Close This Step", "Give More Time", "Go Back a Step", "Choose the Steps", "Who Rates What"}},
		"assumptions":       {"Who Is Missing", []string{"Close This Step", "Give More Time", "Go Back a Step", "Choose the Steps", "Tidy the List", "Join What Is the Same", "Change Assumptions", "Who Rates What"}},
		"rating":            {"Who Is Missing", []string{"Close This Step", "Give More Time", "Go Back a Step", "Choose the Steps"}},
		"timebox/settling":  {"Set the Time Box", []string{"Go Back a Step", "Choose the Steps"}},
		"close":             {"Preview the Summary", []string{"Give More Time", "Go Back a Step"}},
		"underway/moved":    {"Change the Summary", []string{"Decide Now", "Change the Summary"}},
		"underway/decision": {"Who Is Missing", []string{"Change the Summary"}},
	} {
		m := momentAt(t, at)
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: "U1"}, m.Now)
		require.NoError(t, err)
		checkMessage(t, "desk", posting)
		assert.Equal(t, []string{want.first, "More"}, labels(posting), at)
		assert.Equal(t, append(want.more, always...), behindMore(t, m, "U1"), "behind More at %s", at)
	}
	for at, who := range map[string]state.UserID{"ended": "U1", "rating": "U2"} {
		m := momentAt(t, at)
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: who}, m.Now)
		require.NoError(t, err)
		assert.Empty(t, labels(posting), "at %s the desk offers %s", at, who)
	}
}

// A lead sees by name who has not answered; the channel never does.
func TestTheLeadSeesWhoIsMissing(t *testing.T) {
	m := momentAt(t, "rating")
	missing := flows.Owing(&m.K)
	require.NotEmpty(t, missing)
	desk, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: "U1"}, m.Now)
	require.NoError(t, err)
	asks, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "rating/1"}, m.Now)
	require.NoError(t, err)
	form, err := Open("lead.missing", pageFor(m, "U1"))
	require.NoError(t, err)
	for _, u := range missing {
		assert.Contains(t, PlainText(desk), m.K.Name(u))
		assert.Contains(t, PlainForm(form), m.K.Name(u))
		assert.NotContains(t, PlainText(asks), m.K.Name(u), "before the channel")
	}
	for _, who := range []state.UserID{"U2", "U99"} {
		_, err = Open("lead.missing", pageFor(m, who))
		assert.True(t, isRefusal(err), "%s sees who is missing: %v", who, err)
	}
}

// Reminding by hand is the one reminder of the day: nobody has a second one, and
// whoever wants none has none.
func TestRemindThemKeepsTheDailyLimit(t *testing.T) {
	m := momentAt(t, "framing")
	missing := flows.Owing(&m.K)
	require.NotEmpty(t, missing)
	m = take(t, m, flows.Mute{By: flows.By{Who: missing[0]}})
	who, not := flows.Remindable(&m.K, m.Now)
	assert.NotContains(t, who, missing[0])
	assert.Contains(t, not[flows.WantsNone], missing[0])
	intent, thanks, err := Do("lead.remind", pageFor(m, "U1"))
	require.NoError(t, err)
	checkSentence(t, "lead.remind", thanks)
	after := take(t, m, intent)
	again, left := flows.Remindable(&after.K, after.Now)
	assert.Empty(t, again, "reminded twice on one day")
	assert.ElementsMatch(t, who, left[flows.RemindedToday])
	intent, thanks, err = Do("lead.remind", pageFor(after, "U1"))
	require.NoError(t, err)
	events, err := flows.Decide(after.K, intent, after.Now)
	assert.NoError(t, err)
	assert.Empty(t, events)
	assert.Contains(t, thanks, "Nobody is reminded now.")
}

// What the desk's buttons do is what they say, and flows takes it.
func TestDeskActions(t *testing.T) {
	for _, c := range []struct {
		action, moment string
		check          func(state.Kickoff) bool
	}{
		{"lead.close", "framing", func(k state.Kickoff) bool { return k.Window.Phase == state.PhaseSettling }},
		{"lead.reopen", "framing/settling", func(k state.Kickoff) bool { return k.Window.Phase == state.PhaseOpen && k.Stage == state.StageFraming }},
		{"lead.reopen", "framing", func(k state.Kickoff) bool { return k.Stage == state.StageBrief }},
		{"lead.decide", "underway/moved", func(k state.Kickoff) bool { return k.Underway.Decision.Phase == state.PhaseOpen }},
		{"lead.day", "brief/quorum", func(k state.Kickoff) bool { return k.Stage == state.StageBrief && k.Window.Extended }},
	} {
		m := momentAt(t, c.moment)
		intent, thanks, err := Do(c.action, pageFor(m, "U1"))
		require.NoError(t, err)
		checkSentence(t, c.action, thanks)
		k := take(t, m, intent).K
		assert.True(t, c.check(k), "%s at %s leads to stage %s, %s", c.action, c.moment, k.Stage, k.Window.Phase)
	}
}

// A button or form of an old message must not act on the stage that has
// opened since.
func TestOldButtonsDoNotActOnANewStage(t *testing.T) {
	for _, action := range []string{"lead.close", "lead.reopen"} {
		for _, old := range []screen.Args{{Stage: "brief"}, {Stage: "rating", Round: 1}, {Stage: "backlog"}} {
			m := momentAt(t, "rating/2")
			p := pageFor(m, "U1")
			p.Args.Stage, p.Args.Round = old.Stage, old.Round
			intent, _, err := Do(action, p)
			require.NoError(t, err)
			events, err := flows.Decide(m.K, intent, m.Now)
			assert.True(t, isRefusal(err), "%s of %s/%d in the second round leads to %v, %v, want a refusal", action, old.Stage, old.Round, events, err)
		}
	}
	p := pageFor(momentAt(t, "framing"), "U1")
	p.Args.Stage = "brief"
	answer, err := Submit("lead.extend", p, entries("days", "2"))
	assert.False(t, err != nil || answer.Errors["days"] == "" || len(answer.Intents) > 0, "more time for a closed stage gives %+v, %v", answer, err)
}

// “lead.close” at the brief, where 1 of 3 has answered.
func TestClosingBelowHalfSaysWhatItTakes(t *testing.T) {
	m := momentAt(t, "brief/quorum")
	_, thanks, _ := Do("lead.close", pageFor(m, "U1"))
	assert.Equal(t, "Closed. What comes next is posted in the channel, or waits for your last word.", thanks, "the only lead reads")
	m.K.Leads = []state.UserID{"U1", "U2", "U3"}
	intent, thanks, _ := Do("lead.close", pageFor(m, "U1"))
	assert.Equal(t, "Noted. Fewer than half have answered, so 2 other leads have to wish it too.", thanks, "one of three leads reads")
	m = take(t, m, intent)
	require.Equal(t, state.StageBrief, m.K.Stage, "it closed")
	_, thanks, _ = Do("lead.close", pageFor(m, "U2"))
	assert.Contains(t, thanks, "1 other lead has", "the second of three leads reads")
}

func TestLeadForms(t *testing.T) {
	k := filled{moment: "brief", form: "lead.extend", who: "U1", fill: map[string]string{"days": "2"}}.taken(t)
	before := momentAt(t, "brief").K.Window.Closes
	assert.GreaterOrEqual(t, k.Window.Closes.Sub(before), time.Duration(40*time.Hour), "two days more move the close from %v to %v", before, k.Window.Closes)
	k = filled{moment: "brief", form: "lead.handover", who: "U1", fill: map[string]string{"to": "U2"}}.taken(t)
	assert.Equal(t, []state.UserID{"U2"}, k.Leads, "after the hand-over %v lead", k.Leads)
	k = filled{moment: "brief", form: "lead.add", who: "U1", fill: map[string]string{"to": "U3"}}.taken(t)
	assert.Equal(t, []state.UserID{"U1", "U3"}, k.Leads, "after adding one %v lead", k.Leads)
	k = filled{moment: "brief", form: "lead.invite", who: "U1", fill: map[string]string{"people": "U7,U8"}}.taken(t)
	assert.True(t, k.Takes("U7"), "the invited do not take part")
	assert.True(t, k.Takes("U8"), "the invited do not take part")
	k = filled{moment: "brief", form: "lead.remove", who: "U1", fill: map[string]string{"person": "U3"}}.taken(t)
	assert.False(t, k.Takes("U3"), "U3 still takes part")
}

// A lead cannot choose what makes no sense: themselves, or who leads already.
func TestLeadFormsOfferOnlyWhatMakesSense(t *testing.T) {
	m := momentAt(t, "brief")
	m.K.Leads = []state.UserID{"U1", "U2"}
	for form, want := range map[string]string{"lead.handover": "U2 U3", "lead.add": "U3", "lead.remove": "U2 U3"} {
		view, err := Open(form, pageFor(m, "U1"))
		require.NoError(t, err)
		assert.Equal(t, want, strings.Join(optionValues(t, view), " "), "%s offers", form)
	}
	m.K.People = m.K.People[:1]
	for _, form := range []string{"lead.handover", "lead.add", "lead.remove"} {
		_, err := Open(form, pageFor(m, "U1"))
		assert.True(t, isRefusal(err), "%s opens for a lead alone with %v, want a refusal", form, err)
	}
}

// Where one person is asked, a share of those asked says nothing: who has not answered is
// told, to themselves or to another lead.
func TestAStepForOneSaysWhoItWaitsFor(t *testing.T) {
	m := momentAt(t, "brief/quorum")
	m.K.Window.Asked, m.K.Window.Done, m.K.Brief.Read = []state.UserID{"U1"}, nil, nil
	for lead, want := range map[state.UserID]string{
		"U1": "This step waits for you\n=======================\n\n“The brief”: You alone are asked here, and have not answered. I have given it one more working day, until ",
		"U2": "One answer is missing\n=====================\n\n“The brief”: Ana alone is asked here, and has not answered. ",
	} {
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenQuorum, Arg: "brief", To: lead}, m.Now)
		require.NoError(t, err)
		assert.Contains(t, PlainText(posting), want)
		assert.NotContains(t, PlainText(posting), " of 1")
	}
	asked, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "brief"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, PlainText(asked), "One person is asked, and has not finished yet.")
	view, err := Open("lead.missing", pageFor(m, "U1"))
	require.NoError(t, err)
	assert.NotContains(t, PlainForm(view), " of 1")
	m.K.Window.Phase, m.K.Window.Thin = state.PhaseClosed, true
	asked, err = Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "brief"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, PlainText(asked), "One person was asked, and did not answer.")
	assert.NotContains(t, PlainText(asked), "Fewer than half")
}

func TestQuorumMessage(t *testing.T) {
	slot := flows.Slot{Screen: flows.ScreenQuorum, Arg: "brief", To: "U1"}
	m := momentAt(t, "brief/quorum")
	drawn := func() (string, []string) {
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		checkMessage(t, "quorum", posting)
		return PlainText(posting), labels(posting)
	}
	text, buttons := drawn()
	assert.Contains(t, text, "1 of 3 have answered “The brief”; half would be 2.", "the lead reads %q with", text)
	assert.Len(t, buttons, 2, "the lead reads %q with", text)
	m.K.Leads = []state.UserID{"U1", "U2"}
	text, _ = drawn()
	assert.Contains(t, text, "every lead has to wish it", "one of two leads reads")
	m = take(t, m, flows.MarkRead{By: flows.By{Who: "U2"}})
	text, buttons = drawn()
	assert.Contains(t, text, "By now 2 of 3 have answered, which is enough.", "with enough answers the lead reads %q with", text)
	assert.Empty(t, buttons, "with enough answers the lead reads %q with", text)
	m = take(t, m, flows.MarkRead{By: flows.By{Who: "U3"}})
	text, buttons = drawn()
	assert.Contains(t, text, "has closed since", "after the close the lead reads %q with", text)
	assert.Empty(t, buttons, "after the close the lead reads %q with", text)
}

func TestLettingSomebodyIn(t *testing.T) {
	m := momentAt(t, "brief")
	m = take(t, m, flows.AskToJoin{FromOutside: flows.FromOutside{Who: "U99"}, Person: state.Person{ID: "U99", Name: "Mika"}})
	slot := flows.Slot{Screen: flows.ScreenJoin, Arg: "U99", To: "U1"}
	posting, err := Message(m.K, slot, m.Now)
	require.NoError(t, err)
	all := buttonsIn(posting.Blocks)
	require.Len(t, all, 1, "the buttons are %q", labels(posting))
	p := pageFor(m, "U1")
	p.Args, err = screen.ParseArgs(all[0].Value)
	require.NoError(t, err)
	intent, _, err := Do(strings.TrimPrefix(all[0].ActionID, "do/"), p)
	require.NoError(t, err)
	m = take(t, m, intent)
	require.True(t, m.K.Takes("U99"), "Mika does not take part")
	posting, err = Message(m.K, slot, m.Now)
	assert.NoError(t, err, "afterwards the message")
	assert.Empty(t, labels(posting), "afterwards the message")
}

func TestWhereTheKickoffIs(t *testing.T) {
	for at, want := range map[string]string{
		"brief":          "Step 1 of 8 is open: The brief.",
		"roles/settling": "Step 3 of 8, “Who does what”, waits for you to settle it. See the message beside this one.",
		"rating/2":       "Step 5 of 8 is open: Rate the assumptions, second round.",
		"timebox":        "Step 7 of 8 is open: How long shall we take?",
		"underway":       "The kickoff is done and the discovery is underway.",
	} {
		assert.Equal(t, want, deskState(momentAt(t, at).K), "at %s", at)
	}
}

// What a stage is called on the desk is what its message is called.
func TestStagesHaveOneName(t *testing.T) {
	for _, stage := range flows.StagesOf(&state.Kickoff{})[1:] {
		m := momentAt(t, string(stage))
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: flows.StageArg(stage, m.K.Window.Round)}, m.Now)
		require.NoError(t, err)
		title, _, _ := strings.Cut(PlainText(posting), "\n")
		got := flows.TitleOf(stage)
		assert.Equal(t, title, got, "stage %s is called %q, and its message", stage, got)
	}
	got := fmt.Sprint(flows.TitleOf(state.StageUnderway), flows.TitleOf(state.StageEnded))
	assert.NotContains(t, got, "%", "the last stages are called")
	assert.NotEqual(t, "", got, "the last stages are called")
}
