package prompts

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
)

// longestOpening is how many characters a list to pick from shows of an option.
const longestOpening = 75

// Every rung has questions that ask, and openings that fit a list on a phone,
// begin a statement, and pass the checks that look at wording.
func TestByHand(t *testing.T) {
	var seen []string
	for level := -2; level <= 2; level++ {
		questions, openings := Questions(level), Openings(level)
		assert.GreaterOrEqual(t, len(questions), 3, "level %+d has %d questions and %d openings, want at least 3", level, len(questions), len(openings))
		assert.GreaterOrEqual(t, len(openings), 3, "level %+d has %d questions and %d openings, want at least 3", level, len(questions), len(openings))
		for _, q := range questions {
			assert.True(t, strings.HasSuffix(q, "?"), "level %+d: %q asks nothing, or is asked twice", level, q)
			assert.NotContains(t, seen, q, "level %+d: %q asks nothing, or is asked twice", level, q)
		}
		for _, o := range openings {
			n := utf8.RuneCountInString(o)
			assert.LessOrEqual(t, n, longestOpening, "level %+d: %q has %d characters, or nothing to fill in, or stands twice", level, o, n)
			assert.Contains(t, o, "…", "level %+d: %q has %d characters, or nothing to fill in, or stands twice", level, o, n)
			assert.NotContains(t, seen, o, "level %+d: %q has %d characters, or nothing to fill in, or stands twice", level, o, n)
			assert.Empty(t, wording{text: o}.refused(), "level %+d: %q would not pass as a draft", level, o)
			assert.False(t, strings.HasSuffix(o, "?"), "level %+d: %q would not pass as a draft", level, o)
		}
		seen = slices.Concat(seen, questions, openings)
	}
}

func TestOffTheLadder(t *testing.T) {
	for _, level := range []int{-3, 3} {
		assert.Nil(t, Questions(level), "level %+d has something to offer", level)
		assert.Nil(t, Openings(level), "level %+d has something to offer", level)
	}
}
