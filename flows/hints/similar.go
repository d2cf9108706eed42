// Package hints suggests what people might look at again in a short text: what
// says the same already, and how a belief could be worded so that others can
// rate it. Everything here is a guess from the surface of a text. It is shown,
// never enforced; where in doubt, nothing is said.
//
// Start with [Similarity] and [Index] for near-duplicates, [Wording] for hints
// and [Halves] for two beliefs in one entry. The words of each language stand
// in languages.txt; stems come from the Snowball stemmers.
//
// When and to whom a hint is shown is left to others (flows, bot/screens).
package hints

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode/utf8"
)

// SimilarThreshold is the [Similarity] from which two sentences are shown to
// people as possibly the same belief. It was chosen on a labelled set of short
// beliefs (testdata/similar/pairs.csv), of which the tests print precision and
// recall.
const SimilarThreshold = 0.65

// apartShare is what is left of the similarity of two sentences that must be
// kept apart; it leaves them below the threshold however alike they look.
const apartShare = 0.5

// Weights of words.
const (
	weightMeaning = 1.0
	weightGrammar = 0.2
	weightRunning = 0.5 // of each pair of letters, in scripts without spaces
)

// A sentence is a text, read for comparison.
type sentence struct {
	words   vector // stems of words
	letters vector // stretches of letters
	stance  stance
}

func readSentence(text string) sentence {
	ws := words(text)
	langs := languagesOf(ws)
	var stems, letters []feature
	for _, w := range ws {
		weight := weightMeaning
		if langs.isGrammar(w) {
			weight = weightGrammar
		}
		switch n := utf8.RuneCountInString(w); {
		case run.MatchString(w) && n > 1: // a letter is a syllable or a word
			stems = append(stems, grams(w, 2, weightRunning)...)
			letters = append(letters, grams(w, 2, weight)...)
		default: // with its ends marked, an ending or a typing slip costs little
			stems = append(stems, feature{langs.stem(w), weight})
			letters = append(letters, grams(" "+w+" ", 3, weight)...)
		}
	}
	return sentence{newVector(stems), newVector(letters), stanceOf(ws, langs)}
}

// Similarity tells how much alike two short sentences are, from 0 (nothing in
// common) to 1 (the same but for spelling, order and grammar). It is
// symmetric; two texts without any letter are alike.
//
// It is the mean of two cosines: over the stems of words, grammar words
// weighing little, and over stretches of three letters inside words (two, in
// scripts without spaces between words), both after folding case and marks.
// Words make it robust to order, letters to inflection and slips of typing.
//
// Measures of letters cannot see meaning: "too high" and "too low" look much
// alike. So sentences that differ in a denial, in one of a list of opposites,
// in their figures, or in the direction of a comparison get half of what they
// would, which is always below [SimilarThreshold]. English is known best,
// then German, French, Spanish, Portuguese, Italian and Dutch; for other
// languages, the commonest denials and a few opposites.
//
// Limits: it finds the same words, not the same thought in other words; it
// misses opposites that are not listed, denials inside an ending (as Turkish
// has), and who does what to whom ("A tells B", "B tells A"); it keeps apart
// some sentences that mean the same ("not full", "has room"). So it suggests,
// and people decide.
func Similarity(a, b string) float64 {
	return readSentence(a).similarity(readSentence(b))
}

func (s sentence) similarity(t sentence) float64 {
	if len(s.letters) == 0 && len(t.letters) == 0 {
		return 1
	}
	likeness := s.likeness(t)
	if s.apart(t) {
		likeness *= apartShare
	}
	return likeness
}

// likeness is the similarity by words and letters alone.
func (s sentence) likeness(t sentence) float64 {
	return min((s.words.dot(t.words)+s.letters.dot(t.letters))/2, 1)
}

// A Match is a sentence that may say the same as another.
type Match struct {
	ID    string
	Score float64 // [Similarity], SimilarThreshold to 1
}

// An Index finds, among sentences, those that may say the same as a new one.
// The zero value is an empty one.
type Index struct {
	ids       []string
	sentences []sentence
	stems     map[string][]occurrence
}

// An occurrence is a stem in a sentence, with its weight there.
type occurrence struct {
	sentence int
	weight   float64
}

// fewestWords is the cosine of words below which even two sentences with all
// letters alike stay under the threshold; less a hair, as sums are rounded.
const fewestWords = 2*SimilarThreshold - 1 - 1e-9

// Add enters a sentence under an id.
func (x *Index) Add(id, text string) {
	s := readSentence(text)
	if x.stems == nil {
		x.stems = map[string][]occurrence{}
	}
	for _, f := range s.words {
		x.stems[f.key] = append(x.stems[f.key], occurrence{len(x.sentences), f.weight})
	}
	x.ids = append(x.ids, id)
	x.sentences = append(x.sentences, s)
}

// Similar lists the sentences whose [Similarity] to text reaches
// [SimilarThreshold], most alike first and then as they were added, at most
// limit of them. A text without any letter is like nothing.
func (x *Index) Similar(text string, limit int) []Match {
	s := readSentence(text)
	words := make([]float64, len(x.sentences)) // the cosine with each sentence
	for _, f := range s.words {
		for _, o := range x.stems[f.key] {
			words[o.sentence] += f.weight * o.weight
		}
	}
	var found []Match
	for i, cosine := range words {
		if cosine < fewestWords {
			continue
		}
		if score := s.similarity(x.sentences[i]); score >= SimilarThreshold {
			found = append(found, Match{x.ids[i], score})
		}
	}
	slices.SortStableFunc(found, func(a, b Match) int { return cmp.Compare(b.Score, a.Score) })
	return found[:min(limit, len(found))]
}

// A vector is a bag of words or of stretches of letters with their weights, in
// the order of its keys, so that sums never depend on the order of a map.
type vector []feature

type feature struct {
	key    string
	weight float64
}

// newVector sorts features, adds up those with the same key, and scales the
// vector to length 1, so that the dot of two is the cosine between them.
func newVector(features []feature) vector {
	slices.SortStableFunc(features, func(a, b feature) int { return strings.Compare(a.key, b.key) })
	var v vector
	for _, f := range features {
		if n := len(v); n > 0 && v[n-1].key == f.key {
			v[n-1].weight += f.weight
			continue
		}
		v = append(v, f)
	}
	length := math.Sqrt(v.dot(v))
	for i := range v {
		v[i].weight /= length
	}
	return v
}

// dot is the inner product of two vectors.
func (v vector) dot(w vector) float64 {
	sum := 0.0
	for i, j := 0, 0; i < len(v) && j < len(w); {
		switch c := cmp.Compare(v[i].key, w[j].key); {
		case c < 0:
			i++
		case c > 0:
			j++
		default:
			sum += v[i].weight * w[j].weight
			i, j = i+1, j+1
		}
	}
	return sum
}

// has reports whether v has a key.
func (v vector) has(key string) bool {
	_, ok := slices.BinarySearchFunc(v, key, func(f feature, k string) int { return strings.Compare(f.key, k) })
	return ok
}

// grams lists all stretches of n letters of s, each with a weight.
func grams(s string, n int, weight float64) []feature {
	var out []feature
	letters := []rune(s)
	for i := 0; i+n <= len(letters); i++ {
		out = append(out, feature{string(letters[i : i+n]), weight})
	}
	return out
}
