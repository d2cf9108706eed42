package engine

import (
	"math"
	"slices"
)

// A Polish splits a table into parts: a value is overall + row + column + what
// is left. NaN stands for a row or a column without any value.
type Polish struct {
	Overall float64
	Rows    []float64
	Columns []float64
}

// The limits of R's medpolish.
const (
	polishRounds = 10
	polishChange = 0.01
)

// MedianPolish takes the effect of every row out of a table, so that columns
// can be compared although some rows run high and some low: with raters as
// rows, it levels generous and strict ones. NaN stands for a gap; all rows have
// the same length.
//
// It is Tukey's median polish as R's medpolish does it with na.rm = TRUE: sweep
// the row medians out, centre the column effects by their median, sweep the
// column medians out, centre the row effects; stop when the sum of what is
// left, without signs, is 0 or has changed by less than one percent, at most 10
// rounds. Source: Tukey J.W. (1977), Exploratory Data Analysis.
//
// On ratings all of it is exact: a round halves at most four times, so forty
// binary places hold every value, and what is equal comes out equal.
func MedianPolish(table [][]float64) Polish {
	w := polisher{Polish: Polish{Rows: make([]float64, len(table))}}
	for _, row := range table {
		w.rest = append(w.rest, slices.Clone(row))
		w.Columns = make([]float64, len(row))
	}
	before := 0.0
	for range polishRounds {
		left := w.round()
		if left == 0 || math.Abs(left-before) < polishChange*left {
			break
		}
		before = left
	}
	return w.Polish
}

// Levelled is the value of column c without the effects of the rows.
func (p *Polish) Levelled(c int) Figure { return Figure(p.Overall + p.Columns[c]) }

// A polisher is the work on one table.
type polisher struct {
	Polish
	rest    [][]float64 // what is left of the table
	scratch []float64
}

// round sweeps once and returns the sum of what is left, without signs.
func (w *polisher) round() float64 {
	for i, row := range w.rest {
		w.Rows[i] += w.sweep(len(row), func(j int) *float64 { return &row[j] })
	}
	w.Overall += w.sweep(len(w.Columns), func(j int) *float64 { return &w.Columns[j] })
	for j := range w.Columns {
		w.Columns[j] += w.sweep(len(w.rest), func(i int) *float64 { return &w.rest[i][j] })
	}
	w.Overall += w.sweep(len(w.Rows), func(i int) *float64 { return &w.Rows[i] })
	sum := 0.0
	for _, row := range w.rest {
		for _, v := range row {
			if !math.IsNaN(v) {
				sum += math.Abs(v)
			}
		}
	}
	return sum
}

// sweep takes the median of n values out of each of them, and returns it. It
// skips gaps, and is NaN where there are only gaps.
func (w *polisher) sweep(n int, at func(i int) *float64) float64 {
	w.scratch = w.scratch[:0]
	for i := range n {
		if v := *at(i); !math.IsNaN(v) {
			w.scratch = append(w.scratch, v)
		}
	}
	middle := float64(median(w.scratch))
	for i := range n {
		*at(i) -= middle
	}
	return middle
}
