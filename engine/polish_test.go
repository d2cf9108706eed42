package engine

import (
	"cmp"
	"math"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestMedianPolishVectors(t *testing.T) {
	eachVector(t, "median_polish", func(t *testing.T, c vectorCase) {
		var in struct{ Rows [][]*float64 }
		var want struct {
			Overall  float64
			Row, Col []float64
		}
		c.read(t, &in, &want)
		table := make([][]float64, len(in.Rows))
		for i, row := range in.Rows {
			for _, v := range row {
				if v == nil {
					table[i] = append(table[i], math.NaN())
				} else {
					table[i] = append(table[i], *v)
				}
			}
		}
		got := MedianPolish(table)
		near(t, "overall", got.Overall, want.Overall, c.Tolerance)
		for i := range want.Row {
			near(t, "row", got.Rows[i], want.Row[i], c.Tolerance)
		}
		for j := range want.Col {
			near(t, "column", got.Columns[j], want.Col[j], c.Tolerance)
		}
	})
}

// The naive twin works with fractions, step by step as R's medpolish is
// written; nil is a gap.
type fractionPolish struct {
	z          [][]*big.Rat
	overall    *big.Rat
	rows, cols []*big.Rat
}

func naivePolish(table [][]float64) *fractionPolish {
	p := &fractionPolish{overall: new(big.Rat)}
	for _, row := range table {
		var z []*big.Rat
		for _, v := range row {
			if math.IsNaN(v) {
				z = append(z, nil)
			} else {
				z = append(z, new(big.Rat).SetFloat64(v))
			}
		}
		p.z, p.rows = append(p.z, z), append(p.rows, new(big.Rat))
	}
	for range table[0] {
		p.cols = append(p.cols, new(big.Rat))
	}
	before := 0.0
	for range 10 {
		sum := p.round()
		if sum == 0 || math.Abs(sum-before) < 0.01*sum {
			break
		}
		before = sum
	}
	return p
}

func (p *fractionPolish) round() float64 {
	for i := range p.rows {
		delta := ratMedian(p.z[i])
		for j := range p.cols {
			p.z[i][j] = ratSub(p.z[i][j], delta)
		}
		p.rows[i] = ratAdd(p.rows[i], delta)
	}
	p.centre(p.cols)
	for j := range p.cols {
		var column []*big.Rat
		for i := range p.rows {
			column = append(column, p.z[i][j])
		}
		delta := ratMedian(column)
		for i := range p.rows {
			p.z[i][j] = ratSub(p.z[i][j], delta)
		}
		p.cols[j] = ratAdd(p.cols[j], delta)
	}
	p.centre(p.rows)
	sum := new(big.Rat)
	for _, row := range p.z {
		for _, v := range row {
			if v != nil {
				sum.Add(sum, new(big.Rat).Abs(v))
			}
		}
	}
	f, _ := sum.Float64()
	return f
}

func (p *fractionPolish) centre(effects []*big.Rat) {
	delta := ratMedian(effects)
	for i := range effects {
		effects[i] = ratSub(effects[i], delta)
	}
	p.overall = ratAdd(p.overall, delta)
}

func ratMedian(values []*big.Rat) *big.Rat {
	values = slices.DeleteFunc(slices.Clone(values), func(v *big.Rat) bool { return v == nil })
	if len(values) == 0 {
		return nil
	}
	slices.SortFunc(values, (*big.Rat).Cmp)
	n := len(values)
	sum := new(big.Rat).Add(values[(n-1)/2], values[n/2])
	return sum.Quo(sum, big.NewRat(2, 1))
}

func ratAdd(a, b *big.Rat) *big.Rat {
	if a == nil || b == nil {
		return nil
	}
	return new(big.Rat).Add(a, b)
}

func ratSub(a, b *big.Rat) *big.Rat {
	if a == nil || b == nil {
		return nil
	}
	return new(big.Rat).Sub(a, b)
}

// sameNumber compares without tolerance: on ratings the polish is exact.
func sameNumber(got float64, want *big.Rat) bool {
	if want == nil {
		return math.IsNaN(got)
	}
	f, exact := want.Float64()
	return exact && got == f
}

func TestMedianPolishAgainstItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(1, 7).Draw(t, "columns")
		rating := rapid.Map(rapid.IntRange(0, 9), func(r int) float64 {
			return cmp.Or(float64(r), math.NaN())
		})
		table := rapid.SliceOfN(rapid.SliceOfN(rating, columns, columns), 1, 7).Draw(t, "table")
		got, want := MedianPolish(table), naivePolish(table)
		assert.True(t, sameNumber(got.Overall, want.overall), "overall = %v, want %v", got.Overall, want.overall)
		for i := range want.rows {
			assert.True(t, sameNumber(got.Rows[i], want.rows[i]), "row %d = %v, want %v", i, got.Rows[i], want.rows[i])
		}
		for j := range want.cols {
			assert.True(t, sameNumber(got.Columns[j], want.cols[j]), "column %d = %v, want %v", j, got.Columns[j], want.cols[j])
		}
	})
}

func TestMedianPolishLeavesItsTableAlone(t *testing.T) {
	table := [][]float64{{1, 9}, {3, 4}}
	MedianPolish(table)
	assert.False(t, table[0][0] != 1 || table[1][1] != 4, "table after the polish = %v", table)
}

func TestMedianPolishSkipsWhatIsAllMissing(t *testing.T) {
	gap := math.NaN()
	p := MedianPolish([][]float64{{gap, gap, gap}, {gap, 5, 7}, {gap, 2, 4}})
	assert.True(t, math.IsNaN(p.Rows[0]), "a row without values is %v", p.Rows[0])
	assert.False(t, p.Levelled(0).Defined(), "a column without values is %v", p.Columns[0])
	assert.True(t, p.Levelled(1) == 3.5, "levelled = %v", p.Levelled(1))
	assert.True(t, p.Levelled(2) == 5.5, "levelled = %v", p.Levelled(1))
}
