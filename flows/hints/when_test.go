package hints

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The sentences were written for this project.
func TestAsksWhen(t *testing.T) {
	for _, text := range []string{
		"When is it live?", "when does it ship", "When will it be built?", "WHEN WILL THIS BE READY?", "When’s it live?",
		"Good idea. When can we launch this?", "How soon will the page be available?", "By what date will the new app be live?",
		"In which quarter do you ship it?", "How long until it ships?", "What is the release date?", "When are we going to build that?",
		"When will the first version of the feature be released?",
	} {
		assert.True(t, AsksWhen(text), text)
	}
	for _, text := range []string{
		"", "When does the evening ferry leave?", "When was the last count of bicycles?", "What happens when it is full?",
		"Does this include the live timetable?", "Which day is the busiest?", "When passengers build a queue, who helps?",
		"Who builds it?", "How long do people wait until the ship is in?", "When do commuters know that they are late?",
	} {
		assert.False(t, AsksWhen(text), text)
	}
}
