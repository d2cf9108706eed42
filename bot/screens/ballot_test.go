package screens

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"pgregory.net/rapid"

	"soundings/flows"
)

// ballot is a viewer's page of the ballot of the round that is open at a
// moment.
func ballot(t testing.TB, m moment, who flows.UserID, at int) Page {
	t.Helper()
	return Page{Kickoff: m.K, Viewer: who, Now: m.Now, Args: Args{Kickoff: m.K.ID, Stage: "rating", Round: m.K.Window.Round, N: at}}
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
		who  flows.UserID
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
			if err != nil {
				t.Fatal(err)
			}
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
				if p.Args, err = ParseArgs(view.PrivateMetadata); err != nil {
					t.Fatal(err)
				}
				answer, err := Submit(view.CallbackID, p, Values{})
				if err != nil {
					t.Fatal(err)
				}
				for _, intent := range answer.Intents {
					m = take(t, m, intent)
				}
				if answer.Next == nil {
					break
				}
				view = *answer.Next
			}
			if want := 2 * len(m.K.Rounds[round-1].IDs); offered != want {
				t.Errorf("the pages offered %d scales, want %d", offered, want)
			}
			for _, id := range m.K.Rounds[round-1].IDs {
				want := flows.Marking{Importance: chosen["rate/importance/"+id], Evidence: chosen["rate/evidence/"+id]}
				if got := m.K.Ballot(round, test.who)[id]; got != want {
					t.Errorf("%s was saved as %+v, want %+v", id, got, want)
				}
			}
			if !finished(m.K, round, test.who) {
				t.Error("the last page did not finish the ballot")
			}
		})
	}
}

// take lets flows decide on an intent, as the shell would.
func take(t testing.TB, m moment, in flows.Intent) moment {
	t.Helper()
	events, err := flows.Decide(m.K, in, m.Now)
	if err != nil {
		t.Fatalf("flows refuses %#v: %v", in, err)
	}
	if len(events) > 0 {
		m.K = flows.Apply(m.K, m.K.Version+1, flows.Record{At: m.Now, By: flows.Author(in), Events: events})
	}
	return m
}

func finished(k flows.Kickoff, round int, who flows.UserID) bool {
	w, _ := windowOf(k, flows.StageRating, round)
	_, done := w.Done[who]
	return done
}

func TestBallotShowsWhatWasSaved(t *testing.T) {
	m := momentAt(t, "rating")
	p := ballot(t, m, "U3", 0)
	for _, choice := range []struct{ action, value string }{{"rate/importance/A1", "7"}, {"rate/evidence/A1", "-1"}} {
		intent, ok := Choice(p, choice.action, choice.value)
		if !ok {
			t.Fatalf("choice %+v was not understood", choice)
		}
		m = take(t, m, intent)
	}
	view, err := Open("rating.ballot", ballot(t, m, "U3", 0))
	if err != nil {
		t.Fatal(err)
	}
	drawn := PlainForm(view)
	if want := "[Importance 7 ▾] [Evidence: can't say ▾]"; !strings.Contains(drawn, want) {
		t.Errorf("the ballot does not show %s:\n%s", want, drawn)
	}
}

// answerLimit is below the 20 kB that an answer to a form may have.
const answerLimit = 18_000

func TestBallotPagesStaySmall(t *testing.T) {
	for name, m := range map[string]moment{
		"small": momentAt(t, "rating"), "hostile": hostileMomentAt(t, "rating"), "hostile, round 2": hostileMomentAt(t, "rating/2"),
	} {
		p := ballot(t, m, "U1", 0)
		for at := range ballotPages(p) {
			view, err := Open("rating.ballot", ballot(t, m, "U1", at))
			if err != nil {
				t.Fatal(err)
			}
			checkView(t, fmt.Sprintf("%s ballot, page %d", name, at), view)
			if n := viewBytes(t, view); n >= answerLimit {
				t.Errorf("%s ballot, page %d has %d bytes, want fewer than %d", name, at, n, answerLimit)
			}
		}
	}
}

func viewBytes(t testing.TB, v slack.ModalViewRequest) int {
	t.Helper()
	data, err := json.Marshal(slack.NewUpdateViewSubmissionResponse(&v))
	if err != nil {
		t.Fatal(err)
	}
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
		k.Assumptions, k.Rounds = nil, []flows.Round{{N: 1, Ballots: map[flows.UserID]map[string]flows.Marking{"U1": {}}}}
		for i := range n {
			id := fmt.Sprintf("A%d", i+1)
			k.Assumptions = append(k.Assumptions, flows.Assumption{ID: id, Text: text.Draw(r, "text"), Because: text.Draw(r, "because")})
			k.Rounds[0].IDs = append(k.Rounds[0].IDs, id)
			k.Rounds[0].Ballots["U1"][id] = flows.Marking{Importance: rapid.IntRange(-1, 9).Draw(r, "importance"), Evidence: 5}
		}
		m := moment{K: k, Now: base.Now}
		var on []string
		for at := range ballotPages(ballot(t, m, "U1", 0)) {
			view, err := Open("rating.ballot", ballot(t, m, "U1", at))
			if err != nil {
				r.Fatal(err)
			}
			if size := viewBytes(t, view); size >= answerLimit {
				r.Errorf("page %d has %d bytes", at, size)
			}
			for _, action := range rateActions(view) {
				if id, ok := strings.CutPrefix(action, "rate/importance/"); ok {
					on = append(on, id)
				}
			}
		}
		if !slices.Equal(on, k.Rounds[0].IDs) {
			r.Errorf("the pages hold %v, want %v", on, k.Rounds[0].IDs)
		}
	})
}

// Eighteen assumptions of usual length fit on a few pages: turning one costs
// a second, and the whole is to take less than four minutes.
func TestEighteenAssumptionsTakeFewPages(t *testing.T) {
	m := momentAt(t, "rating")
	k := m.K
	k.Assumptions, k.Rounds = nil, []flows.Round{{N: 1}}
	for i := range 18 {
		id := fmt.Sprintf("A%d", i+1)
		k.Assumptions = append(k.Assumptions, flows.Assumption{ID: id,
			Text: strings.Repeat("x", 95), Because: strings.Repeat("y", 85)})
		k.Rounds[0].IDs = append(k.Rounds[0].IDs, id)
	}
	if n := len(ballotPages(ballot(t, moment{K: k, Now: m.Now}, "U1", 0))); n > 4 {
		t.Errorf("18 assumptions take %d pages, want at most 4", n)
	}
}

func TestBallotSavesChoicesThatWereLost(t *testing.T) {
	m := momentAt(t, "rating")
	p := ballot(t, m, "U3", 0)
	m = take(t, m, must(t, p, "rate/importance/A1", "3")) // on another device, later
	p.Kickoff = m.K
	v := Values{"rate/A1": {
		"rate/importance/A1": {SelectedOption: slack.OptionBlockObject{Value: "9"}},
		"rate/evidence/A1":   {SelectedOption: slack.OptionBlockObject{Value: "2"}},
	}, "rate/A2": {"rate/importance/A2": {}, "rate/evidence/A2": {}}}
	answer, err := Submit("rating.ballot", p, v)
	if err != nil {
		t.Fatal(err)
	}
	want := []flows.Intent{
		flows.Rate{By: flows.By{Who: "U3"}, Round: 1, Assumption: "A1", Scale: flows.Evidence, Value: 2},
		flows.Finish{By: flows.By{Who: "U3"}, Stage: flows.StageRating, Round: 1},
	}
	if !slices.Equal(answer.Intents, want) {
		t.Errorf("intents = %#v, want %#v: what was saved stands, what was lost is saved", answer.Intents, want)
	}
}

func must(t testing.TB, p Page, action, value string) flows.Intent {
	t.Helper()
	intent, ok := Choice(p, action, value)
	if !ok {
		t.Fatalf("choice %s = %s was not understood", action, value)
	}
	return intent
}

func TestChoiceReadsNothingElse(t *testing.T) {
	p := ballot(t, momentAt(t, "rating"), "U1", 0)
	for _, test := range []struct{ action, value string }{
		{"rate/charm/A1", "5"}, {"rate/importance", "5"}, {"importance/A1", "5"}, {"rate/evidence/A1", ""}, {"rate/evidence/A1", "lots"}, {"open/rating.ballot", "5"},
	} {
		if intent, ok := Choice(p, test.action, test.value); ok {
			t.Errorf("Choice(%q, %q) = %#v, want nothing", test.action, test.value, intent)
		}
	}
}

func TestBallotRefusesWhatCouldNotBeSaved(t *testing.T) {
	for _, test := range []struct {
		rule string
		page Page
	}{
		{"nobody outside fills in a ballot in vain", ballot(t, momentAt(t, "rating"), "U99", 0)},
		{"a button of the first round opens nothing in the second", func() Page {
			p := ballot(t, momentAt(t, "rating/2"), "U1", 0)
			p.Args.Round = 1
			return p
		}()},
		{"a ballot of yesterday's stage stays shut", func() Page {
			p := ballot(t, momentAt(t, "backlog"), "U1", 0)
			p.Args.Round = 1
			return p
		}()},
	} {
		if _, err := Open("rating.ballot", test.page); !isRefusal(err) {
			t.Errorf("%s: opening gives %v, want a refusal", test.rule, err)
		}
		if _, err := Submit("rating.ballot", test.page, Values{}); !isRefusal(err) {
			t.Errorf("%s: turning the page gives %v, want a refusal", test.rule, err)
		}
	}
}
