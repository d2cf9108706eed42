package report

import (
	"soundings/bot/words"
	"soundings/flows/state"
)

// problemBlocks is the problem as settled, and the ladder on which it was found.
func problemBlocks(k state.Kickoff) []Block {
	blocks := []Block{quote(k.Problem(), 1500)}
	if k.Problem() != k.Brief.Problem {
		blocks = append(blocks, para("**It began as**"), quote(k.Brief.Problem, 700))
	}
	for _, text := range [][2]string{{"Why now", k.Brief.Why}, {"The outcome hoped for", k.Brief.Outcome}, {"Out of bounds", k.Brief.OutOfBounds}} {
		if text[1] != "" {
			blocks = append(blocks, para("**%s:** %s", text[0], clip(text[1], 500)))
		}
	}
	if k.LeavesOut(state.StageFraming) {
		return blocks
	}
	blocks = append(blocks, para("**The wording.** %s", words.SettledText(k)), para("**The level.** %s", words.LadderText(k)), Ladder(k))
	if text := words.DraftsText(k); text != "" {
		blocks = append(blocks, Note(text))
	}
	return blocks
}

// Ladder is every wording from broad to narrow, and how many could live with it.
func Ladder(k state.Kickoff) List {
	ticks := k.Framing.Ticks()
	return list(words.Rungs(k), 14, func(n int) Text {
		text := k.WordingText(n)
		item := say("**%s** %s (%s). %s", words.Rung(k.Framing.LevelOf(n)), clip(text, 180), wordingFrom(k, n), tickers(ticks[n]))
		switch {
		case text != k.Problem():
		case words.Agreed(ticks[n], words.FramingVoters(k)):
			item = append(item, say("** Agreed.**")...)
		case k.Framing.Settled:
			item = append(item, say("** Settled.**")...)
		}
		return item
	})
}

// tickers counts who could live with a wording. Ticks are a ballot: nobody is
// named.
func tickers(ticks int) Text {
	if ticks == 0 {
		return say("Nobody ticked it.")
	}
	return say("%d could live with it.", ticks)
}

// wordingFrom says where a wording is from.
func wordingFrom(k state.Kickoff, n int) Text {
	if n == state.Original {
		return say("the brief")
	}
	w := k.Framing.Wordings[n-1]
	switch by := name(k.Name(w.By)); {
	case w.Drafted:
		return say("a machine's draft")
	case w.Began:
		return say("by %s, began as a machine's draft", by)
	default:
		return say("by %s", by)
	}
}
