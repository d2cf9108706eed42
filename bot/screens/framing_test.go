package screens

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

func TestWordingsAreAddedAndChanged(t *testing.T) {
	k := filled{moment: "framing", form: "framing.add", who: "U3", fill: map[string]string{"level": "-2", "text": "On Sunday at nine"}}.taken(t)
	assert.Equal(t, (state.Wording{N: 3, By: "U3", Level: -2, Text: "On Sunday at nine"}), k.Framing.Wordings[2], "the wording")
	k = filled{moment: "framing", form: "framing.edit", who: "U1", args: screen.Args{N: 1}, fill: map[string]string{"level": "2"}}.taken(t)
	got := k.Framing.Wordings[0]
	assert.False(t, got.Level != 2 || got.Text != smallCast().wordings[0].Text, "the wording is %+v, want it on level 2 with its words as they were", got)
}

// The form offers to change one's own wordings; to a lead, everyone's.
func TestWordingsThatOneMayChange(t *testing.T) {
	m := momentAt(t, "framing")
	for who, want := range map[state.UserID][]int{"U1": {2, 1}, "U2": {2}, "U3": nil} {
		assert.Equal(t, want, changeable(pageFor(m, who)), "%s may change", who)
	}
}

func TestFramingVote(t *testing.T) {
	k := filled{moment: "framing", form: "framing.vote", who: "U2", fill: map[string]string{"level": "1", "ticks/0": "0,2"}}.taken(t)
	assert.Equal(t, (state.FramingVote{Level: 1, Ticks: []int{0, 2}}), k.Framing.Votes["U2"], "the vote")
	k = filled{moment: "framing", form: "framing.vote", who: "U1", fill: map[string]string{"level": "-1"}}.taken(t)
	assert.Equal(t, (state.FramingVote{Level: -1, Ticks: []int{0, 1}}), k.Framing.Votes["U1"], "the vote")
	k = filled{moment: "framing", form: "framing.vote", who: "U2", fill: map[string]string{"level": "0"}}.taken(t)
	got := k.Framing.Votes["U2"]
	assert.Empty(t, got.Ticks, "without a tick the vote is %+v", got)
}

// Every wording can be ticked, and stands above in full as far as fits.
func TestFramingVoteOffersEveryWording(t *testing.T) {
	m := hostileMomentAt(t, "framing")
	view, err := Open("framing.vote", pageFor(m, "U2"))
	require.NoError(t, err)
	v := fillIn(t, view, map[string]string{"level": "0"})
	got := len(v.Blocks("ticks/"))
	assert.Equal(t, 4, got, "31 wordings are in %d groups, want 4 of at most 10", got)
	all := map[string]string{"level": "0"}
	for group := range 4 {
		var values []string
		for _, n := range words.Rungs(m.K)[group*10 : min(group*10+10, 31)] {
			values = append(values, strconv.Itoa(n))
		}
		all["ticks/"+strconv.Itoa(group)] = strings.Join(values, ",")
	}
	answer, err := Submit("framing.vote", pageFor(m, "U2"), fillIn(t, view, all))
	require.NoError(t, err)
	m = take(t, m, answer.Intents[0])
	assert.Len(t, m.K.Framing.Votes["U2"].Ticks, 31, "wordings were ticked")
}

func TestFramingIsSettled(t *testing.T) {
	k := filled{moment: "framing/settling", form: "framing.settle", who: "U1", fill: map[string]string{"problem": "Mine", "level": "-1"}}.taken(t)
	assert.Equal(t, "Mine", k.Framing.Problem, "the framing is %+v", k.Framing)
	assert.Equal(t, -1, k.Framing.AtLevel, "the framing is %+v", k.Framing)
	assert.Equal(t, state.StageRoles, k.Stage, "the framing is %+v", k.Framing)
	m := momentAt(t, "framing/settling")
	m.K.Framing.Proposed = 1 // as if the ticks had gone to the first wording
	for action, want := range map[string]struct {
		problem string
		level   int
	}{
		"framing.confirm":  {m.K.Framing.Wordings[0].Text, m.K.Framing.Level.Level},
		"framing.original": {m.K.Brief.Problem, 0},
	} {
		intent, _, err := Do(action, pageFor(m, "U1"))
		require.NoError(t, err)
		got := take(t, m, intent).K.Framing
		assert.Equal(t, want.problem, got.Problem, "%s settles %q at %d, want %q at", action, got.Problem, got.AtLevel, want.problem)
		assert.Equal(t, want.level, got.AtLevel, "%s settles %q at %d, want %q at", action, got.Problem, got.AtLevel, want.problem)
	}
}

// Where the original is proposed, there is one button less, not two that do
// the same.
func TestSettlingOffersEachWayOnce(t *testing.T) {
	m := momentAt(t, "framing/settling")
	slot := flows.Slot{Screen: flows.ScreenSettle, Arg: "framing", To: "U1"}
	for proposed, want := range map[int][]string{
		0: {"Keep the Original", "Change It"},
		1: {"Take the Proposal", "Keep the Original", "Change It"},
	} {
		m.K.Framing.Proposed = proposed
		m.K.Framing.Level.Level = m.K.Framing.LevelOf(proposed)
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		assert.Equal(t, want, labels(posting), "with wording %d proposed the buttons", proposed)
	}
}

func TestWhyAWordingIsProposed(t *testing.T) {
	k := kickoffAt(t, state.StageFraming)
	votes := func(ticks ...[]int) map[state.UserID]state.FramingVote {
		out := map[state.UserID]state.FramingVote{}
		for i, t := range ticks {
			out[k.People[i].ID] = state.FramingVote{Ticks: t}
		}
		return out
	}
	for _, c := range []struct {
		rule     string
		votes    map[state.UserID]state.FramingVote
		proposed int
		want     string
	}{
		{"nobody voted", nil, 0, "Nobody ticked a wording, so this one is proposed:"},
		{"nobody ticked", votes(nil, nil), 0, "Nobody ticked a wording, so this one is proposed:"},
		{"most ticks", votes([]int{1}, []int{0, 1}), 1, "2 of 2 could live with this wording, more than with any other:"},
		{"the original has most ticks", votes([]int{0}, []int{0, 1}), 0, "2 of 2 could live with the original, more than with any other:"},
		{"a tie of two", votes([]int{0, 1}, nil), 0, "1 of 2 could live with the original, and as many with 1 other wording. This one is nearest to the level:"},
		{"a tie of three", votes([]int{0, 1, 2}), 0, "1 of 1 could live with the original, and as many with 2 other wordings. This one is nearest to the level:"},
	} {
		k.Framing.Votes, k.Framing.Proposed = c.votes, c.proposed
		assert.Equal(t, c.want, proposalText(k), c.rule)
	}
}

// Where the wording with most ticks stands at another level than the one that was
// chosen, the lead is told, and can take either, or word it anew.
func TestLevelAndWordingThatDoNotFit(t *testing.T) {
	m := momentAt(t, "framing/settling")
	slot := flows.Slot{Screen: flows.ScreenSettle, Arg: string(state.StageFraming), To: "U1"}
	f := &m.K.Framing
	f.Wordings = []state.Wording{{N: 1, By: "U2", Level: 1, Text: "Passengers without a car cannot plan their way."}, {N: 2, By: "U3", Level: -1, Text: "On Friday evenings nobody knows whether there is room."}}
	f.Level.N, f.Level.Level, f.Proposed = 3, 1, state.Original
	for _, c := range []struct {
		ticks   []int
		buttons []string
		offered bool
	}{
		{[]int{3, 2, 1}, []string{"Keep the Original", "Work at 0", "Take the One at +1", "Change It"}, true},
		{[]int{3, 0, 1}, []string{"Keep the Original", "Work at 0", "Change It"}, false},
	} {
		f.Ticked = c.ticks
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		assert.Equal(t, c.buttons, labels(posting))
		assert.Contains(t, PlainText(posting), "The wording stands at 0, and not at +1. Choose one of the two, or word it anew.")
		assert.Equal(t, c.offered, strings.Contains(PlainText(posting), "At +1 most could live with: Passengers without a car"))
	}
	f.Ticked = []int{3, 2, 1}
	for action, want := range map[string]state.Framing{
		"framing.confirm": {Problem: m.K.Brief.Problem, AtLevel: 1},
		"framing.rung":    {Problem: m.K.Brief.Problem, AtLevel: 0},
		"framing.level":   {Problem: f.Wordings[0].Text, AtLevel: 1},
	} {
		in, _ := framingActions[action](screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now})
		settled := take(t, m, in).K.Framing
		assert.Equal(t, want.Problem, settled.Problem, action)
		assert.Equal(t, want.AtLevel, settled.AtLevel, action)
	}
}

// While people choose, they weigh words and not names.
func TestAuthorsDoNotStandBesideWordingsBeforeTheClose(t *testing.T) {
	m := momentAt(t, "framing")
	m.K.People[1].Name = "Zebulon"
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "framing"}, m.Now)
	require.NoError(t, err)
	view, err := Open("framing.vote", pageFor(m, "U3"))
	require.NoError(t, err)
	for _, drawn := range []string{PlainText(posting), PlainForm(view)} {
		assert.NotContains(t, drawn, "Zebulon", "it names an author")
	}
}

func TestDraftsAreMarked(t *testing.T) {
	m := momentAt(t, "framing")
	m.K.Framing.Wordings = slices.Clone(m.K.Framing.Wordings)
	m.K.Framing.Wordings[0].Drafted = true
	view, err := Open("framing.vote", pageFor(m, "U3"))
	require.NoError(t, err)
	drawn := PlainForm(view)
	assert.Equal(t, 1, strings.Count(drawn, "(a machine's draft)"), "the draft is not marked:\n%s", drawn)
}

// A wording stands in its box, over both its lines; one that is too long for that stands above
// the boxes in full, and its box names it.
func TestWordingsStandOnce(t *testing.T) {
	m := momentAt(t, "framing")
	form := func() string {
		view, err := Open("framing.vote", screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now})
		require.NoError(t, err)
		return strings.Join(strings.Fields(plaintext.Blocks(view.Blocks.BlockSet)), " ")
	}
	long := "Nobody at the pier knows" + strings.Repeat(", and nobody at sea", 10) + "."
	for problem, box := range map[string]string{
		"Nobody knows whether there is room.":                                                      "Original · Nobody knows whether there is room.",
		"Passengers with bicycles cannot tell, before they reach the pier, whether there is room.": "Original · Passengers with bicycles cannot tell,: before they reach the pier, whether there is room.",
		long: "Original, as above",
	} {
		m.K.Brief.Problem = problem
		shown := form()
		assert.Contains(t, shown, box)
		for _, w := range m.K.Framing.Wordings {
			assert.Equal(t, 1, strings.Count(shown, w.Text[:40]), "wording %d", w.N)
		}
		assert.Equal(t, 1, strings.Count(shown, problem[:20]), "the original")
	}
}

func TestTextsAreBrokenBetweenWords(t *testing.T) {
	for text, want := range map[string][2]string{
		"It fits.": {"It fits.", ""},
		"At the pier nobody knows, and it rains.":    {"At the pier nobody knows,", "and it rains."},
		"Nobody knows there how full the deck is.":   {"Nobody knows there how", "full the deck is."},
		"Nobody at the pier knows (a draft of ours)": {"Nobody at the pier knows", "(a draft of ours)"},
		strings.Repeat("é", 40):                      {strings.Repeat("é", 30), strings.Repeat("é", 10)},
	} {
		first, rest := broken(text, 30)
		assert.Equal(t, want, [2]string{first, rest})
	}
}

// A lead who did not settle the problem is not told that they did.
func TestWhatNobodySettledStandsAsProposed(t *testing.T) {
	m := momentAt(t, "roles")
	settled := func(by state.UserID) string {
		m.K.Framing.SettledBy = by
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenSettle, Arg: "framing", To: "U1"}, m.Now)
		require.NoError(t, err)
		return PlainText(posting)
	}
	assert.Contains(t, settled(""), "It stands as it was proposed: "+m.K.Framing.Problem)
	assert.Contains(t, settled("U1"), "Done: "+m.K.Framing.Problem)
}

// A wording that names a solution gets a second look, which shows it whole, and is taken
// as it was when it is sent again.
func TestAWordingThatNamesASolutionGetsASecondLook(t *testing.T) {
	m := momentAt(t, "framing")
	view, err := Open("framing.add", pageFor(m, "U2"))
	require.NoError(t, err)
	plain, err := Submit("framing.add", pageFor(m, "U2"), fillIn(t, view, map[string]string{"level": "-1", "text": "People turn back at the pier."}))
	require.NoError(t, err)
	require.Len(t, plain.Intents, 1, "what names no solution is taken at once")

	const solution = "We should build an app that shows the room on board."
	answer, err := Submit("framing.add", pageFor(m, "U2"), fillIn(t, view, map[string]string{"level": "-1", "text": solution}))
	require.NoError(t, err)
	require.NotNil(t, answer.Next)
	require.Empty(t, answer.Intents)
	checkView(t, "second look at a wording", *answer.Next)
	inOrder(t, PlainForm(*answer.Next), "A second look", "This names a solution already", "narrower", solution, "[Add]")
	args, err := screen.ParseArgs(answer.Next.PrivateMetadata)
	require.NoError(t, err)
	p := pageFor(m, "U2")
	p.Args = args
	sent, err := Submit("framing.add", p, fillIn(t, *answer.Next, nil))
	require.NoError(t, err)
	require.Equal(t, []flows.Intent{flows.AddWording{By: flows.By{Who: "U2"}, Level: -1, Text: solution}}, sent.Intents)
}
