package scenario

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever a file holds, it is either read or refused with one line that
// names the file and a line of it.
func FuzzParse(f *testing.F) {
	seeded := 0
	for _, pattern := range []string{"*.yaml", "bad/*.yaml"} {
		files, err := filepath.Glob(filepath.Join(scenarios, pattern))
		require.NoError(f, err)
		for _, file := range files {
			data, err := os.ReadFile(file)
			require.NoError(f, err)
			f.Add(data)
			seeded++
		}
	}
	require.NotEqual(f, 0, seeded, "no seeds found")
	f.Add([]byte(wholeScenario))
	for _, c := range brokenScenarios {
		f.Add([]byte(strings.Replace(wholeScenario, c.old, c.new, 1)))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Parse("f.yaml", data)
		if err == nil {
			checkScenario(t, s)
			return
		}
		var fault *Fault
		require.ErrorAs(t, err, &fault, "got %T, want a *Fault", err)
		lines := strings.Count(string(data), "\n") + 1
		assert.GreaterOrEqual(t, fault.Line, 1, "line %d of %d: %v", fault.Line, lines, err)
		assert.False(t, fault.Line > lines && !strings.ContainsAny(string(data), "\r\u0085\u2028\u2029"), "line %d of %d: %v", fault.Line, lines, err)
		msg := err.Error()
		assert.True(t, strings.HasPrefix(msg, "f.yaml:"), "not one line that begins with the file: %q", msg)
		assert.False(t, strings.ContainsAny(msg, "\n\r\u2028\u2029"), "not one line that begins with the file: %q", msg)
		assert.NotEqual(t, "", fault.Problem, "says too little: %q", err)
		assert.NotEqual(t, "", fault.Allowed, "says too little: %q", err)
	})
}

// checkScenario checks what every reader of a scenario may lean on.
func checkScenario(t *testing.T, s *Scenario) {
	t.Helper()
	assert.NotEqual(t, "", s.Title, "accepted without title, problem, people or pace: %+v", s)
	assert.NotEqual(t, "", s.Brief.Problem, "accepted without title, problem, people or pace: %+v", s)
	assert.NotEmpty(t, s.People, "accepted without title, problem, people or pace: %+v", s)
	assert.GreaterOrEqual(t, s.PaceDays, 1, "accepted without title, problem, people or pace: %+v", s)
	for _, p := range s.People {
		assert.NotEqual(t, "", p.Name, "accepted somebody without a name or zone: %+v", p)
		_, err := time.LoadLocation(p.Zone)
		assert.NoError(t, err, "accepted somebody without a name or zone: %+v", p)
		assert.NotContains(t, []string{"", "Local"}, p.Zone, "accepted somebody without a name or zone: %+v", p)
	}
	for person, ballot := range s.Ratings.Round1 {
		p, known := s.Person(person)
		assert.True(t, known, "accepted the ballot of %q", person)
		assert.False(t, p.SilentIn("rating"), "accepted the ballot of %q", person)
		for id, r := range ballot {
			assert.GreaterOrEqual(t, min(r.Importance, r.Evidence), 0, "accepted %v for %s", r, id)
			assert.LessOrEqual(t, max(r.Importance, r.Evidence), 9, "accepted %v for %s", r, id)
		}
	}
	for _, a := range s.Actions {
		_, known := s.Person(a.Owner)
		assert.True(t, known, "accepted an action of %q", a.Owner)
	}
}
