package report

import (
	"fmt"
	"slices"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// problemBlocks is the problem as agreed, and in the thread the whole ladder
// on which it was found.
func problemBlocks(k flows.Kickoff, f form) []Block {
	blocks := []Block{f.quote(k.Problem(), 1500)}
	if k.Problem() != k.Brief.Problem && f != onCanvas {
		began := map[form]string{inThread: "**It began as**", inFile: "It began as:"}[f]
		blocks = append(blocks, Para(say(began)), f.quote(k.Brief.Problem, 700))
	}
	for _, text := range [][2]string{{"Why now", k.Brief.Why}, {"The outcome hoped for", k.Brief.Outcome}, {"Out of bounds", k.Brief.OutOfBounds}} {
		if text[1] != "" {
			blocks = append(blocks, Para(say("**%s:** %s", text[0], f.typed(text[1], 500, all))))
		}
	}
	switch {
	case f == inThread:
		blocks = append(blocks, Para(say("**The level.** %s", words.LadderText(k))), Ladder(k))
		if text := words.DraftsText(k); text != "" {
			blocks = append(blocks, Note(text))
		}
	case len(k.Brief.Links) > 0:
		blocks = append(blocks, list(k.Brief.Links, f.of(0, 30), func(link string) Text { return f.typed(link, all, all) }))
	}
	return blocks
}

func problemGist(k flows.Kickoff) string {
	return fmt.Sprintf("%s on the ladder; we work at %s", words.Count(len(k.Framing.Wordings)+1, "wording", "wordings"), words.Rung(words.SettledLevel(k)))
}

// Ladder is every wording from broad to narrow, and who could live with it.
func Ladder(k flows.Kickoff) List {
	ticks := k.Framing.Ticks()
	return list(words.Rungs(k), 14, func(n int) Text {
		text := k.WordingText(n)
		item := say("**%s** %s (%s). %s", words.Rung(k.Framing.LevelOf(n)), inThread.typed(text, 180, 0), wordingFrom(k, n), tickers(k, n, ticks[n]))
		if text == k.Problem() {
			item = append(item, say("** Agreed.**")...)
		}
		return item
	})
}

// tickers names who could live with wording n, the first few of many.
func tickers(k flows.Kickoff, n, ticks int) Text {
	if ticks == 0 {
		return say("Nobody ticked it.")
	}
	var names []Text
	for _, person := range k.People {
		if vote, voted := k.Framing.Votes[person.ID]; voted && slices.Contains(vote.Ticks, n) {
			names = append(names, inThread.typed(k.Name(person.ID), 24, 0))
		}
	}
	return say("%d could live with it: %s.", ticks, listed(names, 4))
}

// wordingFrom says where a wording is from.
func wordingFrom(k flows.Kickoff, n int) Text {
	if n == flows.Original {
		return say("the brief")
	}
	w := k.Framing.Wordings[n-1]
	switch by := inThread.name(k.Name(w.By)); {
	case w.Drafted:
		return say("a machine's draft")
	case w.Began:
		return say("by %s, began as a machine's draft", by)
	default:
		return say("by %s", by)
	}
}

// ladderTable is the ladder in the file, with how the level came about.
func ladderTable(k flows.Kickoff) []Block {
	l, ticks := k.Framing.Level, k.Framing.Ticks()
	came := say("Nobody chose a level; the problem stands where it began.")
	if l.N > 0 {
		came = say("%s chose a level from +2 (broader) to -2 (narrower). Median %s, middle half of the answers spread over %s. %sThe discovery works at level %s%s.",
			words.Count(l.N, "person", "people"), words.Number(l.Median), words.Number(l.IQR), halfStepText(l), words.Rung(k.Framing.AtLevel), settledBy(k))
	}
	table := Table{{say("Level"), say("Wording"), say("From"), say("Could live with it")}}
	for _, n := range words.Rungs(k) {
		table = append(table, []Text{say("%s", words.Rung(k.Framing.LevelOf(n))), inFile.typed(k.WordingText(n), 0, 0), wordingBy(k, n), say("%d", ticks[n])})
	}
	blocks := []Block{Para(came), table}
	if text := words.DraftsText(k); text != "" {
		blocks = append(blocks, Para(say("%s", text)))
	}
	return blocks
}

func halfStepText(l engine.LadderLevel) string {
	if l.HalfStep {
		return "The median lay between two levels; the narrower one counts. "
	}
	return ""
}

func settledBy(k flows.Kickoff) Text {
	if k.Framing.SettledBy == "" {
		return say(", as proposed, since nobody objected in time")
	}
	return say(", settled by %s", inFile.name(k.Name(k.Framing.SettledBy)))
}

func wordingBy(k flows.Kickoff, n int) Text {
	if n == flows.Original {
		return say("the brief")
	}
	w := k.Framing.Wordings[n-1]
	switch by := inFile.name(k.Name(w.By)); {
	case w.Drafted:
		return say("%s (drafted by machine)", by)
	case w.Began:
		return say("%s (began as a machine's draft, changed since)", by)
	default:
		return by
	}
}
