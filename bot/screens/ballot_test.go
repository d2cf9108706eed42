package screens

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/bot/block"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// ballot is a viewer's page of the ballot of the round that is open at a
// moment.
func ballot(t testing.TB, m moment, who state.UserID, at int) screen.Page {
	t.Helper()
	return screen.Page{Kickoff: m.K, Viewer: who, Now: m.Now, Args: screen.Args{Kickoff: m.K.ID, Stage: "rating", Round: m.K.Window.Round, N: at}}
}

// rateActions are the action ids of the scales on a page, in order.
func rateActions(v slack.ModalViewRequest) []string {
	var ids []string
	for _, b := range v.Blocks.BlockSet {
		if actions, ok := b.(*slack.ActionBlock); ok {
			for _, e := range actions.Elements.ElementSet {
				ids = append(ids, e.(*slack.SelectBlockElement).ActionID)
			}
		}
	}
	return ids
}

// Somebody fills in the whole ballot, page by page, through what the forms
// offer; flows takes every choice and in the end has them all.
func TestBallotRoundTrip(t *testing.T) {
	for _, test := range []struct {
		play string
		m    moment
		who  state.UserID
		step int // of so many scales one is chosen: to decide on hundreds is slow
	}{
		{"small", momentAt(t, "rating"), "U3", 1},
		{"small, second round", momentAt(t, "rating/2"), "U3", 1},
		{"hostile", hostileMomentAt(t, "rating"), "U5", 15},
		{"hostile, second round", hostileMomentAt(t, "rating/2"), "U5", 1},
	} {
		t.Run(test.play, func(t *testing.T) {
			m := test.m
			round := m.K.Window.Round
			p := ballot(t, m, test.who, 0)
			view, err := Open("rating.ballot", p)
			require.NoError(t, err)
			offered, chosen := 0, map[string]int{}
			for page := 0; ; page++ {
				for i, action := range rateActions(view) {
					if offered++; offered%test.step != 0 {
						continue
					}
					p.Kickoff = m.K
					m = take(t, m, must(t, p, action, fmt.Sprint(i%9+1)))
					chosen[action] = i%9 + 1
				}
				p.Kickoff = m.K
				p.Args, err = screen.ParseArgs(view.PrivateMetadata)
				require.NoError(t, err)
				answer, err := Submit(view.CallbackID, p, block.Values{})
				require.NoError(t, err)
				for _, intent := range answer.Intents {
					m = take(t, m, intent)
				}
				view = *answer.Next
				if view.CallbackID != "rating.ballot" {
					break
				}
			}
			for view.Submit != nil { // what is asked at the end stays as it is
				p.Kickoff = m.K
				answer := submitted(t, p, &view, nil)
				for _, intent := range answer.Intents {
					m = take(t, m, intent)
				}
				view = *answer.Next
			}
			assert.Equal(t, 2*len(m.K.Rounds[round-1].IDs), offered, "the pages offered %d scales", offered)
			for _, id := range m.K.Rounds[round-1].IDs {
				want := state.Marking{Importance: chosen["rate/importance/"+id], Evidence: chosen["rate/evidence/"+id]}
				assert.Equal(t, want, m.K.Ballot(round, test.who)[id], "%s was saved as", id)
			}
			assert.True(t, finished(m.K, round, test.who), "the last page did not finish the ballot")
		})
	}
}

// take lets flows decide on an intent, as the shell would.
func take(t testing.TB, m moment, in flows.Intent) moment {
	t.Helper()
	events, err := flows.Decide(m.K, in, m.Now)
	require.NoError(t, err, "flows refuses %#v", in)
	if len(events) > 0 {
		m.K = flows.Apply(m.K, m.K.Version+1, event.Record{At: m.Now, By: flows.Author(in), Events: events})
	}
	return m
}

func finished(k state.Kickoff, round int, who state.UserID) bool {
	w, _ := screen.WindowOf(k, state.StageRating, round)
	_, done := w.Done[who]
	return done
}

func TestBallotShowsWhatWasSaved(t *testing.T) {
	m := momentAt(t, "rating")
	p := ballot(t, m, "U3", 0)
	for _, choice := range []struct{ action, value string }{{"rate/importance/A1", "7"}, {"rate/evidence/A1", "-1"}} {
		intent, ok := rating.Choice(p, choice.action, choice.value)
		require.True(t, ok, "choice %+v was not understood", choice)
		m = take(t, m, intent)
	}
	view, err := Open("rating.ballot", ballot(t, m, "U3", 0))
	require.NoError(t, err)
	drawn := PlainForm(view)
	assert.Contains(t, drawn, "[Importance 7 ▾] [Evidence: can't say ▾]", "the ballot does not show")
}

// answerLimit is below the 20 kB that an answer to a form may have.
const answerLimit = 18_000

func TestBallotPagesStaySmall(t *testing.T) {
	for name, m := range map[string]moment{
		"small": momentAt(t, "rating"), "hostile": hostileMomentAt(t, "rating"), "hostile, round 2": hostileMomentAt(t, "rating/2"),
	} {
		p := ballot(t, m, "U1", 0)
		for at := range rating.Pages(p) {
			view, err := Open("rating.ballot", ballot(t, m, "U1", at))
			require.NoError(t, err)
			checkView(t, fmt.Sprintf("%s ballot, page %d", name, at), view)
			n := viewBytes(t, view)
			assert.Less(t, n, answerLimit, "%s ballot, page %d has %d bytes, want fewer than", name, at, n)
		}
	}
}

func viewBytes(t testing.TB, v slack.ModalViewRequest) int {
	t.Helper()
	data, err := json.Marshal(slack.NewUpdateViewSubmissionResponse(&v))
	require.NoError(t, err)
	return len(data)
}

// Whatever people type and whatever has been chosen: every assumption stands
// on exactly one page, in order, and no page is too large.
func TestBallotPagesHoldEverything(t *testing.T) {
	base := momentAt(t, "rating")
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 16).Draw(r, "assumptions")
		text := rapid.StringOfN(rapid.RuneFrom([]rune{'a', ' ', '<', '&', '"', '\n', 'é', '😀', '\u2028', 1}), 1, 320, -1)
		k := base.K
		k.Assumptions, k.Rounds = nil, []state.Round{{N: 1, Ballots: map[state.UserID]map[string]state.Marking{"U1": {}}}}
		for i := range n {
			id := fmt.Sprintf("A%d", i+1)
			k.Assumptions = append(k.Assumptions, state.Assumption{ID: id, Text: text.Draw(r, "text"), Because: text.Draw(r, "because")})
			k.Rounds[0].IDs = append(k.Rounds[0].IDs, id)
			k.Rounds[0].Ballots["U1"][id] = state.Marking{Importance: rapid.IntRange(-1, 9).Draw(r, "importance"), Evidence: 5}
		}
		m := moment{K: k, Now: base.Now}
		var on []string
		for at := range rating.Pages(ballot(t, m, "U1", 0)) {
			view, err := Open("rating.ballot", ballot(t, m, "U1", at))
			require.NoError(r, err)
			size := viewBytes(t, view)
			assert.Less(r, size, answerLimit, "page %d has %d bytes", at, size)
			for _, action := range rateActions(view) {
				if id, ok := strings.CutPrefix(action, "rate/importance/"); ok {
					on = append(on, id)
				}
			}
		}
		assert.True(r, slices.Equal(on, k.Rounds[0].IDs), "the pages hold")
	})
}

// Eighteen assumptions of usual length fit on a few pages: turning one costs
// a second, and the whole is to take less than four minutes.
func TestEighteenAssumptionsTakeFewPages(t *testing.T) {
	m := momentAt(t, "rating")
	k := m.K
	k.Assumptions, k.Rounds = nil, []state.Round{{N: 1}}
	for i := range 18 {
		id := fmt.Sprintf("A%d", i+1)
		k.Assumptions = append(k.Assumptions, state.Assumption{ID: id,
			Text: strings.Repeat("x", 95), Because: strings.Repeat("y", 85)})
		k.Rounds[0].IDs = append(k.Rounds[0].IDs, id)
	}
	n := len(rating.Pages(ballot(t, moment{K: k, Now: m.Now}, "U1", 0)))
	assert.LessOrEqual(t, n, 4, "18 assumptions take %d pages, want at most 4", n)
}

func TestBallotSavesChoicesThatWereLost(t *testing.T) {
	m := momentAt(t, "rating")
	p := ballot(t, m, "U3", 0)
	m = take(t, m, must(t, p, "rate/importance/A1", "3")) // on another device, later
	p.Kickoff = m.K
	v := block.Values{"rate/A1": {
		"rate/importance/A1": {SelectedOption: slack.OptionBlockObject{Value: "9"}},
		"rate/evidence/A1":   {SelectedOption: slack.OptionBlockObject{Value: "2"}},
	}, "rate/A2": {"rate/importance/A2": {}, "rate/evidence/A2": {}}}
	answer, err := Submit("rating.ballot", p, v)
	require.NoError(t, err)
	want := []flows.Intent{
		flows.Rate{By: flows.By{Who: "U3"}, Round: 1, Assumption: "A1", Scale: state.Evidence, Value: 2},
	}
	assert.Equal(t, want, answer.Intents, "intents = %#v, want %#v: what was saved stands, what was lost is saved", answer.Intents, want)
}

func must(t testing.TB, p screen.Page, action, value string) flows.Intent {
	t.Helper()
	intent, ok := rating.Choice(p, action, value)
	require.True(t, ok, "choice %s = %s was not understood", action, value)
	return intent
}

func TestChoiceReadsNothingElse(t *testing.T) {
	p := ballot(t, momentAt(t, "rating"), "U1", 0)
	for _, test := range []struct{ action, value string }{
		{"rate/charm/A1", "5"}, {"rate/importance", "5"}, {"importance/A1", "5"}, {"rate/evidence/A1", ""}, {"rate/evidence/A1", "lots"}, {"open/rating.ballot", "5"},
	} {
		intent, ok := rating.Choice(p, test.action, test.value)
		assert.False(t, ok, "rating.Choice(%q, %q) = %#v, want nothing", test.action, test.value, intent)
	}
}

func TestBallotRefusesWhatCouldNotBeSaved(t *testing.T) {
	for _, test := range []struct {
		rule string
		page screen.Page
	}{
		{"nobody outside fills in a ballot in vain", ballot(t, momentAt(t, "rating"), "U99", 0)},
		{"a button of the first round opens nothing in the second", func() screen.Page {
			p := ballot(t, momentAt(t, "rating/2"), "U1", 0)
			p.Args.Round = 1
			return p
		}()},
		{"a ballot of yesterday's stage stays shut", func() screen.Page {
			p := ballot(t, momentAt(t, "backlog"), "U1", 0)
			p.Args.Round = 1
			return p
		}()},
	} {
		_, err := Open("rating.ballot", test.page)
		assert.True(t, isRefusal(err), "%s: opening gives %v, want a refusal", test.rule, err)
		_, err = Submit("rating.ballot", test.page, block.Values{})
		assert.True(t, isRefusal(err), "%s: turning the page gives %v, want a refusal", test.rule, err)
	}
}
