package engine

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// A vectorCase is one check value from testdata/vectors. Null among its
// inputs stands for what is missing.
type vectorCase struct {
	ID         string          `json:"id"`
	Inputs     json.RawMessage `json:"inputs"`
	Expected   json.RawMessage `json:"expected"`
	Tolerance  float64         `json:"tolerance"`
	Provenance string          `json:"provenance"`
}

// eachVector runs check as a subtest for every case of a topic. A topic
// without cases fails.
func eachVector(t *testing.T, topic string, check func(t *testing.T, c vectorCase)) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "vectors", topic+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []vectorCase }
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatalf("vectors of %s: %v", topic, err)
	}
	if len(file.Cases) == 0 {
		t.Fatalf("vectors of %s: no cases", topic)
	}
	for _, c := range file.Cases {
		t.Run(c.ID, func(t *testing.T) {
			check(t, c)
			if t.Failed() {
				t.Logf("source: %s", c.Provenance)
			}
		})
	}
}

// read decodes the inputs and the expected values of c.
func (c vectorCase) read(t *testing.T, inputs, expected any) {
	t.Helper()
	if err := json.Unmarshal(c.Inputs, inputs); err != nil {
		t.Fatalf("inputs of %s: %v", c.ID, err)
	}
	if err := json.Unmarshal(c.Expected, expected); err != nil {
		t.Fatalf("expected of %s: %v", c.ID, err)
	}
}

// near fails unless got is within tolerance of want.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(got >= want-tolerance && got <= want+tolerance) {
		t.Errorf("%s = %.15g, want %.15g within %g", what, got, want, tolerance)
	}
}
