package state

import (
	"strings"

	"soundings/engine"
)

// A Brief is what the lead wrote to start with, and what was asked about it.
type Brief struct {
	Title       string
	Why         string // why now
	Outcome     string // hoped for, and how it is measured
	OutOfBounds string
	Problem     string
	Links       []string
	Read        map[UserID]bool
	Questions   []Question
}

// A Question was asked about the brief. An empty answer leaves it open.
type Question struct {
	N        int
	By       UserID
	Ask      string
	Answer   string
	Answered UserID
}

// Framing is the ladder of wordings and what people made of it.
type Framing struct {
	Wordings  []Wording              // the original is not among them; it is number 0
	Votes     map[UserID]FramingVote // until they are counted
	Ticked    []int                  `json:",omitempty"` // how many could live with each wording, once that is counted
	Level     engine.LadderLevel     // set when the window closes
	Proposed  int                    // number of the wording with most ticks
	Settled   bool
	SettledBy UserID // empty when nobody settled in time and the proposal stood
	Problem   string // the problem statement as agreed
	AtLevel   int    // the level at which the discovery works
	Drafts    int    `json:",omitempty"` // how often drafts for the ladder were asked for
}

// A Wording is one way to put the problem, at one level of the ladder.
type Wording struct {
	N       int // from 1
	By      UserID
	Level   int // +2 broader … -2 narrower
	Text    string
	Drafted bool // began as a machine's draft and was not edited since
	Began   bool `json:",omitempty"` // began as a machine's draft, edited since or not
}

// A FramingVote is one person's choice of level and of wordings they could
// live with. Tick 0 is the original.
type FramingVote struct {
	Level int
	Ticks []int
}

// Original is the number of the wording that the lead brought.
const Original = 0

// Ticks counts, for each wording from the original on, who could live with it.
func (f Framing) Ticks() []int {
	if f.Ticked != nil {
		return f.Ticked
	}
	counts := make([]int, len(f.Wordings)+1)
	for _, v := range f.Votes {
		for _, n := range v.Ticks {
			if n < len(counts) {
				counts[n]++
			}
		}
	}
	return counts
}

// LevelOf is the level of wording n; the original stands in the middle.
func (f Framing) LevelOf(n int) int {
	if n == Original {
		return 0
	}
	return f.Wordings[n-1].Level
}

// WordingText is the text of wording n.
func (k *Kickoff) WordingText(n int) string {
	if n == Original {
		return k.Brief.Problem
	}
	return k.Framing.Wordings[n-1].Text
}

// Problem is the problem statement as it stands: agreed, or as brought.
func (k *Kickoff) Problem() string {
	if k.Framing.Settled {
		return k.Framing.Problem
	}
	return k.Brief.Problem
}

// SameWords reports whether two texts differ at most in letter case and in
// the space around them.
func SameWords(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}
