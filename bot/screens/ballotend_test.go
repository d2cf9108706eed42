package screens

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/plaintext"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// alikeBallot is a ballot of eight, of which U3 rated the first n with one number on
// importance, and on evidence with numbers that tell them apart.
func alikeBallot(t *testing.T, n, importance int) screen.Page {
	t.Helper()
	m := momentAt(t, "rating")
	k := m.K
	k.Assumptions, k.Rounds = nil, []state.Round{{N: 1, Ballots: map[state.UserID]map[string]state.Marking{"U3": {}}}}
	for i := range 8 {
		id := fmt.Sprintf("A%d", i+1)
		k.Assumptions = append(k.Assumptions, state.Assumption{ID: id, Text: "The ferry is on time"})
		k.Rounds[0].IDs = append(k.Rounds[0].IDs, id)
		if i < n {
			k.Rounds[0].Ballots["U3"][id] = state.Marking{Importance: importance, Evidence: 1 + i%6}
		}
	}
	p := ballot(t, moment{K: k, Now: m.Now}, "U3", 0)
	p.Args.N = len(rating.Pages(p)) - 1
	return p
}

// submitted goes on with the form that an answer shows.
func submitted(t *testing.T, p screen.Page, shown *slack.ModalViewRequest, v block.Values) screen.Answer {
	t.Helper()
	var err error
	p.Args, err = screen.ParseArgs(shown.PrivateMetadata)
	require.NoError(t, err)
	answer, err := Submit(shown.CallbackID, p, v)
	require.NoError(t, err)
	return answer
}

var finishes = flows.Finish{By: flows.By{Who: "U3"}, Stage: state.StageRating, Round: 1}

func TestOpenChoicesAreAskedAboutBeforeABallotIsFinished(t *testing.T) {
	p := alikeBallot(t, 2, 9)
	answer, err := Submit("rating.ballot", p, block.Values{"rate/A3": {
		"rate/importance/A3": {SelectedOption: slack.OptionBlockObject{Value: "4"}},
		"rate/evidence/A3":   {},
	}})
	require.NoError(t, err)
	assert.NotContains(t, answer.Intents, flows.Intent(finishes), "nothing is finished before the answer")
	require.NotNil(t, answer.Next)
	assert.Contains(t, PlainForm(*answer.Next), "11 choices are still open: A3, A4, A5, A6, A7, A8.", "what was lost on its way counts")
	assert.Contains(t, PlainForm(*answer.Next), "[Go Back]")
	answer = submitted(t, p, answer.Next, nil)
	assert.Equal(t, []flows.Intent{finishes}, answer.Intents)
	assert.Contains(t, PlainForm(*answer.Next), "You have answered for 2 of 8 assumptions.")
}

func TestAWholeBallotIsFinishedWithThanks(t *testing.T) {
	p := alikeBallot(t, 8, 9)
	for i, id := range p.Kickoff.Rounds[0].Share(p.Viewer) {
		p.Kickoff.Rounds[0].Ballots["U3"][id] = state.Marking{Importance: 1 + i, Evidence: state.CantSay}
	}
	answer, err := Submit("rating.ballot", p, nil)
	require.NoError(t, err)
	assert.Equal(t, []flows.Intent{finishes}, answer.Intents)
	drawn := PlainForm(*answer.Next)
	assert.Contains(t, drawn, "You have answered for 8 of 8 assumptions.")
	assert.Contains(t, drawn, "Most important to you: A8 (8), A7 (7), A6 (6).")
}

// A ballot that gives everything the same number is asked about once. What is
// chosen changes that person's ratings alone, and is shown before it is saved.
func TestABallotOfOneNumberIsAskedWhatComesFirst(t *testing.T) {
	for _, test := range []struct {
		mark, those, others int
		changed             []string
	}{
		{9, 9, 8, []string{"A1", "A3", "A5", "A6", "A8"}},
		{1, 2, 1, []string{"A2", "A4", "A7"}}, // nothing can be lower
	} {
		p := alikeBallot(t, 8, test.mark)
		answer, err := Submit("rating.ballot", p, nil)
		require.NoError(t, err)
		assert.Empty(t, answer.Intents)
		assert.Contains(t, PlainForm(*answer.Next), fmt.Sprintf("You gave all 8 an importance of %d.", test.mark))
		asked := answer.Next
		answer = submitted(t, p, asked, chosenOf("A2", "A4", "A7"))
		assert.Empty(t, answer.Intents, "nothing changes before it was seen")
		assert.Contains(t, PlainForm(*answer.Next), fmt.Sprintf("On your ballot A2, A4 and A7 will have importance %d. The other 5 will have %d.", test.those, test.others))
		answer = submitted(t, p, answer.Next, nil)
		var changed []string
		for _, in := range answer.Intents[:len(answer.Intents)-1] {
			rate := in.(flows.Rate)
			assert.Equal(t, state.Importance, rate.Scale)
			changed = append(changed, rate.Assumption)
			want := test.others
			if slices.Contains([]string{"A2", "A4", "A7"}, rate.Assumption) {
				want = test.those
			}
			assert.Equal(t, want, rate.Value, rate.Assumption)
		}
		assert.Equal(t, test.changed, changed)
		assert.Equal(t, flows.Intent(finishes), answer.Intents[len(answer.Intents)-1])
		assert.Equal(t, []flows.Intent{finishes}, submitted(t, p, asked, chosenOf()).Intents, "with nothing chosen all stays")
		assert.NotEmpty(t, submitted(t, p, asked, chosenOf("A1", "A2", "A3", "A4")).Errors, "four are too many")
	}
}

func chosenOf(ids ...string) block.Values {
	var options []slack.OptionBlockObject
	for _, id := range ids {
		options = append(options, slack.OptionBlockObject{Value: id})
	}
	return block.Values{"first": {block.InputAction: {SelectedOptions: options}}}
}

func TestBallotsThatTellThingsApartAreNotAskedAbout(t *testing.T) {
	for what, change := range map[string]func(p *screen.Page){
		"one in eight differs": func(p *screen.Page) {
			p.Kickoff.Rounds[0].Ballots["U3"]["A1"] = state.Marking{Importance: 8, Evidence: 1}
		},
		"five are too few to say": func(p *screen.Page) {
			for _, id := range []string{"A1", "A2", "A3"} {
				p.Kickoff.Rounds[0].Ballots["U3"][id] = state.Marking{Importance: state.CantSay, Evidence: 3}
			}
		},
	} {
		p := alikeBallot(t, 8, 9)
		change(&p)
		answer, err := Submit("rating.ballot", p, nil)
		require.NoError(t, err, what)
		assert.Equal(t, []flows.Intent{finishes}, answer.Intents, what)
	}
}

// becauseBallot is a ballot of eight, told apart, of which the evidence of the last three
// is solid.
func becauseBallot(t *testing.T) screen.Page {
	t.Helper()
	p := alikeBallot(t, 8, 9)
	for i, id := range p.Kickoff.Rounds[0].Share(p.Viewer) {
		p.Kickoff.Rounds[0].Ballots["U3"][id] = state.Marking{Importance: 1 + i, Evidence: []int{2, 3, 9, 4, 1, 7, 8, 7}[i]}
	}
	return p
}

// What solid evidence rests on is asked once, about three at most, and can be skipped
// by the button that was to be pressed anyway.
func TestSolidEvidenceIsAskedWhatItRestsOn(t *testing.T) {
	p := becauseBallot(t)
	answer, err := Submit("rating.ballot", p, nil)
	require.NoError(t, err)
	assert.Empty(t, answer.Intents)
	asked := answer.Next
	drawn := PlainForm(*asked)
	assert.Contains(t, drawn, "A few words or a link help the others.")
	for _, id := range []string{"A3", "A7", "A8"} { // the most solid first, and of equals the more important
		assert.Contains(t, drawn, id+": The ferry is on time")
	}
	assert.NotContains(t, drawn, "A6: ")
	assert.Equal(t, []flows.Intent{finishes}, submitted(t, p, asked, nil).Intents, "with nothing said the ballot is finished")

	because := func(id, text string) block.Values {
		return block.Values{"because/" + id: {block.InputAction: {Value: text}}}
	}
	answer = submitted(t, p, asked, because("A7", "https://example.org/counts"))
	assert.Equal(t, []flows.Intent{
		flows.Rate{By: flows.By{Who: "U3"}, Round: 1, Assumption: "A7", Scale: state.Evidence, Value: 8, Because: "https://example.org/counts"}, finishes,
	}, answer.Intents)

	for rule, again := range map[string]func(p *screen.Page){
		"who has said it": func(p *screen.Page) {
			p.Kickoff.Rounds[0].Ballots["U3"]["A7"] = state.Marking{Importance: 7, Evidence: 8, Because: "I counted."}
		},
		"who finished before": func(p *screen.Page) { p.Kickoff.Window.Done = map[state.UserID]time.Time{"U3": p.Now} },
		"whose evidence is 6": func(p *screen.Page) {
			for id, m := range p.Kickoff.Rounds[0].Ballots["U3"] {
				m.Evidence = min(m.Evidence, 6)
				p.Kickoff.Rounds[0].Ballots["U3"][id] = m
			}
		},
	} {
		p := becauseBallot(t)
		again(&p)
		answer, err := Submit("rating.ballot", p, nil)
		require.NoError(t, err)
		assert.Equal(t, []flows.Intent{finishes}, answer.Intents, "%s is not asked", rule)
	}
}

// It is read by all once the round is counted, and names nobody.
func TestWhatSolidEvidenceRestsOnIsShown(t *testing.T) {
	m := momentAt(t, "rating/2")
	r := &m.K.Rounds[0]
	require.NotNil(t, r.Result)
	split, other := r.Splits[0], ""
	for _, id := range r.Result.Order {
		if !slices.Contains(r.Splits, id) {
			other = id
		}
	}
	r.Because = map[string][]string{split: {"I counted <!channel>."}, other: {"See https://example.org/a"}}
	p := screen.Page{Kickoff: m.K, Now: m.Now}
	message, err := rating.SplitMessage(p, split)
	require.NoError(t, err)
	assert.Contains(t, plaintext.Blocks(message.Blocks), "I counted <!channel>.")
	p.Args.Round = 1
	list, err := rating.ListMessage(p)
	require.NoError(t, err)
	shown := plaintext.Blocks(list.Blocks)
	assert.Contains(t, shown, other+" See https://example.org/a")
	assert.NotContains(t, shown, "I counted", "a split has a thread of its own")
}
