package hints

import (
	"slices"
	"strings"
)

// A stance is what a sentence says yes and no to, as far as a few words tell:
// what makes "too high" and "too low" different although all else is equal.
type stance struct {
	denied   bool
	sides    map[string]string // the sides of opposites that are named, in order
	prefixed [][2]string       // words with a denying prefix: the stem, and that of the rest
	numbers  []string
	compares bool            // "more … than …"
	before   map[string]bool // stems of the first side of the comparison
	after    map[string]bool // and of the second
}

// apart reports whether two sentences must not be taken for one belief,
// however alike they look: exactly one of them is denied, or they stand on
// different sides of opposites. One denial and one opposite cancel out: "not
// low" is "high". Different figures, and a comparison the other way round,
// keep them apart too.
func (s sentence) apart(t sentence) bool {
	turns := s.withoutPrefix(t) + t.withoutPrefix(s)
	for pair, sides := range s.stance.sides {
		if opposed(sides, t.stance.sides[pair]) {
			turns++
		}
	}
	if s.stance.denied != t.stance.denied && turns != 1 || s.stance.denied == t.stance.denied && turns > 0 {
		return true
	}
	a, b := s.stance.numbers, t.stance.numbers
	return len(a) > 0 && len(b) > 0 && !slices.Equal(a, b) || s.stance.swapped(t.stance)
}

// opposed compares the sides of one pair of opposites, word by word where
// there are equally many. Else one sentence says more than the other, and is
// opposed to it only when each keeps to one side.
func opposed(a, b string) bool {
	if a == "" || b == "" || len(a) == len(b) {
		return a != b && a != "" && b != ""
	}
	oneSided := func(s string) bool { return strings.Count(s, s[:1]) == len(s) }
	return a[0] != b[0] && oneSided(a) && oneSided(b)
}

// withoutPrefix counts the words of s that t has without their denying prefix:
// unreliable, reliable.
func (s sentence) withoutPrefix(t sentence) int {
	n := 0
	for _, w := range s.stance.prefixed {
		if t.words.has(w[1]) && !t.words.has(w[0]) && !s.words.has(w[1]) {
			n++
		}
	}
	return n
}

// swapped reports whether two comparisons have their sides exchanged: what
// stands after "than" in one stands before it in the other.
func (s stance) swapped(t stance) bool {
	shared := func(a, b map[string]bool) (n int) {
		for w := range a {
			if b[w] {
				n++
			}
		}
		return n
	}
	return s.compares && t.compares && shared(s.after, t.before)+shared(t.after, s.before) > 2*shared(s.after, t.after)
}

// denyingPrefixes make a word its opposite in English and its neighbours.
var denyingPrefixes = []string{"un", "in", "im", "il", "ir", "dis", "non", "mis"}

// comparing words part the two sides of a comparison.
var comparing = map[string]bool{"than": true, "instead": true, "als": true, "statt": true, "anstatt": true, "dan": true, "чем": true}

// stanceOf reads the stance of a sentence from its words.
func stanceOf(ws []string, langs languages) stance {
	s := stance{sides: map[string]string{}, before: map[string]bool{}, after: map[string]bool{}}
	denials, concord := 0, 0
	for i, w := range ws {
		if w[0] <= '9' {
			s.numbers = append(s.numbers, w)
			continue
		}
		denies, joined := s.readWord(w, langs)
		switch {
		case !denies, w == "not" && i+1 < len(ws) && (ws[i+1] == "only" || ws[i+1] == "just"):
		case joined:
			concord = 1
		default:
			denials++
		}
	}
	s.denied = (denials+concord)%2 == 1
	slices.Sort(s.numbers)
	s.numbers = slices.Compact(s.numbers)
	return s
}

// readWord notes the sides that a word stands on, and tells whether it denies;
// joined is true in languages where several denials make one.
func (s *stance) readWord(w string, langs languages) (denies, joined bool) {
	if run.MatchString(w) {
		for _, mark := range marksInside.FindAllString(w, -1) {
			denies = s.note(mark, others) || denies
		}
		return denies, true
	}
	joined = true
	for _, l := range langs {
		if s.note(w, l) {
			denies, joined = true, joined && l.concord
		}
	}
	stem := langs.stem(w)
	for _, p := range denyingPrefixes {
		if rest, ok := strings.CutPrefix(w, p); ok && len(rest) >= 4 && !denies {
			s.prefixed = append(s.prefixed, [2]string{stem, langs.stem(rest)})
		}
	}
	switch {
	case comparing[w] && len(s.before) > 0:
		s.compares = true
	case langs.isGrammar(w):
	case s.compares:
		s.after[stem] = true
	default:
		s.before[stem] = true
	}
	return denies, joined
}

// note adds the sides that a word of a language stands on, and reports whether
// it is a denial.
func (s *stance) note(w string, l *language) bool {
	for _, p := range l.poles[l.stem(w)] {
		s.sides[p.pair] += p.side
	}
	return l.has("denials", w)
}
