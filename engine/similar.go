package engine

import (
	"cmp"
	"slices"
)

// SimilarThreshold is the [Similarity] from which two sentences are shown to
// people as possibly the same belief. It was chosen on a labelled set of short
// beliefs (testdata/similar/pairs.csv), of which the tests print precision and
// recall.
const SimilarThreshold = 0.65

// The parts of a similarity: words weigh as much as letters.
const (
	wordPart   = 0.5
	letterPart = 0.5
)

// apartShare is what is left of the similarity of two sentences that must be
// kept apart; it leaves them below the threshold however alike they look.
const apartShare = 0.5

// Weights of words, by what they tell.
const (
	weightMeaning = 1.0
	weightGrammar = 0.2
	weightRunning = 0.5 // of each pair of letters, in scripts without spaces
)

// A sentence is a text, read for comparison.
type sentence struct {
	tokens  profile // stems of words, length 1
	letters profile // stretches of letters, length 1
	stance  stance
}

// readSentence prepares a text for comparison.
func readSentence(text string) sentence {
	x := allWords()
	ws := words(fold(text))
	langs := x.languagesOf(ws)
	var tokens, letters []feature
	for _, w := range ws {
		weight := weightMeaning
		if x.grammar[w.String()]&langs != 0 {
			weight = weightGrammar
		}
		tokens = append(tokens, tokensOf(w, weight)...)
		letters = append(letters, lettersOf(w, weight)...)
	}
	return sentence{newProfile(tokens).scaled(), newProfile(letters).scaled(), stanceOf(ws, x, langs)}
}

// tokensOf gives a word as its stem, and a stretch of letters without spaces
// as its pairs of letters.
func tokensOf(w word, weight float64) []feature {
	if w.kind == wordRunning && len(w.runes) > 1 {
		return grams(w.runes, 2, weightRunning)
	}
	return []feature{{keyOf(stem(w)), weight}}
}

// lettersOf gives the stretches of three letters of a word, its two ends
// marked, so that a slip of typing or an ending costs little; two letters
// where a letter is a syllable or a word.
func lettersOf(w word, weight float64) []feature {
	if w.kind == wordRunning || w.kind == wordSyllables {
		if len(w.runes) == 1 {
			return grams(w.runes, 1, weight)
		}
		return grams(w.runes, 2, weight)
	}
	padded := append(append([]rune{' '}, w.runes...), ' ')
	return grams(padded, 3, weight)
}

// Similarity tells how much alike two short sentences are, from 0
// (nothing in common) to 1 (the same but for spelling, order and grammar). It
// is symmetric; two texts without any letter are alike.
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
	if len(s.letters) == 0 || len(t.letters) == 0 {
		return bothEmpty(s.letters, t.letters)
	}
	likeness := wordPart*s.tokens.dot(t.tokens) + letterPart*s.letters.dot(t.letters)
	if s.stance.apart(t.stance, s.tokens, t.tokens) {
		likeness *= apartShare
	}
	return min(likeness, 1)
}

// A Match is a sentence that may say the same as another.
type Match struct {
	ID    string
	Score float64 // [Similarity], SimilarThreshold to 1
}

// An Index finds, among many short sentences, those that may say the same as
// a new one. Several sentences may share an id: they are wordings of one
// belief. Any number of goroutines may ask at once, but not while one adds.
type Index struct {
	ids       []string
	sentences []sentence
	postings  map[uint64][]posting // by stretch of letters
}

type posting struct {
	sentence int
	weight   float64
}

// NewIndex makes an empty index.
func NewIndex() *Index { return &Index{postings: map[uint64][]posting{}} }

// Add enters a sentence under an id.
func (x *Index) Add(id, text string) {
	s := readSentence(text)
	for _, f := range s.letters {
		x.postings[f.key] = append(x.postings[f.key], posting{len(x.sentences), f.weight})
	}
	x.ids = append(x.ids, id)
	x.sentences = append(x.sentences, s)
}

// Similar lists the sentences whose [Similarity] to text reaches
// [SimilarThreshold], most alike first and then as they were added, each id
// once; at most limit of them, or all when limit is 0 or less. A text without
// any letter is like nothing.
func (x *Index) Similar(text string, limit int) []Match {
	s := readSentence(text)
	var found []Match
	for i, letters := range x.letterCosines(s) {
		if letters < leastLetters {
			continue
		}
		if score := s.similarity(x.sentences[i]); score >= SimilarThreshold {
			found = append(found, Match{x.ids[i], score})
		}
	}
	slices.SortStableFunc(found, func(a, b Match) int { return cmp.Compare(b.Score, a.Score) })
	found = eachOnce(found)
	if limit > 0 && len(found) > limit {
		found = found[:limit]
	}
	return found
}

// leastLetters is the cosine of letters below which no cosine of words lifts
// a pair to the threshold, less a hair for rounding.
const leastLetters = (SimilarThreshold-wordPart)/letterPart - 1e-9

// letterCosines gives the cosine of letters with each sentence of the index,
// through the lists of who has which stretch: what shares nothing costs
// nothing.
func (x *Index) letterCosines(s sentence) []float64 {
	cosines := make([]float64, len(x.sentences))
	for _, f := range s.letters {
		for _, p := range x.postings[f.key] {
			cosines[p.sentence] += f.weight * p.weight
		}
	}
	return cosines
}

// eachOnce keeps the first match of each id.
func eachOnce(found []Match) []Match {
	seen := map[string]bool{}
	return slices.DeleteFunc(found, func(m Match) bool {
		again := seen[m.ID]
		seen[m.ID] = true
		return again
	})
}
