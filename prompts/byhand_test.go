package prompts

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// Every rung has questions that ask, and openings that fit a list on a phone,
// begin a statement, and pass the checks that look at wording.
func TestByHand(t *testing.T) {
	var seen []string
	for level := -2; level <= 2; level++ {
		questions, openings := Questions(level), Openings(level)
		if len(questions) < 3 || len(openings) < 3 {
			t.Errorf("level %+d has %d questions and %d openings, want at least 3", level, len(questions), len(openings))
		}
		for _, q := range questions {
			if !asks(q) || slices.Contains(seen, q) {
				t.Errorf("level %+d: %q asks nothing, or is asked twice", level, q)
			}
		}
		for _, o := range openings {
			if n := utf8.RuneCountInString(o); n > LongestOpening || !strings.Contains(o, "…") || slices.Contains(seen, o) {
				t.Errorf("level %+d: %q has %d characters, or nothing to fill in, or stands twice", level, o, n)
			}
			if len((Input{}).refusedIn(o)) > 0 || asks(o) {
				t.Errorf("level %+d: %q would not pass as a draft", level, o)
			}
		}
		seen = slices.Concat(seen, questions, openings)
	}
}

func TestOffTheLadder(t *testing.T) {
	for _, level := range []int{-3, 3} {
		if Questions(level) != nil || Openings(level) != nil {
			t.Errorf("level %+d has something to offer", level)
		}
	}
}

// What is handed out belongs to the caller.
func TestByHandIsACopy(t *testing.T) {
	Questions(1)[0], Openings(1)[0] = "", ""
	if Questions(1)[0] == "" || Openings(1)[0] == "" {
		t.Error("a caller can change what others get")
	}
}
