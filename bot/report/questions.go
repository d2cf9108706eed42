package report

import (
	"fmt"

	"soundings/flows"
)

// questionsBlocks lists the questions about the brief, the open ones first.
func questionsBlocks(k flows.Kickoff) []Block {
	open, answered := k.Brief.OpenQuestions(), []flows.Question{}
	for _, q := range k.Brief.Questions {
		if q.Answer != "" {
			answered = append(answered, q)
		}
	}
	var blocks []Block
	switch {
	case len(k.Brief.Questions) == 0:
		blocks = []Block{para("Nobody asked anything.")}
	case len(open) == 0:
		blocks = []Block{para("None is open.")}
	}
	return append(blocks, list(open, 12, func(q flows.Question) Text {
		return say("**Open:** %s (asked by %s)", clip(q.Ask, 250), name(k.Name(q.By)))
	}), list(answered, 10, func(q flows.Question) Text {
		return say("%s (asked by %s)\n**%s**: %s", clip(q.Ask, 180), name(k.Name(q.By)), name(k.Name(q.Answered)), clip(q.Answer, 220))
	}))
}

func questionsGist(k flows.Kickoff) string {
	open := len(k.Brief.OpenQuestions())
	return fmt.Sprintf("%d open, %d answered", open, len(k.Brief.Questions)-open)
}
