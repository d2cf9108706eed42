package prompts

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"
)

// hand is texts/byhand.yaml, which says what each list is for.
var hand = readByHand()

type byHand struct {
	Questions, Openings map[int][]string // by rung, from +2 to -2
	Plainer, Gist       []string
}

func readByHand() (h byHand) {
	if err := yaml.Unmarshal([]byte(embedded("byhand.yaml")), &h); err != nil {
		panic(fmt.Sprintf("prompts: the way by hand: %v", err)) // held by a test, so a bug
	}
	return h
}

// LongestOpening is how many characters an opening has at most: what a list
// to pick from shows of an option.
const LongestOpening = 75

// Questions are what to ask oneself for a wording on a rung of the ladder,
// from +2 to -2, the one that helps most first. A level off the ladder has
// none.
func Questions(level int) []string { return slices.Clone(hand.Questions[level]) }

// Openings are how a wording on a rung may begin, from +2 to -2: the dots
// stand for what people fill in. A level off the ladder has none.
func Openings(level int) []string { return slices.Clone(hand.Openings[level]) }

// PlainerQuestions are what to ask oneself about an assumption that others
// find hard to read.
func PlainerQuestions() []string { return slices.Clone(hand.Plainer) }

// GistRules are what should be true of a gist of unsigned reasons before
// others read it.
func GistRules() []string { return slices.Clone(hand.Gist) }
