package engine

import (
	"math"
	"slices"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

// runsOf gives the lower-cased runs of letters and digits of s as a profile,
// as the vectors' token Jaccard has them.
func runsOf(s string) profile {
	var features []feature
	for _, run := range strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}) {
		features = append(features, feature{keyOf([]rune(run)), 1})
	}
	return newProfile(features)
}

// gramsOf gives the stretches of n letters of the raw string s as a profile.
func gramsOf(s string, n int) profile { return newProfile(grams([]rune(s), n, 1)) }

// cosine is what Similarity is made of: 0 to 1, by convention 1 for two empty
// profiles and 0 for an empty one and another.
func cosine(p, q profile) float64 {
	if len(p) == 0 || len(q) == 0 {
		return bothEmpty(p, q)
	}
	return slices.Clone(p).scaled().dot(slices.Clone(q).scaled())
}

// jaccard is the share of all features, of either profile, that both have:
// |A∩B|/|A∪B| over the sets of keys (Jaccard P. 1912).
func jaccard(p, q profile) float64 {
	if len(p) == 0 || len(q) == 0 {
		return bothEmpty(p, q)
	}
	both := p.shared(q)
	return float64(both) / float64(len(p)+len(q)-both)
}

// The vectors' edit distances are of a measure that is not used here.
func TestSimilarityMeasureVectors(t *testing.T) {
	eachVector(t, "sentence_similarity", func(t *testing.T, c vectorCase) {
		var in struct{ A, B string }
		var want struct {
			TokenJaccard   float64  `json:"token_jaccard"`
			BigramCosine   *float64 `json:"bigram_cosine"`
			TrigramCosine  *float64 `json:"trigram_cosine"`
			BigramJaccard  *float64 `json:"bigram_jaccard"`
			TrigramJaccard *float64 `json:"trigram_jaccard"`
		}
		c.read(t, &in, &want)
		near(t, "token Jaccard", jaccard(runsOf(in.A), runsOf(in.B)), want.TokenJaccard, c.Tolerance)
		for _, m := range []struct {
			what    string
			n       int
			measure func(p, q profile) float64
			want    *float64
		}{
			{"bigram cosine", 2, cosine, want.BigramCosine},
			{"trigram cosine", 3, cosine, want.TrigramCosine},
			{"bigram Jaccard", 2, jaccard, want.BigramJaccard},
			{"trigram Jaccard", 3, jaccard, want.TrigramJaccard},
		} {
			if m.want != nil {
				near(t, m.what, m.measure(gramsOf(in.A, m.n), gramsOf(in.B, m.n)), *m.want, c.Tolerance)
			}
		}
	})
}

func TestMeasuresOfNothing(t *testing.T) {
	some := gramsOf("pier", 2)
	for _, measure := range []func(p, q profile) float64{cosine, jaccard} {
		if measure(nil, nil) != 1 || measure(nil, some) != 0 || measure(some, nil) != 0 {
			t.Errorf("empty against empty %g, against another %g and %g; want 1, 0 and 0",
				measure(nil, nil), measure(nil, some), measure(some, nil))
		}
	}
}

// The naive twins count in maps.
func TestMeasuresAgreeWithCounting(t *testing.T) {
	short := rapid.StringOfN(rapid.RuneFrom([]rune("abc")), 0, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		a, b := short.Draw(t, "a"), short.Draw(t, "b")
		x, y := countGrams(a), countGrams(b)
		both, all, dot, lengthX, lengthY := 0.0, float64(len(y)), 0.0, 0.0, 0.0
		for g, n := range x {
			dot += n * y[g]
			lengthX += n * n
			if y[g] > 0 {
				both++
			} else {
				all++
			}
		}
		for _, n := range y {
			lengthY += n * n
		}
		if all == 0 || len(x) == 0 || len(y) == 0 {
			return // see TestMeasuresOfNothing
		}
		if got := jaccard(gramsOf(a, 2), gramsOf(b, 2)); math.Abs(got-both/all) > 1e-12 {
			t.Fatalf("jaccard %g, by counting %g", got, both/all)
		}
		if got, want := cosine(gramsOf(a, 2), gramsOf(b, 2)), dot/math.Sqrt(lengthX*lengthY); math.Abs(got-want) > 1e-12 {
			t.Fatalf("cosine %g, by counting %g", got, want)
		}
	})
}

func countGrams(s string) map[string]float64 {
	out := map[string]float64{}
	for i := 0; i+2 <= len(s); i++ {
		out[s[i:i+2]]++
	}
	return out
}
