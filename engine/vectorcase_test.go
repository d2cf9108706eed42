package engine

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	require.NoError(t, err)
	var file struct{ Cases []vectorCase }
	require.NoError(t, json.Unmarshal(data, &file), "vectors of %s", topic)
	require.NotEmpty(t, file.Cases, "vectors of %s: no cases", topic)
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
	require.NoError(t, json.Unmarshal(c.Inputs, inputs), "inputs of %s", c.ID)
	require.NoError(t, json.Unmarshal(c.Expected, expected), "expected of %s", c.ID)
}

// near fails unless got is within tolerance of want.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	assert.True(t, got >= want-tolerance && got <= want+tolerance, "%s = %.15g, want %.15g within %g", what, got, want, tolerance)
}
