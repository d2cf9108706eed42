package screens

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/prompts"
)

// The way to a wording by hand: what to ask oneself on each level, and how a
// wording may begin.

// byHandLevels are all levels, the broadest first.
func byHandLevels() []int { return []int{2, 1, 0, -1, -2} }

// byHand lists the questions of each level, and with openings those as well.
func byHand(openings bool) []slack.Block {
	var blocks []slack.Block
	for _, level := range byHandLevels() {
		var items [][]block.Run
		for _, q := range prompts.Questions(level) {
			items = append(items, []block.Run{block.Plain("%s", q)})
		}
		blocks = append(blocks, block.Para(block.Bold("%s", rungName(level))), block.Bullets(items...))
		if openings {
			blocks = append(blocks, block.Para(block.Italic("It may begin: "), block.Plain("%s", strings.Join(prompts.Openings(level), " / "))))
		}
	}
	return blocks
}

// openingOptions are all openings, each with its level.
func openingOptions() []block.Option {
	var all []block.Option
	for _, level := range byHandLevels() {
		for i, text := range prompts.Openings(level) {
			all = append(all, block.Option{Value: fmt.Sprintf("%d/%d", level, i), Text: text, About: rungName(level)})
		}
	}
	return all
}

// openingOf is the opening behind an option's value; empty for none.
func openingOf(value string) string {
	first, second, _ := strings.Cut(value, "/")
	level, err := strconv.Atoi(first)
	if err != nil {
		return ""
	}
	n, err := strconv.Atoi(second)
	if all := prompts.Openings(level); err == nil && n >= 0 && n < len(all) {
		return all[n]
	}
	return ""
}

// gap stands in an opening for what people fill in.
const gap = "…"

// completed puts what somebody typed into an opening: one line for each gap,
// or one line that goes on after the first words. fault says what is wrong
// with it.
func completed(opening, typed string) (text, fault string) {
	if opening == "" || typed == "" {
		return typed, ""
	}
	lines, gaps := fillings(typed), strings.Count(opening, gap)
	switch {
	case len(lines) == gaps:
		runs := strings.Split(opening, gap)
		text = runs[0]
		for i, line := range lines {
			text += line + runs[i+1]
		}
	case len(lines) == 1:
		before, _, _ := strings.Cut(opening, gap)
		text = strings.TrimSpace(before) + " " + lines[0]
	default:
		return "", fmt.Sprintf("This opening has %s. Write as many lines, one for each, or a single line that goes on after its first words.",
			words.Count(gaps, "gap", "gaps"))
	}
	return closedSentence(text), ""
}

// fillings are the lines that hold something, without full stops at their end.
func fillings(typed string) []string {
	var lines []string
	for line := range strings.Lines(typed) {
		if line = strings.TrimRight(strings.TrimSpace(line), "."); line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// closedSentence ends in a mark.
func closedSentence(text string) string {
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") || strings.HasSuffix(text, "!") {
		return text
	}
	return text + "."
}
