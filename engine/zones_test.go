package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestZoneUsesTheMapsOwnCuts(t *testing.T) {
	r := Result{Cut: Cut{Importance: 6, Evidence: 4}}
	for _, test := range []struct {
		rule                 string
		importance, evidence Figure
		want                 Zone
	}{
		{"important with little evidence is tested first", 6, 3.5, TestFirst},
		{"evidence on the cut counts as evidence", 6, 4, RelyOn},
		{"below the cut of importance is not important", 5.5, 1, Watch},
		{"neither important nor unknown is left", 1, 9, Leave},
		{"no rating, no zone", Undefined(), 3, ""},
	} {
		assert.Equal(t, test.want, r.Cut.Zone(test.importance, test.evidence), "%s: Zone(%v, %v)", test.rule, test.importance, test.evidence)
	}
}
