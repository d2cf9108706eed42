package report

import (
	"strings"

	"soundings/flows"
)

// A part is one row of the summary: what it is called, what it comes to in a
// few words, and what stands under it in each form. A part without blocks is
// left out.
type part struct {
	title, onCanvas string // the title on the canvas where it is another one
	gist            func(flows.Kickoff) string
	blocks          func(flows.Kickoff, form) []Block
}

// parts has a row for each of flows.Parts.
var parts = map[string]part{
	"problem":   {"The problem", "", problemGist, problemBlocks},
	"roles":     {"Who does what", "", rolesGist, rolesBlocks},
	"map":       {"What we assume, in test order", "", mapGist, mapBlocks},
	"backlog":   {"What we test, and how", "", testsGist, testsBlocks},
	"timebox":   {"The time box", "", timeboxGist, timeboxBlocks},
	"questions": {"Questions", "Open questions", questionsGist, questionsBlocks},
	"actions":   {"Who does what next", "Next steps", actionsGist, actionsBlocks},
}

// Name is what a part is called where parts are listed.
func Name(id string) string {
	name, _, _ := strings.Cut(parts[id].title, ", in ") // an order says nothing there
	return name
}

// Gist is what a part comes to, in a few words.
func Gist(k flows.Kickoff, id string) string { return parts[id].gist(k) }

// Thread is a part of the summary as it stands in the thread.
func Thread(k flows.Kickoff, id string) (p Part, known bool) {
	if _, known = parts[id]; !known {
		return Part{}, false
	}
	return partOf(k, id, inThread), true
}

// partOf is a part in one of its forms, below what leads put to it.
func partOf(k flows.Kickoff, id string, f form) Part {
	row := parts[id]
	p := Part{Title: row.title, Blocks: row.blocks(k, f)}
	if f == onCanvas && row.onCanvas != "" {
		p.Title = row.onCanvas
	}
	if len(p.Blocks) > 0 {
		p.Above = leadBlocks(k, id, f)
	}
	return p
}

// leadBlocks are what leads put to a part: a word of theirs, and where they
// changed a part that people may have read, that they did. A canvas is always
// as it stands, so it does not say what changed.
func leadBlocks(k flows.Kickoff, id string, f form) []Block {
	var blocks []Block
	if c, changed := k.Summary.Changed[id]; changed && f == inThread {
		blocks = append(blocks, Para(say("Changed by %s after the summary was posted, %s.", f.typed(k.Name(c.By), 60, 60), moment(c.At))))
	} else if changed && f == inFile {
		blocks = append(blocks, Para(italic(say("Changed by %s after the summary was posted, on %s.", f.name(k.Name(c.By)), day(c.At)))))
	}
	w, said := k.Summary.Words[id]
	if !said {
		return blocks
	}
	from := say("**A word from %s, who leads:**", f.typed(k.Name(w.By), 60, 60))
	if f == onCanvas {
		return append(blocks, Para(say("%s %s", from, f.typed(w.Text, all, all))))
	}
	return append(blocks, Para(from), f.quote(w.Text, flows.MaxWord))
}
