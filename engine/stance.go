package engine

import (
	"cmp"
	"slices"
)

// A stance is what a sentence says yes and no to, as far as a few words tell:
// what makes "too high" and "too low" different although all else is equal.
type stance struct {
	denied  bool
	poles   []pole      // of opposites, by concept, in the order of the sentence
	bared   [][2]uint64 // words with a denying prefix: the word, and what is left without it
	numbers []uint64
	pivot   bool // there is a comparison: "more … than …"
	before  profile
	after   profile
}

// apart reports whether two sentences must not be taken for one belief,
// however alike they look: exactly one of them is denied, or they stand on
// different sides of opposites, or both. (One denial and one opposite make it
// even again: "not low" is "high".) Different figures, and a comparison the
// other way round, keep them apart too.
func (s stance) apart(t stance, a, b profile) bool {
	turns := oppositions(s.poles, t.poles) + unprefixed(s.bared, a, b) + unprefixed(t.bared, b, a)
	if s.denied != t.denied {
		if turns != 1 {
			return true
		}
	} else if turns > 0 {
		return true
	}
	return differ(s.numbers, t.numbers) || swapped(s, t)
}

// oppositions counts the concepts on which two sentences stand on different
// sides.
func oppositions(a, b []pole) int {
	n := 0
	for len(a) > 0 && len(b) > 0 {
		switch c := cmp.Compare(a[0].concept, b[0].concept); {
		case c < 0:
			a = a[1:]
		case c > 0:
			b = b[1:]
		default:
			var mine, theirs []pole
			mine, a = sameConcept(a)
			theirs, b = sameConcept(b)
			if opposed(mine, theirs) {
				n++
			}
		}
	}
	return n
}

// sameConcept splits off the poles of the first concept.
func sameConcept(p []pole) (first, rest []pole) {
	n := 1
	for n < len(p) && p[n].concept == p[0].concept {
		n++
	}
	return p[:n], p[n:]
}

// opposed compares the poles of one concept: word by word where there are
// equally many. Else one sentence says more than the other, and is opposed to
// it only when each keeps to a side of its own.
func opposed(a, b []pole) bool {
	if len(a) == len(b) {
		return !slices.EqualFunc(a, b, func(p, q pole) bool { return p.side == q.side })
	}
	return a[0].side != b[0].side && !onBothSides(a) && !onBothSides(b)
}

func onBothSides(p []pole) bool {
	return slices.ContainsFunc(p, func(q pole) bool { return q.side != p[0].side })
}

// unprefixed counts the words of sentence a that sentence b has without their
// denying prefix: unreliable, reliable.
func unprefixed(bared [][2]uint64, a, b profile) int {
	n := 0
	for _, w := range bared {
		if b.has(w[1]) && !b.has(w[0]) && !a.has(w[1]) {
			n++
		}
	}
	return n
}

// differ reports whether both sentences name figures, and not the same ones.
func differ(a, b []uint64) bool {
	return len(a) > 0 && len(b) > 0 && !slices.Equal(a, b)
}

// swapped reports whether two comparisons have their sides exchanged: what
// stands after "than" in one stands before it in the other.
func swapped(s, t stance) bool {
	if !s.pivot || !t.pivot {
		return false
	}
	crossed := s.after.shared(t.before) + t.after.shared(s.before)
	return crossed > 2*s.after.shared(t.after)
}

// denyingPrefixes make a word its opposite in English and its neighbours.
var denyingPrefixes = []string{"un", "in", "im", "il", "ir", "dis", "non", "mis"}

// pivots part the two sides of a comparison.
var pivots = map[string]bool{"than": true, "instead": true, "als": true, "statt": true,
	"anstatt": true, "dan": true, "чем": true}

// stanceOf reads the stance of a sentence in one of langs from its words.
func stanceOf(ws []word, x *lexicon, langs langSet) stance {
	r := stanceReader{lexicon: x, langs: langs}
	for i, w := range ws {
		switch w.kind {
		case wordNumber:
			r.numbers = append(r.numbers, keyOf(w.runes))
		case wordRunning, wordSyllables:
			r.readInside(w.runes)
			r.readWord(ws, i)
		default:
			r.readWord(ws, i)
		}
	}
	return r.finish()
}

// A stanceReader gathers a stance word by word.
type stanceReader struct {
	stance
	lexicon    *lexicon
	langs      langSet
	denials    int  // each of which turns the sentence round
	concord    bool // denials of which any number make one
	head, tail []feature
}

// readWord reads a word between spaces.
func (r *stanceReader) readWord(ws []word, i int) {
	w := ws[i]
	denies := r.lexicon.denials[w.String()] & r.langs
	if denies != 0 && !onlyAfter(ws, i) {
		r.deny(denies)
	}
	short := stem(w)
	for _, p := range r.lexicon.polesOf(w, short) {
		if p.langs&r.langs != 0 {
			r.poles = append(r.poles, p)
		}
	}
	if bare := withoutPrefix(w); bare != nil && denies == 0 {
		r.bared = append(r.bared, [2]uint64{keyOf(short), keyOf(stem(word{bare, wordLetters}))})
	}
	r.readSide(w, keyOf(short))
}

// deny counts a denial of some languages.
func (r *stanceReader) deny(in langSet) {
	if in&^r.lexicon.concord == 0 {
		r.concord = true
		return
	}
	r.denials++
}

// onlyAfter tells "not only" and "not just", which deny nothing.
func onlyAfter(ws []word, i int) bool {
	if i+1 >= len(ws) {
		return false
	}
	next := ws[i+1].String()
	return ws[i].String() == "not" && (next == "only" || next == "just")
}

// withoutPrefix gives what is left of a word without its denying prefix, or nil.
func withoutPrefix(w word) []rune {
	const least = 4
	if w.kind != wordLetters {
		return nil
	}
	for _, p := range denyingPrefixes {
		if n := len(p); len(w.runes) >= n+least && string(w.runes[:n]) == p {
			return w.runes[n:]
		}
	}
	return nil
}

// readSide notes on which side of a comparison a word of meaning stands.
func (r *stanceReader) readSide(w word, key uint64) {
	switch {
	case pivots[w.String()] && len(r.head) > 0:
		r.pivot = true
	case r.lexicon.grammar[w.String()]&r.langs != 0:
	case r.pivot:
		r.tail = append(r.tail, feature{key, 1})
	default:
		r.head = append(r.head, feature{key, 1})
	}
}

// readInside looks for marks inside a stretch of letters, longest first.
func (r *stanceReader) readInside(s []rune) {
	for i := 0; i < len(s); {
		n := min(r.lexicon.longest, len(s)-i)
		for ; n > 0; n-- {
			if m, ok := r.lexicon.inner[string(s[i:i+n])]; ok {
				r.mark(m)
				break
			}
		}
		i += max(n, 1)
	}
}

func (r *stanceReader) mark(m innerMark) {
	if m.denies {
		r.denials++
	}
	r.poles = append(r.poles, m.poles...)
}

// finish settles what the whole sentence decides.
func (r *stanceReader) finish() stance {
	if r.concord {
		r.denials++
	}
	r.denied = r.denials%2 == 1
	slices.SortStableFunc(r.poles, func(a, b pole) int { return cmp.Compare(a.concept, b.concept) })
	slices.Sort(r.numbers)
	r.numbers = slices.Compact(r.numbers)
	r.before, r.after = newProfile(r.head), newProfile(r.tail)
	return r.stance
}
