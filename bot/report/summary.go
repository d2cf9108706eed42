package report

import (
	"fmt"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// summaryFile is the whole kickoff as one page of Markdown: enough for
// somebody who missed everything.
func summaryFile(k flows.Kickoff) (File, error) {
	m := &markdown{zone: k.Lead().Hours().Zone}
	m.line("# %s\n", inline(k.Brief.Title))
	in := func(id string) Part { return partOf(k, id, inFile) }
	m.parts(Part{Blocks: fileHead(k)}, in("problem"), Part{Title: "How it moved on the ladder", Blocks: ladderTable(k)}, in("roles"), in("map"), in("backlog"),
		in("timebox"), in("questions"), in("actions"), Part{Title: "What we have found so far", Blocks: foundInFile(k)}, Part{Title: "To be read with care", Blocks: careBlocks(k)})
	return File{Name: "summary.md", Title: "The summary", Data: []byte(m.String())}, nil
}

// A CanvasPage is the summary as a page of the channel.
type CanvasPage struct {
	Title    string // plain text
	Markdown string // at most LongestCanvas characters
}

// LongestCanvas is the most characters that a canvas takes. Source: the
// platform's page on conversations.canvases.create.
const LongestCanvas = 1 << 20

// Canvas is the summary to be read on a phone: lists and no tables, each thing
// once. It says nothing that changes by the day, so that it stays true between
// check-ins.
func Canvas(k flows.Kickoff) CanvasPage {
	m := &markdown{zone: k.Lead().Hours().Zone, canvas: true}
	on := func(id string) Part { return partOf(k, id, onCanvas) }
	m.parts(Part{Blocks: canvasHead(k)}, on("problem"), Part{Title: "What we have found", Blocks: foundOnCanvas(k)}, on("map"), on("backlog"), on("timebox"),
		on("roles"), on("questions"), on("actions"), Part{Blocks: canvasFoot(k)})
	return CanvasPage{Title: words.Contained(words.Clip(k.Brief.Title, 100)) + ": the summary", Markdown: m.String()}
}

// BookmarkTitle is what the link to the summary is called in the channel's
// header.
func BookmarkTitle(k flows.Kickoff) string {
	return "Summary: " + words.Contained(words.Clip(k.Brief.Title, 60))
}

// Root is the summary in one message: what somebody needs who opens the
// channel in a week and reads nothing else. The parts stand in its thread.
func Root(k flows.Kickoff, now time.Time) Part {
	blocks := []Block{inThread.quote(k.Problem(), 900),
		Para(say("**Level:** %s. **Led by** %s.", words.LevelText(words.SettledLevel(k)), inThread.typed(k.Name(k.Lead().ID), 60, 0)))}
	if k.Timebox.Weeks > 0 {
		blocks = append(blocks, Para(say("**Time box:** %s", boxText(k))))
	}
	if m := k.Map(); m != nil {
		blocks = append(blocks, Para(say("**To test first:** %s", words.FirstText(*m))))
	}
	return Part{Title: k.Brief.Title, Blocks: append(blocks, Para(say("**How far we are:** %s", Standing(k, now))))}
}

// Standing says in a few sentences how the discovery stands.
func Standing(k flows.Kickoff, now time.Time) string {
	switch {
	case k.Timebox.Starts.IsZero():
		return "The time box begins when the summary is posted."
	case k.Stage == flows.StageEnded:
		return fmt.Sprintf("It has ended. The decision: %s. %s", words.ChoiceText(k.Underway.Decision.Set, k.Underway.Decision.Weeks), words.FoundText(k))
	}
	progress := k.Progress(now)
	return words.TestedText(progress) + " " + words.FoundText(k) + " " + words.DaysLeftText(progress) + " " + words.ConfidenceText(progress)
}

func canvasHead(k flows.Kickoff) []Block {
	blocks := []Block{Para(say("A product discovery led by %s.", onCanvas.name(k.Lead().Name)))}
	if d := k.Underway.Decision; k.Stage == flows.StageEnded {
		blocks = append(blocks, Para(say("**It has ended: %s.** %s. Decided on %s.", words.ChoiceText(d.Set, d.Weeks), words.Tally(d), day(d.At))))
	}
	return blocks
}

func canvasFoot(k flows.Kickoff) []Block {
	foot := "I keep this page current, so what is typed into it does not last. Talk in the thread of the summary; the files are there as well."
	if k.Stage == flows.StageEnded {
		foot = "This is how it stood at the end. The talk about it, and the files, are in the thread of the summary."
	}
	return []Block{Rule{}, Para(say(foot))}
}

func fileHead(k flows.Kickoff) []Block {
	lead, t := inFile.name(k.Name(k.Lead().ID)), k.Timebox
	if t.Starts.IsZero() {
		return []Block{Para(say("The kickoff of a product discovery, led by %s. It is not finished: stage “%s”.", lead, k.Stage))}
	}
	blocks := []Block{Para(say("A product discovery, led by %s, from %s to %s: a time box of %s.", lead, day(t.Starts), day(t.Ends), words.WeeksText(t.Weeks)))}
	if d := k.Underway.Decision; d.Set != "" {
		blocks = append(blocks, Para(say("**It has ended: %s**, decided on %s.", words.ChoiceText(d.Set, d.Weeks), day(d.At))))
	}
	return append(blocks, Para(inShort(k)))
}

// inShort says in a sentence or two what comes first and why.
func inShort(k flows.Kickoff) Text {
	first := k.InZone(engine.TestFirst)
	if len(first) == 0 {
		return say("No assumption is both important and poorly evidenced, so nothing has to be tested before the rest.")
	}
	a, _ := k.Assumption(first[0])
	matter := fmt.Sprintf("%d assumptions matter most and rest on the least evidence, so they are tested first. At the top of the list", len(first))
	if len(first) == 1 {
		matter = "One assumption matters most and rests on the least evidence, so it is tested first"
	}
	return say("%s: %s, “%s”", matter, first[0], inFile.typed(a.Text, 0, 0))
}
