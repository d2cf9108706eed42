package engine

import (
	"slices"
	"strings"
	"sync"
)

// A pole is one side of a pair of opposites.
type pole struct {
	concept int
	side    bool
	langs   langSet
}

// A langSet is a set of languages, a bit for each of spokenLanguages in turn,
// and one for all others.
type langSet uint16

// otherLangs stands for the languages that their letters tell apart.
const otherLangs langSet = 1 << 15

// A lexicon is the words of all languages, folded and ready to look up.
type lexicon struct {
	grammar map[string]langSet
	denials map[string]langSet
	poles   map[string][]pole // by word
	stems   map[string][]pole // by stem
	inner   map[string]innerMark
	concord langSet
	longest int // runes of the longest inner mark
}

// An innerMark is found inside a stretch of letters: a denial, or a pole.
type innerMark struct {
	denies bool
	poles  []pole
}

// words of all languages, read once, on first use.
var allWords = sync.OnceValue(readLexicon)

func readLexicon() *lexicon {
	x := &lexicon{grammar: map[string]langSet{}, denials: map[string]langSet{},
		poles: map[string][]pole{}, stems: map[string][]pole{}, inner: map[string]innerMark{}, concord: otherLangs}
	concept := 0
	for i, l := range spokenLanguages {
		lang := langSet(1) << i
		if l.concord {
			x.concord |= lang
		}
		note(x.grammar, l.grammar, lang)
		note(x.denials, l.denials, lang)
		concept = x.readOpposites(l.opposites, lang, concept)
	}
	note(x.denials, otherDenials, otherLangs)
	concept = x.readOpposites(otherOpposites, otherLangs, concept)
	x.readInner(concept)
	return x
}

// note enters the words of a list under a language.
func note(into map[string]langSet, list string, lang langSet) {
	for w := range strings.FieldsSeq(list) {
		into[string(fold(w))] |= lang
	}
}

// readOpposites enters lines of two sides, numbering on from concept.
func (x *lexicon) readOpposites(lines string, lang langSet, concept int) int {
	for line := range opposition(lines) {
		for side, list := range line {
			for w := range strings.FieldsSeq(list) {
				x.addPole(word{fold(w), wordLetters}, pole{concept, side == 1, lang})
			}
		}
		concept++
	}
	return concept
}

func (x *lexicon) addPole(w word, p pole) {
	x.poles[w.String()] = append(x.poles[w.String()], p)
	short := string(stem(w))
	x.stems[short] = append(x.stems[short], p)
}

// polesOf finds on which sides of which opposites a word stands: the word as
// it is listed, else one with the same stem.
func (x *lexicon) polesOf(w word, stem []rune) []pole {
	if poles, ok := x.poles[w.String()]; ok {
		return poles
	}
	return x.stems[string(stem)]
}

// readInner enters what is looked for inside stretches of letters.
func (x *lexicon) readInner(concept int) {
	add := func(w string, m innerMark) {
		key := fold(w)
		m.poles = append(x.inner[string(key)].poles, m.poles...)
		x.inner[string(key)] = m
		x.longest = max(x.longest, len(key))
	}
	for w := range strings.FieldsSeq(innerDenials) {
		add(w, innerMark{denies: true})
	}
	for line := range opposition(innerOpposites) {
		for side, list := range line {
			for w := range strings.FieldsSeq(list) {
				add(w, innerMark{poles: []pole{{concept, side == 1, otherLangs}}})
			}
		}
		concept++
	}
}

// opposition yields the two sides of each line.
func opposition(lines string) func(yield func([2]string) bool) {
	return func(yield func([2]string) bool) {
		for line := range strings.Lines(lines) {
			one, other, ok := strings.Cut(line, "|")
			if ok && !yield([2]string{one, other}) {
				return
			}
		}
	}
}

// languagesOf guesses the languages of a sentence: those with most of its
// words among their grammar and denials, all when there are none.
func (x *lexicon) languagesOf(ws []word) langSet {
	hits := make([]int, len(spokenLanguages))
	for _, w := range ws {
		set := x.grammar[w.String()] | x.denials[w.String()]
		for i := range hits {
			hits[i] += int(set >> i & 1)
		}
	}
	most := slices.Max(hits)
	set := otherLangs
	for i, n := range hits {
		if n == most {
			set |= 1 << i
		}
	}
	return set
}
