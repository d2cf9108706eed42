package screens

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"soundings/flows"
)

func TestWordingsAreAddedAndChanged(t *testing.T) {
	k := filled{moment: "framing", form: "framing.add", who: "U3", fill: map[string]string{"level": "-2", "text": "On Sunday at nine"}}.taken(t)
	if got, want := k.Framing.Wordings[2], (flows.Wording{N: 3, By: "U3", Level: -2, Text: "On Sunday at nine"}); got != want {
		t.Errorf("the wording is %+v, want %+v", got, want)
	}
	k = filled{moment: "framing", form: "framing.edit", who: "U1", args: Args{N: 1}, fill: map[string]string{"level": "2"}}.taken(t)
	if got := k.Framing.Wordings[0]; got.Level != 2 || got.Text != smallCast().wordings[0].Text {
		t.Errorf("the wording is %+v, want it on level 2 with its words as they were", got)
	}
}

// The form offers to change one's own wordings; to a lead, everyone's.
func TestWordingsThatOneMayChange(t *testing.T) {
	m := momentAt(t, "framing")
	for who, want := range map[flows.UserID][]int{"U1": {2, 1}, "U2": {2}, "U3": nil} {
		if got := changeable(pageFor(m, who)); !slices.Equal(got, want) {
			t.Errorf("%s may change %v, want %v", who, got, want)
		}
	}
}

func TestFramingVote(t *testing.T) {
	k := filled{moment: "framing", form: "framing.vote", who: "U2", fill: map[string]string{"level": "1", "ticks/0": "0,2"}}.taken(t)
	if got, want := k.Framing.Votes["U2"], (flows.FramingVote{Level: 1, Ticks: []int{0, 2}}); !reflect.DeepEqual(got, want) {
		t.Errorf("the vote is %+v, want %+v", got, want)
	}
	k = filled{moment: "framing", form: "framing.vote", who: "U1", fill: map[string]string{"level": "-1"}}.taken(t)
	if got, want := k.Framing.Votes["U1"], (flows.FramingVote{Level: -1, Ticks: []int{0, 1}}); !reflect.DeepEqual(got, want) {
		t.Errorf("the vote is %+v, want the level changed and the ticks as they were", got)
	}
	k = filled{moment: "framing", form: "framing.vote", who: "U2", fill: map[string]string{"level": "0"}}.taken(t)
	if got := k.Framing.Votes["U2"]; len(got.Ticks) != 0 {
		t.Errorf("without a tick the vote is %+v", got)
	}
}

// Every wording can be ticked, and stands above in full as far as fits.
func TestFramingVoteOffersEveryWording(t *testing.T) {
	m := hostileMomentAt(t, "framing")
	view, err := Open("framing.vote", pageFor(m, "U2"))
	if err != nil {
		t.Fatal(err)
	}
	v := fillIn(t, view, map[string]string{"level": "0"})
	if got := len(v.Blocks("ticks/")); got != 4 {
		t.Errorf("31 wordings are in %d groups, want 4 of at most 10", got)
	}
	all := map[string]string{"level": "0"}
	for group := range 4 {
		var values []string
		for _, n := range rungs(m.K)[group*10 : min(group*10+10, 31)] {
			values = append(values, strconv.Itoa(n))
		}
		all["ticks/"+strconv.Itoa(group)] = strings.Join(values, ",")
	}
	answer, err := Submit("framing.vote", pageFor(m, "U2"), fillIn(t, view, all))
	if err != nil {
		t.Fatal(err)
	}
	m = take(t, m, answer.Intents[0])
	if got := len(m.K.Framing.Votes["U2"].Ticks); got != 31 {
		t.Errorf("%d wordings were ticked, want 31", got)
	}
}

func TestFramingIsSettled(t *testing.T) {
	k := filled{moment: "framing/settling", form: "framing.settle", who: "U1", fill: map[string]string{"problem": "Mine", "level": "-1"}}.taken(t)
	if k.Framing.Problem != "Mine" || k.Framing.AtLevel != -1 || k.Stage != flows.StageRoles {
		t.Errorf("the framing is %+v", k.Framing)
	}
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
		if err != nil {
			t.Fatal(err)
		}
		if got := take(t, m, intent).K.Framing; got.Problem != want.problem || got.AtLevel != want.level {
			t.Errorf("%s settles %q at %d, want %q at %d", action, got.Problem, got.AtLevel, want.problem, want.level)
		}
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
		posting, err := Message(m.K, slot, m.Now)
		if err != nil {
			t.Fatal(err)
		}
		if got := labels(posting); !slices.Equal(got, want) {
			t.Errorf("with wording %d proposed the buttons are %q, want %q", proposed, got, want)
		}
	}
}

func TestWhyAWordingIsProposed(t *testing.T) {
	k := kickoffAt(t, flows.StageFraming)
	votes := func(ticks ...[]int) map[flows.UserID]flows.FramingVote {
		out := map[flows.UserID]flows.FramingVote{}
		for i, t := range ticks {
			out[k.People[i].ID] = flows.FramingVote{Ticks: t}
		}
		return out
	}
	for _, c := range []struct {
		rule     string
		votes    map[flows.UserID]flows.FramingVote
		proposed int
		want     string
	}{
		{"nobody voted", nil, 0, "Nobody ticked a wording, so this one is proposed:"},
		{"nobody ticked", votes(nil, nil), 0, "Nobody ticked a wording, so this one is proposed:"},
		{"most ticks", votes([]int{1}, []int{0, 1}), 1, "2 of 2 could live with this wording, more than with any other:"},
		{"the original has most ticks", votes([]int{0}, []int{0, 1}), 0, "2 of 2 could live with the original, more than with any other:"},
		{"a tie of two", votes([]int{0, 1}, nil), 0, "1 of 2 could live with the original, as with 1 other; of these it is nearest to the level:"},
		{"a tie of three", votes([]int{0, 1, 2}), 0, "1 of 1 could live with the original, as with 2 others; of these it is nearest to the level:"},
	} {
		k.Framing.Votes, k.Framing.Proposed = c.votes, c.proposed
		if got := proposalText(k); got != c.want {
			t.Errorf("%s: %q, want %q", c.rule, got, c.want)
		}
	}
}

func TestTheResultSaysWhoSettled(t *testing.T) {
	k := kickoffAt(t, flows.StageRoles)
	for _, c := range []struct {
		by      flows.UserID
		problem string
		want    string
	}{
		{"U1", k.WordingText(k.Framing.Proposed), "Settled by Ana, as people chose."},
		{"", k.WordingText(k.Framing.Proposed), "The lead did not settle it in time, so what people chose stands."},
		{"U1", "Something else", "Settled by Ana, who changed the wording that people chose."},
	} {
		k.Framing.SettledBy, k.Framing.Problem = c.by, c.problem
		if got := framingBy(k); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	k.Framing.Proposed, k.Framing.Problem = 1, k.Brief.Problem
	if got, want := framingBy(k), "Settled by Ana, who kept the original wording."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// While people choose, they weigh words and not names.
func TestAuthorsDoNotStandBesideWordingsBeforeTheClose(t *testing.T) {
	m := momentAt(t, "framing")
	m.K.People[1].Name = "Zebulon"
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "framing"}, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	view, err := Open("framing.vote", pageFor(m, "U3"))
	if err != nil {
		t.Fatal(err)
	}
	for _, drawn := range []string{PlainText(posting), PlainForm(view)} {
		if strings.Contains(drawn, "Zebulon") {
			t.Errorf("it names an author:\n%s", drawn)
		}
	}
}

func TestDraftsAreMarked(t *testing.T) {
	m := momentAt(t, "framing")
	m.K.Framing.Wordings = slices.Clone(m.K.Framing.Wordings)
	m.K.Framing.Wordings[0].Drafted = true
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "framing"}, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	if drawn := PlainText(posting); strings.Count(drawn, "(a machine's draft)") != 1 {
		t.Errorf("the draft is not marked:\n%s", drawn)
	}
}
