package rehearsal

import (
	"context"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/scenario"
	"soundings/flows/state"
)

// A guided play is one in which somebody acts by hand: as Ayla and as the lead, Lena, and
// then lets the others act while they look on as Timo, who answers nothing himself.
type guided struct {
	t *testing.T
	*Room
}

func newGuided(t *testing.T, change func(*scenario.Scenario)) *guided {
	t.Helper()
	data, err := os.ReadFile("../../testdata/scenarios/five.yaml")
	require.NoError(t, err)
	s, err := scenario.Parse("five.yaml", data)
	require.NoError(t, err)
	change(s)
	r, err := NewRoom(PlayConfig{Scenario: s, Journal: journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{})})
	require.NoError(t, err)
	t.Cleanup(r.Close)
	return &guided{t, r}
}

// kickoff is the state of it.
func (g *guided) kickoff() *state.Kickoff {
	g.t.Helper()
	k, ok, err := g.newest(g.t.Context())
	require.NoError(g.t, err)
	require.True(g.t, ok)
	return &k
}

// user is the id of a person.
func (g *guided) user(key string) state.UserID { return state.UserID(g.person(key).id) }

// others lets everybody but Timo act.
func (g *guided) others() {
	g.t.Helper()
	require.NoError(g.t, g.Act(g.t.Context(), func(ctx context.Context) error {
		_, err := g.Others(ctx, g.person("timo").id)
		return err
	}))
}

// until lets the others act, and time pass, until the kickoff stands where it should.
func (g *guided) until(stands func(k state.Kickoff) bool) {
	g.t.Helper()
	for range 30 {
		if k, ok, _ := g.newest(g.t.Context()); ok && stands(k) {
			return
		}
		g.others()
		if stands(*g.kickoff()) {
			return
		}
		require.NoError(g.t, g.Act(g.t.Context(), func(ctx context.Context) error {
			_, err := g.Deadline(ctx)
			return err
		}))
	}
	g.t.Fatalf("it never comes; the channel says:\n%s", g.Transcript())
}

// open waits for the window of a stage.
func (g *guided) open(stage state.Stage) {
	g.t.Helper()
	g.until(func(k state.Kickoff) bool { return k.Stage == stage && k.Window.Phase == state.PhaseOpen })
}

// settles waits until the lead is asked to settle a stage.
func (g *guided) settles(stage state.Stage) {
	g.t.Helper()
	g.until(func(k state.Kickoff) bool { return k.Stage == stage && k.Window.Phase == state.PhaseSettling })
}

// button finds the newest button of an action, and a label where one is given, among
// what somebody sees.
func (g *guided) button(a *actor, action, label string) button {
	g.t.Helper()
	for _, channel := range []string{g.team.DM(a.id), g.channel} {
		for _, m := range slices.Backward(g.team.Messages(channel)) {
			for _, e := range blockkit.Elements(m.Blocks) {
				if e.ActionID == action && (label == "" || label == e.Label) {
					return button{Element: e, channel: m.Channel, ts: m.TS}
				}
			}
		}
	}
	g.t.Fatalf("%s finds no button %s %s in\n%s", a.Name, action, label, g.Transcript())
	return button{}
}

// hand has somebody press a button by hand, and fill in its form where it opens one.
func (g *guided) hand(key, action, label string, fields ...field) {
	g.t.Helper()
	a := g.person(key)
	b := g.button(a, action, label)
	require.NoError(g.t, g.Act(g.t.Context(), func(ctx context.Context) error {
		if len(fields) == 0 {
			return g.ByHand(a.id, action, func() (bool, error) { return true, a.press(ctx, b) })
		}
		if err := a.press(ctx, b); err != nil {
			return err
		}
		view, _ := a.view()
		defer a.close()
		return g.ByHand(a.id, "open/"+view.CallbackID, func() (bool, error) { return true, a.fill(ctx, fields...) })
	}), "%s presses %s by hand", key, action)
}

// pick has somebody choose, in a list that stands in a message, what begins with some words.
func (g *guided) pick(key, action, begins string) {
	g.t.Helper()
	a := g.person(key)
	b := g.button(a, action, "")
	require.NoError(g.t, g.Act(g.t.Context(), func(ctx context.Context) error {
		return g.ByHand(a.id, action, func() (bool, error) { return true, a.chooseBeside(ctx, b, action, begins) })
	}))
}

// Letting the others act changes nothing that somebody has done by hand: each kind of
// answer that the script has for them otherwise, and what the script's lead would settle.
func TestOthersChangeNothingDoneByHand(t *testing.T) {
	t.Parallel()
	g := newGuided(t, func(s *scenario.Scenario) {
		s.Brief.Questions = []scenario.Question{{By: "marco", Ask: "How long is the list?", Answer: "412 names."}}
		s.Roles.Self["ayla"], s.Roles.Days["ayla"] = "core", 3
		s.Roles.Settled = map[string]string{"ayla": "core", "sena": "core"}
		for key, evidence := range map[string]int{"lena": 1, "sena": 5, "marco": 9} { // split without Timo as well
			s.Ratings.Round1[key]["A3"] = scenario.Pair{Importance: 8, Evidence: evidence}
		}
		s.Ratings.Round2["ayla"] = map[string]scenario.Pair{"A3": {Importance: 1, Evidence: 9}}
		s.Timebox.Worth, s.Timebox.Cost = map[string]int{"ayla": 2}, map[string]string{"ayla": "day"}
		for _, c := range s.Underway.Checkins {
			c.Evidence["sena"], c.Confidence["sena"] = map[string]int{"A2": 1}, 1
		}
	})
	ayla := g.user("ayla")

	require.NoError(t, g.Act(t.Context(), func(ctx context.Context) error {
		_, err := g.Demo(ctx)
		return err
	}))
	g.hand("marco", "open/brief.ask", "", typed("ask", "How long is the list?"))
	g.hand("ayla", "open/brief.answer", "Answer", typed("answer", "Ask the office."))
	g.others()
	assert.Equal(t, "Ask the office.", g.kickoff().Brief.Questions[0].Answer)

	g.open(state.StageFraming)
	g.hand("ayla", "open/framing.vote", "", chosen("level", "2"))
	g.others()
	assert.Equal(t, 2, g.kickoff().Framing.Votes[ayla].Level)
	g.settles(state.StageFraming)
	g.hand("lena", "open/framing.settle", "", typed("problem", "Nobody knows when."), chosen("level", "1"))

	g.hand("ayla", "do/roles.place", "Informed")
	g.others()
	g.until(func(k state.Kickoff) bool { return k.Stage == state.StageAssumptions })
	assert.Equal(t, state.Informed, g.kickoff().RingOf(ayla), "the script places Ayla in the core team, and so does its lead")
	assert.Equal(t, state.Core, g.kickoff().RingOf(g.user("sena")), "the lead settles the others")
	assert.Equal(t, "Nobody knows when.", g.kickoff().Framing.Problem)

	g.hand("ayla", "open/assumptions.add", "", typed("text", "A letter is read by everybody."), typed("id", "A1"))
	g.open(state.StageRating)
	assert.Equal(t, "A letter is read by everybody.", g.kickoff().Assumptions[slices.IndexFunc(g.kickoff().Assumptions, func(a state.Assumption) bool { return a.ID == "A1" })].Text)
	assert.Len(t, g.kickoff().Listed(), 4, "Ayla's two of the script are left to who plays her; Lena's first one has another number")
	lenas := g.kickoff().Assumptions[slices.IndexFunc(g.kickoff().Assumptions, func(a state.Assumption) bool { return a.By == g.user("lena") })].ID
	g.rate("ayla", "rate/importance/"+lenas, "3")
	g.others()
	assert.Equal(t, map[string]state.Marking{lenas: {Importance: 3}}, g.kickoff().Ballot(1, ayla))
	g.until(func(k state.Kickoff) bool { return len(k.Rounds) == 2 })
	g.others()
	assert.Empty(t, g.kickoff().Ballot(2, ayla), "the second round is left to who plays Ayla")

	g.open(state.StageBacklog)
	g.hand("ayla", "open/backlog.kinds", "", chosen("kind/"+lenas, "viability"))
	g.others()
	assert.Equal(t, state.Kind("viability"), g.kickoff().Backlog.Kinds[lenas][ayla])

	g.open(state.StageTimebox)
	g.pick("ayla", "do/timebox.worth", "9")
	g.others()
	assert.Equal(t, 9, g.kickoff().Timebox.Worth[ayla])
	assert.Equal(t, 4, g.kickoff().Timebox.Votes[ayla], "what was not chosen by hand is left to the script")
	g.settles(state.StageTimebox)
	g.hand("lena", "open/timebox.settle", "", chosen("weeks", "6"))
	g.others()
	assert.Equal(t, 6, g.kickoff().Timebox.Weeks)

	g.underway(ayla)
}

// underway is the second part of it.
func (g *guided) underway(ayla state.UserID) {
	t := g.t
	t.Helper()
	checkin := func(n int) func(state.Kickoff) bool {
		return func(k state.Kickoff) bool { return len(k.Underway.Checkins) == n }
	}
	sena := g.user("sena")
	g.until(checkin(1))
	g.hand("sena", "open/checkin.report", "", chosen("confidence", "8"))
	g.others()
	assert.Equal(t, 8, g.kickoff().Underway.Checkins[0].Confidence[sena])
	g.until(checkin(2))
	g.others()
	second := g.kickoff().Underway.Checkins[1]
	assert.Equal(t, 1, second.Confidence[sena], "each check-in is one of its own")
	assert.Empty(t, second.Evidence[sena], "evidence is left to who plays Sena")

	g.until(func(k state.Kickoff) bool { return k.Underway.Decision.Phase == state.PhaseOpen })
	g.hand("ayla", "do/decision.vote", "Stop")
	g.others()
	assert.Equal(t, state.Stop, g.kickoff().Underway.Decision.Votes[ayla].Choice)
}

// rate has somebody open their ballot by hand, and make one choice.
func (g *guided) rate(key, action, value string) {
	g.t.Helper()
	a := g.person(key)
	b := g.button(a, "open/rating.ballot", "")
	require.NoError(g.t, g.Act(g.t.Context(), func(ctx context.Context) error {
		defer a.close()
		if err := a.press(ctx, b); err != nil {
			return err
		}
		view, _ := a.view()
		for _, e := range blockkit.Elements(view.Blocks) {
			if e.ActionID == action {
				return g.ByHand(a.id, "open/"+view.CallbackID, func() (bool, error) {
					return true, g.team.Client.Press(ctx, a.id, fakeslack.Where{ViewID: view.ID}, e.ActionID, e.BlockID, blockkit.Value{Option: value})
				})
			}
		}
		g.t.Errorf("the ballot has no %s", action)
		return nil
	}))
}

// Where the lead goes back a step, the others answer it again, and the next one too; also
// whoever had been answered for by hand.
func TestOthersAnswerAStepThatOpensAgain(t *testing.T) {
	t.Parallel()
	g := newGuided(t, func(*scenario.Scenario) {})
	require.NoError(t, g.Act(t.Context(), func(ctx context.Context) error {
		_, err := g.Demo(ctx)
		return err
	}))
	g.open(state.StageFraming)
	g.hand("ayla", "open/framing.vote", "", chosen("level", "2"))
	g.open(state.StageRoles)
	require.NoError(t, g.Act(t.Context(), func(ctx context.Context) error {
		return g.person("lena").pressAsLead(ctx, "do/lead.reopen")
	}))
	require.Equal(t, state.StageFraming, g.kickoff().Stage)
	require.Empty(t, g.kickoff().Framing.Votes)
	g.others()
	for _, key := range []string{"ayla", "lena", "marco"} {
		assert.Contains(t, g.kickoff().Framing.Votes, g.user(key), key)
	}
	g.open(state.StageRoles)
	g.others()
	assert.NotEmpty(t, g.kickoff().Roles.Self, "the step that was open before")
}

// Between the list and its rating the lead looks through it: that is no step which closes.
func TestTheTidyingIsToldAsWhatItIs(t *testing.T) {
	at := func(stage state.Stage, phase state.Phase) standing {
		return standing{moment: string(stage) + string(phase), kickoff: state.Kickoff{ID: "K1", Stage: stage, Window: state.Window{Stage: stage, Phase: phase}}}
	}
	list, tidying := at(state.StageAssumptions, state.PhaseOpen), at(state.StageTidying, state.PhaseSettling)
	assert.Equal(t, "“What has to be true” is closed: the lead looks through the list.", movedOn(list, tidying))
	assert.Equal(t, "“Tidy the list” is closed. Now: “Rate the assumptions”.", movedOn(tidying, at(state.StageRating, state.PhaseOpen)))
}
