package rehearsal

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

var framingScenes = []scene{
	{action: "open/framing.add", what: "add wordings", do: addWordings},
	{action: "open/framing.vote", after: time.Hour, what: "choose level and wordings", do: voteFraming},
	{action: "do/framing.confirm", settles: true, what: "confirm the problem", do: press},
}

func addWordings(ctx context.Context, a *actor, b button) error {
	for _, w := range a.cast.script.Framing.Wordings {
		if w.By != a.Key {
			continue
		}
		if err := a.openAndFill(ctx, b, field{"level", blockkit.Value{Option: strconv.Itoa(w.Level)}}, field{"text", blockkit.Value{Text: w.Text}}); err != nil {
			return err
		}
	}
	return nil
}

// voteFraming waits until the wordings that the actor ticks are on the form.
func voteFraming(ctx context.Context, a *actor, b button) error {
	vote, votes := a.cast.script.Framing.Votes[a.Key]
	if !votes {
		return nil
	}
	if !a.cast.shows(b, vote.Ticks) && a.timeLeft(b) {
		return errNotYet // a look at the message is cheaper than a form
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	ticked := map[string][]string{}
	for _, n := range vote.Ticks {
		block, value, ok := a.wordingOnForm(n)
		if !ok {
			return fmt.Errorf("wording %d is not on the form: %w", n, errNotYet)
		}
		ticked[block] = append(ticked[block], value)
	}
	fields := []field{{"level", blockkit.Value{Option: strconv.Itoa(vote.Level)}}}
	for _, block := range slices.Sorted(maps.Keys(ticked)) {
		fields = append(fields, field{block, blockkit.Value{Options: ticked[block]}})
	}
	return a.fill(ctx, fields...)
}

// shows reports whether the message of a button lists those wordings yet.
func (c *cast) shows(b button, wordings []int) bool {
	m, ok := c.team.Message(b.channel, b.ts)
	if !ok {
		return false
	}
	listed := flat(allText(m.Blocks))
	for _, n := range wordings {
		if n > 0 && !strings.Contains(listed, flat(beginning(c.script.Framing.Wordings[n-1].Text, 40))) {
			return false
		}
	}
	return true
}

// wordingOnForm finds the box of wording n of the script. The bot numbers
// wordings as they come; people go by the words.
func (a *actor) wordingOnForm(n int) (block, value string, ok bool) {
	view, _ := a.view()
	text := a.cast.script.Brief.Problem
	if n > 0 {
		text = a.cast.script.Framing.Wordings[n-1].Text
	}
	for _, e := range blockkit.Elements(view.Blocks) {
		if !strings.HasPrefix(e.BlockID, "ticks") {
			continue
		}
		for _, o := range e.Options {
			if n == 0 && o.Value == "0" || n > 0 && o.Value != "0" && sameStart(o.Text, text) {
				return e.BlockID, o.Value, true
			}
		}
	}
	return "", "", false
}

// sameStart compares an option, which shows a number and the first words,
// with a whole text.
func sameStart(shown, text string) bool {
	_, words, found := strings.Cut(shown, " · ")
	if !found {
		words = shown
	}
	words = strings.TrimRight(strings.TrimSuffix(words, "…"), " \n\t")
	return words != "" && strings.HasPrefix(flat(text), flat(words))
}
