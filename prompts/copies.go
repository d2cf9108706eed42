package prompts

import (
	"slices"
	"strings"

	"soundings/flows/hints"
)

// isPiece tells whether a text, or a whole sentence of it, stands word for
// word in one of others. Spaces count for nothing here, so that it works in
// scripts without them.
func isPiece(text string, others []string) bool {
	return slices.ContainsFunc(sentencesOf(text), func(sentence string) bool {
		piece := packed(sentence)
		return slices.ContainsFunc(others, func(o string) bool { return piece != "" && strings.Contains(packed(o), piece) })
	})
}

func packed(text string) string { return strings.ReplaceAll(spaced(text), " ", "") }

// leakedWords in a row that also stand in a prompt are no accident.
const leakedWords = 6

// repeats tells whether a text tells of the prompt that asked for it.
func repeats(text, prompt string) bool {
	words, known := wordsOf(text), spaced(prompt)
	for i := range max(len(words)-leakedWords+1, 0) {
		if strings.Contains(known, " "+strings.Join(words[i:i+leakedWords], " ")+" ") {
			return true
		}
	}
	return false
}

// onTopic tells whether a text has something in common with what it is about.
func (r rules) onTopic(text string) bool {
	if r.covers > 0 {
		return coverage(meanings(strings.Join(r.original, " ")), meanings(text)) >= r.covers
	}
	about := strings.Join(r.topic, " . ")
	if coverage(meanings(text), meanings(about)) > 0 {
		return true
	}
	return slices.ContainsFunc(r.topic, func(t string) bool { return hints.Similarity(text, t) >= topicLikeness })
}
