package rehearsal_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// Whoever reads the summary can say where the politics are, and nobody is named: what the
// core team and the others see differently stands below the map, where neither is few.
func TestWhereThePoliticsAre(t *testing.T) {
	notRaced(t)
	t.Parallel()
	const apart = "The core team finds A8 less important and A4 better known than the others do."
	for rule, c := range map[string]struct {
		change func(*scenario.Scenario)
		told   bool
	}{
		"six and six":                     {func(*scenario.Scenario) {}, true},
		"four of the others rate":         {func(s *scenario.Scenario) { unheard(s, "owen", "petra") }, true},
		"three of the others rate":        {func(s *scenario.Scenario) { unheard(s, "yuki", "owen", "petra") }, false},
		"the two sides are not of a mind": {mixed, false},
	} {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			s := readScenario(t, "politics.yaml")
			c.change(s)
			p := run(t, rehearsal.PlayConfig{Scenario: s})
			files := filesOf(t, p)
			summary := string(files["summary.md"])
			var got struct {
				Sides struct {
					Apart []struct {
						Assumption, Scale string
						CoreHigher        bool `json:"core_higher"`
					}
				}
			}
			require.NoError(t, json.Unmarshal(files["kickoff.json"], &got))
			if !c.told {
				assert.NotContains(t, summary, "The core team finds")
				assert.NotContains(t, p.Transcript(), "The core team finds")
				assert.Empty(t, got.Sides.Apart)
				return
			}
			assert.Contains(t, summary, "The core team finds A8 less important")
			assert.Contains(t, string(files["summary.html"]), "The core team finds A8 less important")
			require.NotEmpty(t, got.Sides.Apart)
			assert.Equal(t, "A8", got.Sides.Apart[0].Assumption)
			assert.Equal(t, "importance", got.Sides.Apart[0].Scale)
			assert.False(t, got.Sides.Apart[0].CoreHigher)
			if rule == "six and six" {
				assert.Contains(t, summary, apart)
			}
			for line := range strings.Lines(summary) {
				for _, person := range s.People {
					assert.False(t, strings.Contains(line, "The core team finds") && strings.Contains(line, person.Name), "%s is named", person.Name)
				}
			}
		})
	}
}

// unheard has some of the people rate nothing.
func unheard(s *scenario.Scenario, some ...string) {
	for _, key := range some {
		delete(s.Ratings.Round1, key)
		delete(s.Ratings.Round2, key)
	}
}

// mixed puts half of either side into the core team.
func mixed(s *scenario.Scenario) {
	for i, p := range s.People {
		s.Roles.Self[p.Key] = []string{"core", "consulted"}[i%2]
	}
}
