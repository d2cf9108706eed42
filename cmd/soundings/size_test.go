package main

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSizes(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		args   string
		want   int
		words  string // the first line of the text
		source string // who the check value is from
	}{
		{"survey --margin 0.05", 385, "Answers: 385", "Cochran 1977: 1.96²·0.25/0.05² = 384.1"},
		{"survey --margin 0.05 --population 2000", 323, "Answers: 323", "Cochran 1977: 384.1/(1 + 383.1/2000) = 322.4"},
		{"survey --margin 0.03 --confidence 0.99 --proportion 0.2", 1180, "Answers: 1180", "by hand: 2.5758²·0.16/0.03² = 1179.5"},
		{"split --base 0.10 --lift 0.02", 3841, "In each arm: 3841", "R power.prop.test(p1=.10, p2=.12, power=.8): 3840.8"},
		{"discover --share 0.31 --target 0.85", 6, "People: 6", "Nielsen & Landauer 1993: ln 0.15/ln 0.69 = 5.1"},
	} {
		args := append([]string{"size"}, strings.Fields(tt.args)...)
		var got map[string]any
		require.NoError(t, json.Unmarshal([]byte(good(t, append(args, "--json")...)), &got))
		assert.True(t, got["n"] == float64(tt.want), "size %s: got %v, want %d (%s)", tt.args, got["n"], tt.want, tt.source)
		source, _ := got["source"].(string)
		assert.NotEqual(t, "", source, "size %s", tt.args)
		assert.Len(t, got, 2, "size %s", tt.args)
		first, rest, _ := strings.Cut(good(t, args...), "\n")
		assert.False(t, first != tt.words || strings.TrimSpace(rest) != got["source"], "size %s: got %q and %q, want %q and the source", tt.args, first, rest, tt.words)
	}
}

func TestSizeRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ args, want string }{
		{"survey", "--margin is missing: half the width of the interval, such as 0.05 for five points either way"},
		{"survey --margin 0", "margin must be above 0 and below 1, such as 0.05 for five percentage points either way; it is 0"},
		{"survey --margin 1", "margin must be above 0 and below 1, such as 0.05 for five percentage points either way; it is 1"},
		{"survey --margin NaN", "margin must be above 0 and below 1, such as 0.05 for five percentage points either way; it is NaN"},
		{"survey --margin 0.05 --proportion 2", "proportion must be above 0 and below 1, such as 0.5 when nothing is known; it is 2"},
		{"survey --margin 0.05 --confidence 95", "confidence must be above 0 and below 1, such as 0.95; it is 95"},
		{"survey --margin 0.05 --population -1", "population must be 0 (many) or more; it is -1"},
		{"survey --margin 1e-9", "this would take more people than there are: allow a wider margin"},
		{"split --base 0.1", "--lift is missing: the difference worth noticing, such as 0.02 for 10 against 12 percent"},
		{"split --base 0.1 --lift 0", "lift must be a number other than 0, such as 0.02; it is 0"},
		{"split --base 0.9 --lift 0.2", "base plus lift must stay within 0 to 1; 0.9 and 0.2 make 1.1"},
		{"split --base 0.1 --lift 0.02 --power 0.01", "power must be above alpha and below 1, such as 0.8; it is 0.01"},
		{"discover --share 0.31", "--target is missing: the chance wanted that it shows up, such as 0.85"},
		{"discover --share 0 --target 0.85", "share must be above 0 and below 1, such as 0.31 for 31 percent; it is 0"},
		{"discover --share 0.31 --target 1", "target must be above 0 and below 1, such as 0.85 for 85 percent; it is 1"},
	} {
		t.Run(tt.args, func(t *testing.T) {
			mustRefuse(t, tt.want, append([]string{"size"}, strings.Fields(tt.args+" --json")...)...)
		})
	}
}

func TestSizeMark(t *testing.T) {
	t.Parallel()
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(good(t, "size", "mark", "--mark", "0.6", "--n", "12", "--json")), &got))
	assert.InDelta(t, 0.11174, got["false_pass"], 5e-6) // R: 1 - pbinom(7, 12, 0.45)
	assert.InDelta(t, 0.15764, got["false_miss"], 5e-6) // R: pbinom(7, 12, 0.75)
	for key, want := range map[string]float64{"n": 12, "mark": 0.6, "supported_from": 8, "refuted_to": 3, "one_in_ten": 19} {
		assert.Equal(t, want, got[key], key)
	}
	require.NoError(t, json.Unmarshal([]byte(good(t, "size", "mark", "--mark", "0.6", "--json")), &got))
	assert.Equal(t, 19.0, got["n"])
	require.NoError(t, json.Unmarshal([]byte(good(t, "size", "mark", "--mark", "0.6", "--n", "2", "--json")), &got))
	assert.Nil(t, got["refuted_to"], "0 of 2 does not rule out 60 percent")
	assert.Equal(t, `With 12 people or cases and a mark of 60%: 8 or more support the belief, 3 or fewer speak against it.
True for only 45%, it would still pass 11 times in 100.
True for 75%, it would fall short 16 times in 100.
The smallest number with both at one in ten or less: 19
`, strings.SplitAfter(good(t, "size", "mark", "--mark", "0.6", "--n", "12"), ": 19\n")[0])
	mustRefuse(t, "mark must be above 0 and at most 1, such as 0.6 for 60 percent; it is 60", "size", "mark", "--mark", "60")
	mustRefuse(t, "--mark is missing: the share that counts as support, such as 0.6", "size", "mark")
}
