package hints

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func cosine(a, b string, n int) float64 {
	return newVector(grams(a, n, 1)).dot(newVector(grams(b, n, 1)))
}

// The vectors also hold edit distances and Jaccard indices, which are not used
// here.
func TestCosineVectors(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "vectors", "sentence_similarity.json"))
	require.NoError(t, err)
	var file struct {
		Cases []struct {
			ID, Provenance string
			Inputs         struct{ A, B string }
			Expected       struct {
				BigramCosine  *float64 `json:"bigram_cosine"`
				TrigramCosine *float64 `json:"trigram_cosine"`
			}
			Tolerance float64
		}
	}
	require.NoError(t, json.Unmarshal(data, &file))
	checked := 0
	for _, c := range file.Cases {
		for n, want := range map[int]*float64{2: c.Expected.BigramCosine, 3: c.Expected.TrigramCosine} {
			empty := len([]rune(c.Inputs.A)) < n || len([]rune(c.Inputs.B)) < n // a convention of theirs
			if want != nil && !empty {
				checked++
				assert.InDelta(t, *want, cosine(c.Inputs.A, c.Inputs.B, n), max(c.Tolerance, 1e-12), "%s, %d letters; source: %s", c.ID, n, c.Provenance)
			}
		}
	}
	assert.NotZero(t, checked)
}

// The naive twin counts in maps.
func TestCosineAgreesWithCounting(t *testing.T) {
	short := rapid.StringOfN(rapid.RuneFrom([]rune("abc")), 2, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		a, b := short.Draw(t, "a"), short.Draw(t, "b")
		x, y := countGrams(a), countGrams(b)
		dot, lengthX, lengthY := 0.0, 0.0, 0.0
		for g, n := range x {
			dot += n * y[g]
			lengthX += n * n
		}
		for _, n := range y {
			lengthY += n * n
		}
		assert.InDelta(t, dot/math.Sqrt(lengthX*lengthY), cosine(a, b, 2), 1e-12)
	})
}

func countGrams(s string) map[string]float64 {
	out := map[string]float64{}
	for i := 0; i+2 <= len(s); i++ {
		out[s[i:i+2]]++
	}
	return out
}
