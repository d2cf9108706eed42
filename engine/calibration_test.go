package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestCalibrate(t *testing.T) {
	for _, row := range []struct {
		rule     string
		rows     []Outcome
		first    Tally
		evidence Tally
		sentence string
	}{
		{"both kinds", []Outcome{
			{"A1", TestFirst, false, Refuted}, {"A2", TestFirst, false, Supported}, {"A3", TestFirst, false, NotClear}, {"A4", TestFirst, false, ""},
			{"A5", Next, true, Refuted}, {"A6", Later, true, ""}, {"A7", Watch, false, Refuted}, {"A8", Next, false, Refuted},
		}, Tally{4, 3, 1, 1}, Tally{2, 1, 0, 1},
			"Of 4 to be tested first, 3 were tested: 1 turned out true, 1 turned out not true, 1 is not clear yet. Of 2 thought well known, 1 was tested: 1 turned out not true."},
		{"an earlier map", []Outcome{{"A1", TestFirst, false, ""}, {"A2", RelyOn, false, ""}, {"A3", Leave, false, ""}}, Tally{Rated: 1}, Tally{Rated: 2},
			"Of 1 to be tested first, none was tested. Of 2 thought well known, none was tested."},
		{"none fell", []Outcome{{"A1", TestFirst, false, Supported}, {"A2", Later, true, Supported}}, Tally{1, 1, 1, 0}, Tally{1, 1, 1, 0},
			"Of 1 to be tested first, 1 was tested: 1 turned out true. Of 1 thought well known, 1 was tested: 1 turned out true."},
		{"no map", nil, Tally{}, Tally{}, "None was to be tested first. None was thought well known."},
		{"an assumption without a zone counts nowhere", []Outcome{{"A1", "", false, Refuted}}, Tally{}, Tally{},
			"None was to be tested first. None was thought well known."},
	} {
		t.Run(row.rule, func(t *testing.T) {
			want := Calibration{TestFirst: row.first, WellEvidenced: row.evidence, Sentence: row.sentence}
			got := Calibrate(row.rows)
			assert.Equal(t, want, got, "got  %+v\nwant", got)
		})
	}
}

// The counts do not depend on the order in which the tests are told.
func TestCalibrateInAnyOrder(t *testing.T) {
	zones := map[string]Zone{"A1": TestFirst, "A2": Next, "A3": Later, "A4": Watch}
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfDistinct(rapid.Custom(func(t *rapid.T) Outcome {
			id := rapid.SampledFrom([]string{"A1", "A2", "A3", "A4"}).Draw(t, "id")
			return Outcome{id, zones[id], id == "A2", rapid.SampledFrom([]Verdict{"", Supported, Refuted, NotClear}).Draw(t, "verdict")}
		}), func(o Outcome) string { return o.ID }).Draw(t, "rows")
		other := rapid.Permutation(rows).Draw(t, "another order")
		a, b := Calibrate(rows), Calibrate(other)
		require.Equal(t, b, a, "%+v, in another order", a)
		for _, tally := range []Tally{Calibrate(rows).TestFirst, Calibrate(rows).WellEvidenced} {
			require.LessOrEqual(t, tally.Tested, tally.Rated, "%+v does not add up", tally)
			require.LessOrEqual(t, tally.Held+tally.Fell, tally.Tested, "%+v does not add up", tally)
		}
	})
}
