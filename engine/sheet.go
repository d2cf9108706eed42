package engine

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// A sheet is a table in one fixed arrangement, so that no figure depends on how
// the rows of the table were shuffled: raters by name, assumptions in the
// natural order of their ids. Raters who rated nothing are left out; they say
// nothing.
type sheet struct {
	columns []int         // for each assumption of the sheet, its place in the table
	scales  [2][][]Rating // importance and evidence: by rater, then by assumption
}

func newSheet(t Table) *sheet {
	t.mustFit()
	s := &sheet{columns: naturalOrder(t.IDs)}
	for _, rater := range ratersByName(t) {
		importance, evidence := t.Importance[rater], t.Evidence[rater]
		if saysNothing(importance) && saysNothing(evidence) {
			continue
		}
		s.scales[0] = append(s.scales[0], pick(importance, s.columns))
		s.scales[1] = append(s.scales[1], pick(evidence, s.columns))
	}
	return s
}

func (s *sheet) raters() int { return len(s.scales[0]) }

// mustFit panics when the parts of t do not fit together, or hold something
// that is no rating: whoever made such a table has a fault in the program.
func (t *Table) mustFit() {
	if len(t.Importance) != len(t.Raters) || len(t.Evidence) != len(t.Raters) {
		panic(fmt.Sprintf("engine: table of %d raters has %d rows of importance and %d of evidence",
			len(t.Raters), len(t.Importance), len(t.Evidence)))
	}
	for i := range t.Raters {
		for _, row := range [][]Rating{t.Importance[i], t.Evidence[i]} {
			if len(row) != len(t.IDs) {
				panic(fmt.Sprintf("engine: table of %d assumptions has a row of %d ratings", len(t.IDs), len(row)))
			}
			if bad := slices.IndexFunc(row, func(r Rating) bool { return r < 0 || r > 9 }); bad >= 0 {
				panic(fmt.Sprintf("engine: table has a rating of %d", row[bad]))
			}
		}
	}
}

// statement is the statement of an assumption; a table may do without any.
func (t *Table) statement(i int) string {
	if i < len(t.Statements) {
		return t.Statements[i]
	}
	return ""
}

// naturalOrder gives the places of ids in natural order.
func naturalOrder(ids []string) []int {
	order := places(len(ids))
	slices.SortStableFunc(order, func(a, b int) int { return CompareIDs(ids[a], ids[b]) })
	return order
}

// ratersByName gives the places of the raters by name. Should two share a name,
// their ratings decide, so that the order in the table never does.
func ratersByName(t Table) []int {
	order := places(len(t.Raters))
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(
			cmp.Compare(t.Raters[a], t.Raters[b]),
			slices.Compare(t.Importance[a], t.Importance[b]),
			slices.Compare(t.Evidence[a], t.Evidence[b]))
	})
	return order
}

func places(n int) []int {
	p := make([]int, n)
	for i := range p {
		p[i] = i
	}
	return p
}

func saysNothing(ratings []Rating) bool {
	return !slices.ContainsFunc(ratings, func(r Rating) bool { return r != 0 })
}

func pick(row []Rating, columns []int) []Rating {
	picked := make([]Rating, len(columns))
	for i, c := range columns {
		picked[i] = row[c]
	}
	return picked
}

// flat counts the ballots that rate nearly everything alike on one scale.
func (s *sheet) flat(scale int) (flat int) {
	for _, row := range s.scales[scale] {
		if FlatAt(row) != 0 {
			flat++
		}
	}
	return flat
}

// FlatAt is the rating that a ballot gives to nearly everything on one scale, by
// the rule of [Flat], or 0 where it tells things apart or has too few ratings.
func FlatAt(ratings []Rating) Rating {
	const fewest = 6
	var counts Counts
	for _, r := range ratings {
		counts[r]++
	}
	counts[0] = 0
	rated, most, at := 0, 0, 0
	for r, n := range counts {
		rated += int(n)
		if int(n) > most {
			most, at = int(n), r
		}
	}
	if rated < fewest || rated-most > rated/10 {
		return 0
	}
	return Rating(at)
}

// counts counts the ratings of each assumption on one scale.
func (s *sheet) counts(scale int) []Counts {
	counts := make([]Counts, len(s.columns))
	for _, row := range s.scales[scale] {
		for c, r := range row {
			counts[c][r]++
		}
	}
	return counts
}

// values gives the ratings on one scale as numbers, with NaN for none.
func (s *sheet) values(scale int) [][]float64 {
	values := make([][]float64, s.raters())
	for i, row := range s.scales[scale] {
		values[i] = make([]float64, len(row))
		for c, r := range row {
			values[i][c] = float64(r)
			if r == 0 {
				values[i][c] = math.NaN()
			}
		}
	}
	return values
}

// A Rating is a whole number from 1 to 9. Zero means "can't say" or no answer.
type Rating int8

// A Table holds the ratings of one round. Importance and Evidence are indexed
// by rater, then by assumption.
type Table struct {
	Raters     []string
	IDs        []string
	Statements []string
	Importance [][]Rating
	Evidence   [][]Rating
}

// Options steer Score. The zero value is ready to use.
type Options struct {
	Asked int    // people asked to rate; 0 means the raters in the table
	Seed  uint64 // seed of the resampling
	Draws int    // resamples; 0 means 2,000

	// Dealt says of each assumption in the table who was asked about it, where
	// ballots were dealt out; nil means that all were asked about all.
	Dealt []Dealt
}

// A Dealt counts the people who were asked about one assumption.
type Dealt struct {
	Asked  int // all of them
	Raters int // of these, who are in the table
}

// CompareIDs orders ids as people count: A2 before A10. Runs of the digits 0
// to 9 compare by their value, however long they are; everything else compares
// byte by byte. Ids that differ only in leading zeros, such as A2 and A02,
// compare as plain text, so that the result is 0 for equal strings alone.
func CompareIDs(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		if isDigit(x[0]) && isDigit(y[0]) {
			var m, n string
			m, x = number(x)
			n, y = number(y)
			if c := cmp.Or(cmp.Compare(len(m), len(n)), cmp.Compare(m, n)); c != 0 {
				return c
			}
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// number cuts the digits at the front of s off, and their leading zeros away.
func number(s string) (digits, rest string) {
	end := 0
	for end < len(s) && isDigit(s[end]) {
		end++
	}
	return strings.TrimLeft(s[:end], "0"), s[end:]
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }
