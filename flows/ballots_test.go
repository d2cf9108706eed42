package flows

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/flows/event"
	"soundings/flows/state"
)

// The last answer closes its window, and stands in an entry by itself: the rest
// can be read by everybody and is nobody's.
func TestTheLastBallotIsAnEntryByItself(t *testing.T) {
	w := usual(t, "framing")
	people := w.k.Participants()
	for _, u := range people {
		before := len(w.journal)
		w.must(t, VoteFraming{By: By{Who: u}, Ticks: []int{state.Original}})
		written := w.journal[before:]
		assert.Equal(t, "framing/1", written[0].Box)
		assert.Equal(t, u, written[0].By)
		if u != people[len(people)-1] {
			require.Len(t, written, 1)
			continue
		}
		require.GreaterOrEqual(t, len(written), 2) // and messages that are posted
		assert.Equal(t, []string{"", ""}, []string{written[1].Box, string(written[1].By)})
	}
	assert.Equal(t, state.PhaseSettling, w.k.Window.Phase)
	assert.Equal(t, []string{"framing/1"}, event.EmptiedBoxes(&w.k))
	assert.Empty(t, event.Boxes(&w.k))
}

// What was put into a box that was emptied since does not count in the next.
func TestALateBallotIsNotInTheNextBox(t *testing.T) {
	w := usual(t, "framing")
	u := w.k.Participants()[0]
	late := event.Record{Box: "framing/1", At: w.now, By: u, Events: []event.Event{event.FramingVoted{Level: 2}}}
	lead := ByLead{Who: w.k.Lead().ID}
	w.must(t, CloseNow{lead}, Reopen{lead})
	assert.Empty(t, Apply(w.k, w.k.Version+1, late).Framing.Votes)
	late.Box = "framing/2"
	assert.Len(t, Apply(w.k, w.k.Version+1, late).Framing.Votes, 1)
	late.Box = ""
	assert.Len(t, Apply(w.k, w.k.Version+1, late).Framing.Votes, 1, "of an older release")
}

// A sealed record is no record of nothing to a release that knows no boxes.
func TestAnOlderReleaseRefusesWhatIsSealed(t *testing.T) {
	data, err := json.Marshal(event.Record{Box: "rating/1", Sealed: []byte{1, 2, 3}})
	require.NoError(t, err)
	var old struct {
		At time.Time `json:"at"`
	}
	require.Error(t, json.Unmarshal(data, &old))
	var r event.Record
	require.NoError(t, json.Unmarshal(data, &r))
	assert.Equal(t, event.Record{Box: "rating/1", Sealed: []byte{1, 2, 3}}, r)
}

// With three ratings the quartiles give away each; with four they do not.
func TestFewRatingsAreAMedianAlone(t *testing.T) {
	w := usual(t, "rating/1")
	for i, u := range w.k.Participants()[:3] {
		for _, scale := range []state.Scale{state.Importance, state.Evidence} {
			w.must(t, Rate{By: By{Who: u}, Round: 1, Assumption: "A1", Scale: scale, Value: 3 + i})
		}
	}
	w.must(t, CloseNow{ByLead{Who: w.k.Lead().ID}})
	a, ok := w.k.Scored("A1")
	require.True(t, ok)
	assert.Equal(t, 3, a.Importance.N)
	assert.InDelta(t, 4, float64(a.Importance.Median), 0)
	assert.False(t, a.Importance.Q1.Defined() || a.Importance.IQR.Defined() || a.Evidence.IPRLow.Defined() || a.Evidence.IPRAS.Defined())
}

// A kickoff that ends without a decision leaves no box behind.
func TestAnAbandonedKickoffLeavesNoBallots(t *testing.T) {
	for name, end := range map[string]Intent{
		"the channel is deleted": ReportUnreachable{Why: state.ChannelDeleted},
		"a lead calls it off":    CallOff{ByLead: ByLead{Who: "ines"}, Why: "The pier closes."},
	} {
		t.Run(name, func(t *testing.T) {
			w := usual(t, "rating/1")
			w.must(t, Rate{By: By{Who: w.k.Participants()[0]}, Round: 1, Assumption: "A1", Scale: state.Importance, Value: 3})
			require.NotEmpty(t, event.Boxes(&w.k))
			w.must(t, end)
			assert.Equal(t, state.StageEnded, w.k.Stage)
			assert.Empty(t, event.Boxes(&w.k))
			assert.Contains(t, event.EmptiedBoxes(&w.k), "rating/1")
			assert.Empty(t, w.k.Rounds[0].Ballots)
			assert.Nil(t, w.k.Rounds[0].Result, "what was not counted has no result")
			holdFolds(t, w.journal)
		})
	}
}

// What solid evidence rests on is on nobody's list but one's own until the count. Then it
// stands without names, in the order of the alphabet, and only where the rating that it
// was said of still stands.
func TestWhatEvidenceRestsOnIsCountedUnsigned(t *testing.T) {
	w := usual(t, "rating/1")
	people := w.k.Participants()
	say := func(u state.UserID, value int, because string) {
		w.must(t, Rate{By: By{Who: u}, Round: 1, Assumption: "A1", Scale: state.Evidence, Value: value, Because: because})
	}
	say(people[0], 8, "We counted.")
	say(people[1], 7, "A survey.")
	say(people[2], 9, "I thought so.")
	say(people[2], 9, "") // a further choice leaves it
	say(people[2], 6, "") // and one that is no longer solid takes it back
	_, err := w.do(Rate{By: By{Who: people[2]}, Round: 1, Assumption: "A1", Scale: state.Evidence, Value: 6, Because: "Still."})
	require.Error(t, err)
	assert.Empty(t, w.k.Rounds[0].Because, "before the count")
	w.must(t, CloseNow{ByLead{Who: w.k.Lead().ID}})
	assert.Equal(t, map[string][]string{"A1": {"A survey.", "We counted."}}, w.k.Rounds[0].Because)
	holdFolds(t, w.journal)
}

// What a check-in writes down of few must be the same whichever ratings of the same third
// they gave, and of one person whatever it was: from the record nobody can tell more. The
// rule is the project's own; of four the figure is their median.
func TestFewRateEvidenceAnewUnseen(t *testing.T) {
	w := usual(t, "underway")
	w.k.Underway.Checkins = []state.Checkin{{N: 1}}
	w.k.Assumptions = append(w.k.Assumptions, state.Assumption{ID: "A99", Since: 1})
	closed := func(ratings []int) event.CheckinClosed {
		c := state.Checkin{N: 1, Evidence: map[state.UserID]map[string]int{}, Rated: map[state.UserID]map[string]state.Marking{}}
		for i, u := range []state.UserID{"ana", "bo", "cy", "dee"}[:len(ratings)] {
			value := ratings[i]
			c.Evidence[u] = map[string]int{"A1": value}
			c.Rated[u] = map[string]state.Marking{"A99": {Importance: value, Evidence: 10 - value}}
		}
		return closeCheckin(&w.k, &c)[0].(event.CheckinClosed)
	}
	written := func(ratings []int) string {
		data, err := json.Marshal(closed(ratings))
		require.NoError(t, err)
		return string(data)
	}
	rating := rapid.IntRange(1, 9)
	rapid.Check(t, func(r *rapid.T) {
		said := rapid.SliceOfN(rating, 1, state.FewestRaters-1).Draw(r, "said")
		others := make([]int, len(said))
		for i, value := range said {
			third := (value - 1) / 3
			others[i] = 3*third + rapid.IntRange(1, 3).Draw(r, "another of its third")
		}
		if len(said) == 1 {
			others[0] = rating.Draw(r, "anything")
		}
		assert.Equal(r, written(said), written(others))
	})
	three := closed([]int{9, 7, 1})
	require.Len(t, three.Moved, 1)
	assert.False(t, three.Moved[0].To.Defined())
	assert.Equal(t, 3, three.Moved[0].Third, "most of them find it well known")
	assert.Zero(t, closed([]int{9, 1}).Moved[0].Third, "neither has most")
	assert.Empty(t, closed([]int{9}).Placed, "one person's place would be their rating")
	four := closed([]int{9, 7, 1, 8})
	assert.InDelta(t, 7.5, float64(four.Moved[0].To), 0)
	assert.InDelta(t, 7.5, float64(four.Placed[0].Importance.Median), 0)
}
