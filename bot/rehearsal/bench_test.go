package rehearsal_test

import (
	"fmt"
	"maps"
	"testing"

	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// A whole scripted kickoff with more and more people: each further person
// does what one of the demo's does. What it costs should grow with the people
// and not with their square, since each of them answers as often as before.
func BenchmarkKickoff(b *testing.B) {
	for _, size := range []struct{ people, assumptions int }{{12, 14}, {50, 14}, {100, 14}, {200, 40}} {
		b.Run(fmt.Sprintf("%dx%d", size.people, size.assumptions), func(b *testing.B) {
			script := crowded(b, size.people, size.assumptions)
			for b.Loop() {
				rdb := storetest.Client(b, storetest.Embedded(b))
				p, err := rehearsal.NewPlay(rehearsal.PlayConfig{Scenario: script, Journal: journal.New(rdb, journal.Options{Embedded: true})})
				require.NoError(b, err)
				require.NoError(b, p.Run(b.Context()))
				p.Close()
			}
		})
	}
}

// crowded is the demo with so many people and assumptions.
func crowded(tb testing.TB, people, assumptions int) *scenario.Scenario {
	tb.Helper()
	s := readScenario(tb, "ferry.yaml")
	of := map[string]string{} // whom each further person follows
	for i := len(s.People); i < people; i++ {
		like := s.People[i%12]
		key := fmt.Sprintf("%s%d", like.Key, i/12)
		of[key] = like.Key
		s.People = append(s.People, scenario.Person{Key: key, Name: fmt.Sprintf("%s %d", like.Name, i/12), Zone: like.Zone, Silent: like.Silent})
	}
	for i := len(s.Assumptions); i < assumptions; i++ {
		like := s.Assumptions[i%14]
		id := fmt.Sprintf("A%d", i+1)
		s.Assumptions = append(s.Assumptions, scenario.Assumption{ID: id, By: like.By, Text: fmt.Sprintf("%s On the line to island %d.", like.Text, i), Because: like.Because})
		for _, ballot := range s.Ratings.Round1 {
			if pair, has := ballot[like.ID]; has {
				ballot[id] = pair
			}
		}
	}
	follow(s.Framing.Votes, of)
	follow(s.Roles.Self, of)
	follow(s.Roles.Days, of)
	follow(s.Ratings.Round1, of)
	follow(s.Ratings.Round2, of)
	for _, votes := range s.Backlog.Kinds {
		follow(votes, of)
	}
	follow(s.Timebox.Votes, of)
	for _, c := range s.Underway.Checkins {
		follow(c.Confidence, of)
	}
	follow(s.Underway.Decision.Votes, of)
	return s
}

// follow gives each further person the answer of whom they follow.
func follow[V any](answers map[string]V, of map[string]string) {
	for key, like := range maps.All(of) {
		if answer, has := answers[like]; has {
			answers[key] = answer
		}
	}
}
