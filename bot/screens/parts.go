package screens

import (
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/flows"
	"soundings/flows/guide"
)

// The parts of the summary. Each returns its title and what stands under it.

// problemPart is the problem as agreed, and the whole ladder on which it was
// found.
func problemPart(k flows.Kickoff) (string, []slack.Block) {
	blocks := []slack.Block{quoted(typed(k.Problem(), 1500))}
	if k.Problem() != k.Brief.Problem {
		blocks = append(blocks, para(bold("It began as")), quoted(typed(k.Brief.Problem, 700)))
	}
	for _, part := range [][2]string{{"Why now: ", k.Brief.Why}, {"The outcome hoped for: ", k.Brief.Outcome}, {"Out of bounds: ", k.Brief.OutOfBounds}} {
		if part[1] != "" {
			blocks = append(blocks, para(bold("%s", part[0]), typed(part[1], 500)))
		}
	}
	blocks = append(blocks, para(bold("The level. "), plain("%s", ladderText(k))))
	blocks = append(blocks, ladderList(k)...)
	if text := draftsText(k); text != "" {
		blocks = append(blocks, note(text))
	}
	return "The problem", blocks
}

// ladderList is every wording from broad to narrow, and who could live with
// it.
func ladderList(k flows.Kickoff) []slack.Block {
	const most = 14
	ticks, order := k.Framing.Ticks(), rungs(k)
	var items [][]word
	for _, n := range firstOf(order, most) {
		text := k.WordingText(n)
		words := []word{bold("%s ", rung(k.Framing.LevelOf(n))), typed(text, 180),
			plain(" ("), styled(wordingFrom(k, n), nil), plain("). "), styled(tickers(k, n, ticks[n]), nil)}
		if text == k.Problem() {
			words = append(words, bold(" Agreed."))
		}
		items = append(items, words)
	}
	return withMore(items, len(order))
}

// tickers names who could live with wording n, the first few of many.
func tickers(k flows.Kickoff, n, all int) string {
	if all == 0 {
		return "Nobody ticked it."
	}
	var names []string
	for _, person := range k.People {
		if vote, voted := k.Framing.Votes[person.ID]; voted && slices.Contains(vote.Ticks, n) {
			names = append(names, contained(clip(k.Name(person.ID), 24)))
		}
	}
	return fmt.Sprintf("%d could live with it: %s.", all, listed(names, 4))
}

// wordingFrom says where a wording is from.
func wordingFrom(k flows.Kickoff, n int) string {
	switch {
	case n == flows.Original:
		return "the brief"
	case k.Framing.Wordings[n-1].Drafted:
		return "a machine's draft"
	case k.Framing.Wordings[n-1].Began:
		return "by " + contained(clip(k.Name(k.Framing.Wordings[n-1].By), 40)) + ", began as a machine's draft"
	}
	return "by " + contained(clip(k.Name(k.Framing.Wordings[n-1].By), 40))
}

// rolesPart is the stakeholder map.
func rolesPart(k flows.Kickoff) (string, []slack.Block) {
	title := "Who does what"
	if k.Roles.Skipped {
		return title, []slack.Block{para(plain("The lead left the roles out of this kickoff."))}
	}
	r := rolesOf(k)
	items := [][]word{
		ringWords("Core team", "does the work", r.Core, r.Days),
		ringWords("Consulted", "asked before decisions", r.Consulted, nil),
		ringWords("Informed", "told how it goes", r.Informed, nil),
	}
	if len(r.Unplaced) > 0 {
		items = append(items, ringWords("Not placed", "did not say", r.Unplaced, nil))
	}
	blocks := []slack.Block{bullets(items...)}
	if len(r.Missing) == 0 {
		return title, blocks
	}
	var missing [][]word
	for _, m := range firstOf(r.Missing, 20) {
		missing = append(missing, []word{typed(m.Name, 80), plain(", expected as %s", ringText(flows.Ring(m.Ring)))})
	}
	return title, append(append(blocks, para(bold("Missing so far"))), withMore(missing, len(r.Missing))...)
}

func ringWords(name, means string, people []string, given map[string]float64) []word {
	words := []word{bold("%s", name), plain(" (%s): ", means)}
	if len(people) == 0 {
		return append(words, plain("nobody"))
	}
	const most = 40
	for i, person := range firstOf(people, most) {
		if i > 0 {
			words = append(words, plain(", "))
		}
		words = append(words, typed(person, 40))
		if d, ok := given[person]; ok {
			words = append(words, plain(" (%s a week)", days(d)))
		}
	}
	if left := len(people) - most; left > 0 {
		words = append(words, plain(" and %d more", left))
	}
	return words
}

// mapPart is the last map in words.
func mapPart(k flows.Kickoff) (string, []slack.Block) {
	title := "What we assume, in test order"
	m := k.Map()
	if m == nil {
		return title, []slack.Block{para(plain("Nothing was rated in this kickoff."))}
	}
	blocks := append([]slack.Block{para(plain("%s rated, each alone. %s", count(m.Raters, "person", "people"), firstText(*m)))}, testOrder(k, *m)...)
	if last := k.Rounds[len(k.Rounds)-1]; len(last.Splits) > 0 {
		blocks = append(blocks, para(bold("Still split: "), plain("%s.", listed(last.Splits, 12))))
	}
	return title, append(blocks, mapNotes(*m)...)
}

// backlogPart is the plan of tests.
func backlogPart(k flows.Kickoff) (string, []slack.Block) {
	blocks := append([]slack.Block{para(plain("%s", testsText(k)))}, testList(k)...)
	return "What we test, and how", append(blocks, note(guide.Caution))
}

// timeboxPart is the time box with its reasons and the plan week by week.
func timeboxPart(k flows.Kickoff) (string, []slack.Block) {
	if k.Timebox.Weeks == 0 {
		return "The time box", []slack.Block{para(plain("It is not set yet."))}
	}
	blocks := timeboxBlocks(k)
	if bars := planBars(k); bars != nil {
		blocks = append(blocks, para(plain("How many of the assumptions to test first should have a first result:")), bars)
	}
	return "The time box", blocks
}

// questionsPart lists the questions about the brief, the open ones first.
func questionsPart(k flows.Kickoff) (string, []slack.Block) {
	open, answered := k.Brief.OpenQuestions(), [][]word{}
	var asked [][]word
	for _, q := range firstOf(open, 12) {
		asked = append(asked, []word{bold("Open: "), typed(q.Ask, 250), plain(" (asked by "), typed(k.Name(q.By), 40), plain(")")})
	}
	n := 0
	for _, q := range k.Brief.Questions {
		if q.Answer == "" {
			continue
		}
		if n++; n <= 10 {
			answered = append(answered, []word{typed(q.Ask, 180), plain(" (asked by "), typed(k.Name(q.By), 40), plain(")\n"),
				boldTyped(k.Name(q.Answered), 40), plain(": "), typed(q.Answer, 220)})
		}
	}
	blocks := append(withMore(asked, len(open)), withMore(answered, n)...)
	if len(open) == 0 {
		blocks = append([]slack.Block{para(plain("%s", noneOpen(n)))}, blocks...)
	}
	return "Questions", blocks
}

func noneOpen(answered int) string {
	if answered == 0 {
		return "Nobody asked anything."
	}
	return "None is open."
}

// actionsPart lists who does what next.
func actionsPart(k flows.Kickoff) (string, []slack.Block) {
	return "Who does what next", actionList(k, 25)
}
