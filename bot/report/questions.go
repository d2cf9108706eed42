package report

import (
	"fmt"

	"soundings/flows"
)

// questionsBlocks lists the questions about the brief, the open ones first.
// The canvas has only those.
func questionsBlocks(k flows.Kickoff, f form) []Block {
	open := list(k.Brief.OpenQuestions(), f.of(12, 30), func(q flows.Question) Text {
		text := say("%s (asked by %s)", f.typed(q.Ask, 250, 400), f.name(k.Name(q.By)))
		if f == onCanvas {
			return text
		}
		return say("**Open:** %s", text)
	})
	if f == onCanvas {
		if open.All == 0 {
			return nil
		}
		return []Block{open}
	}
	answered := list(answeredIn(k), f.of(10, 0), func(q flows.Question) Text {
		by := f.name(k.Name(q.Answered))
		if f == inThread {
			by = say("**%s**", by)
		}
		between := map[form]string{inThread: "\n", inFile: "<br>"}[f]
		return say("%s (asked by %s)%s%s: %s", f.typed(q.Ask, 180, 0), f.name(k.Name(q.By)), between, by, f.typed(q.Answer, 220, 0))
	})
	var blocks []Block
	switch {
	case open.All == 0 && answered.All == 0 && f == inThread:
		blocks = append(blocks, Para(say("Nobody asked anything.")))
	case open.All == 0:
		blocks = append(blocks, Para(say("None is open.")))
	}
	if f == inFile {
		return append(blocks, List{Items: append(open.Items, answered.Items...)})
	}
	return append(blocks, open, answered)
}

func answeredIn(k flows.Kickoff) []flows.Question {
	var out []flows.Question
	for _, q := range k.Brief.Questions {
		if q.Answer != "" {
			out = append(out, q)
		}
	}
	return out
}

func questionsGist(k flows.Kickoff) string {
	open := len(k.Brief.OpenQuestions())
	return fmt.Sprintf("%d open, %d answered", open, len(k.Brief.Questions)-open)
}
