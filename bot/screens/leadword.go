package screens

import (
	"github.com/slack-go/slack"

	"soundings/flows"
)

// What leads put to the parts of the summary: a word of theirs, and where they
// changed a part that people may have read, that they did.

// leadBlocks stand above a part.
func leadBlocks(k flows.Kickoff, part string) []slack.Block {
	var blocks []slack.Block
	if c, changed := k.Summary.Changed[part]; changed {
		blocks = append(blocks, para(plain("Changed by "), typed(k.Name(c.By), 60), plain(" after the summary was posted, "), when(c.At), plain(".")))
	}
	if w, said := k.Summary.Words[part]; said {
		blocks = append(blocks, para(bold("A word from "), boldTyped(k.Name(w.By), 60), bold(", who leads:")), quoted(typed(w.Text, flows.MaxWord)))
	}
	return blocks
}

// lead writes the same into the summary page.
func (m *markdown) lead(k flows.Kickoff, part string) {
	if c, changed := k.Summary.Changed[part]; changed {
		m.para("*Changed by %s after the summary was posted, on %s.*", inline(k.Name(c.By)), longDay(k, c.At))
	}
	if w, said := k.Summary.Words[part]; said {
		m.para("**A word from %s, who leads:**", inline(k.Name(w.By)))
		m.quote(w.Text)
	}
}

type leadWordJSON struct {
	Part string `json:"part"`
	Text string `json:"text"`
	By   string `json:"by"`
}

type changeJSON struct {
	Part string `json:"part"`
	By   string `json:"by"`
	On   string `json:"on"` // a date where the lead is
}

func leadWordsOf(k flows.Kickoff) []leadWordJSON {
	out := []leadWordJSON{}
	for _, part := range flows.Parts() {
		if w, said := k.Summary.Words[part]; said {
			out = append(out, leadWordJSON{Part: part, Text: w.Text, By: k.Name(w.By)})
		}
	}
	return out
}

func changesSince(k flows.Kickoff) []changeJSON {
	out := []changeJSON{}
	for _, part := range flows.Parts() {
		if c, changed := k.Summary.Changed[part]; changed {
			out = append(out, changeJSON{Part: part, By: k.Name(c.By), On: leadDay(k, c.At)})
		}
	}
	return out
}
