package report

import (
	"fmt"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// foundInFile is what the check-ins brought, and the decision.
func foundInFile(k flows.Kickoff) []Block {
	var blocks []Block
	for _, c := range k.Underway.Checkins {
		items := resultsOf(k, c, inFile, func(f engine.Finding) string { return fmt.Sprintf("%d of %d: %s", f.K, f.N, f.Verdict) })
		if median, _ := c.ConfidenceSpread(); median.Defined() {
			items = append(items, say("confidence in the whole: median %s of 9 (%s)", words.Number(median), words.Count(len(c.Confidence), "vote", "votes")))
		}
		blocks = append(blocks, Para(say("**Check-in %d, %s**", c.N, day(c.Opened))), List{Items: items})
	}
	d := k.Underway.Decision
	if d.Set == "" {
		return blocks
	}
	return append(blocks, Para(say("**The decision: %s**", words.ChoiceText(d.Set, d.Weeks))), Para(say("%s.", words.Tally(d))),
		Para(say("Written down beforehand:")), List{Items: inFile.marks(k.Timebox, "not written down")},
		Para(say("How well did we guess? %s", inFile.typed(k.Calibration().Sentence, 0, 0))))
}

// foundOnCanvas is what closed check-ins brought, the newest last.
func foundOnCanvas(k flows.Kickoff) []Block {
	var blocks []Block
	var last flows.Checkin
	for _, c := range k.Underway.Checkins {
		if c.Closed.IsZero() {
			continue
		}
		last = c
		items := append(resultsOf(k, c, onCanvas, words.FindingText), say("%s", words.ConfidenceMove(k, c)))
		blocks = append(blocks, Heading(fmt.Sprintf("Check-in %d, %s", c.N, longDay(c.Opened.In(k.Lead().Hours().Zone)))), List{Items: items})
	}
	if len(blocks) == 0 {
		return nil
	}
	blocks = append([]Block{Para(say("%s %s", words.TestedText(k.Progress(last.Closed)), words.FoundText(k)))}, blocks...)
	if k.Stage == flows.StageEnded {
		blocks = append(blocks, Para(say("How well did we guess? %s", onCanvas.typed(k.Calibration().Sentence, all, all))))
	}
	return blocks
}

// resultsOf are the results of a check-in and what they moved, as items of a
// list.
func resultsOf(k flows.Kickoff, c flows.Checkin, f form, finding func(engine.Finding) string) []Text {
	results := list(c.Results, f.of(0, 30), func(r flows.TestResult) Text {
		t, _ := k.Test(r.Test)
		return say("%s, %s: %s", t.Assumption, f.typed(t.Method, 0, 100), finding(engine.Judge(r.K, r.N, t.PassShare)))
	})
	moves := list(c.Moved, f.of(0, 30), func(m flows.Move) Text {
		return say("%s: %s", m.Assumption, words.MoveText(m, k.VerdictOf(m.Assumption)))
	})
	return append(results.Items, moves.Items...)
}

// careBlocks say where few were heard.
func careBlocks(k flows.Kickoff) []Block {
	thin := thinStages(k)
	if len(thin) == 0 {
		return nil
	}
	return []Block{Para(say("Fewer than half of those asked were heard in: %s.", strings.Join(thin, ", ")))}
}
