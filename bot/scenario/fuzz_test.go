package scenario

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Whatever a file holds, it is either read or refused with one line that
// names the file and a line of it.
func FuzzParse(f *testing.F) {
	seeded := 0
	for _, pattern := range []string{"*.yaml", "bad/*.yaml"} {
		files, err := filepath.Glob(filepath.Join(scenarios, pattern))
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
			seeded++
		}
	}
	if seeded == 0 {
		f.Fatal("no seeds found")
	}
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
		if !errors.As(err, &fault) {
			t.Fatalf("got %T, want a *Fault", err)
		}
		if lines := strings.Count(string(data), "\n") + 1; fault.Line < 1 || fault.Line > lines && !strings.ContainsAny(string(data), "\r\u0085\u2028\u2029") {
			t.Errorf("line %d of %d: %v", fault.Line, lines, err)
		}
		if msg := err.Error(); !strings.HasPrefix(msg, "f.yaml:") || strings.ContainsAny(msg, "\n\r\u2028\u2029") {
			t.Errorf("not one line that begins with the file: %q", msg)
		}
		if fault.Problem == "" || fault.Allowed == "" {
			t.Errorf("says too little: %q", err)
		}
	})
}

// checkScenario checks what every reader of a scenario may lean on.
func checkScenario(t *testing.T, s *Scenario) {
	t.Helper()
	if s.Title == "" || s.Brief.Problem == "" || len(s.People) == 0 || s.PaceDays < 1 {
		t.Errorf("accepted without title, problem, people or pace: %+v", s)
	}
	for _, p := range s.People {
		if p.Name == "" || !isPlace(p.Zone) {
			t.Errorf("accepted somebody without a name or zone: %+v", p)
		}
	}
	for person, ballot := range s.Ratings.Round1 {
		p, known := s.Person(person)
		if !known || p.SilentIn("rating") {
			t.Errorf("accepted the ballot of %q", person)
		}
		for id, r := range ballot {
			if min(r.Importance, r.Evidence) < 0 || max(r.Importance, r.Evidence) > 9 {
				t.Errorf("accepted %v for %s", r, id)
			}
		}
	}
	for _, a := range s.Actions {
		if _, known := s.Person(a.Owner); !known {
			t.Errorf("accepted an action of %q", a.Owner)
		}
	}
}
