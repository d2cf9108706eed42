package rating

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/tally"
)

// A long list is dealt out: each person rates a share of it, and in a second
// sitting everybody rates what could still come first.

// mayDeal lets a lead choose who rates what, until the rating opens.
func mayDeal(p screen.Page) error {
	if err := screen.MayLead(p); err != nil || screen.Before(p.Kickoff.Stage, state.StageRating) {
		return err
	}
	return screen.Refuse("The rating has opened, so who rates what stands. To change it, go back a step first.")
}

// DealControl lets a lead choose who rates what, as long as that can be chosen.
func DealControl(p screen.Page) []screen.Control {
	if !screen.Before(p.Kickoff.Stage, state.StageRating) {
		return nil
	}
	return []screen.Control{screen.Can(screen.Button("Who Rates What", "open/rating.deal", screen.StageArgs(p, p.Kickoff.Stage)), "Each person rates a share.")}
}

const (
	dealShare = "share"
	dealAll   = "all"
)

func chosenDeal(p screen.Page, f *block.Form) flows.Intent {
	k := p.Kickoff
	stood, each, second := dealShare, k.Deal.Each, k.Deal.Second
	if each == 0 {
		each, second = tally.UsualEach, tally.UsualSecond
		if now, _ := tally.DealOf(&k, len(k.Listed())); now == 0 {
			stood = dealAll
		}
	}
	f.Title, f.Submit = "Who rates what?", "Save"
	f.Add(block.Text("Forty assumptions are too many for one sitting. Unless you choose, lists of more than %d are dealt out: each person rates a share, "+
		"and a day later everybody rates the few that could still come first. That finds nearly the same, in about two thirds of the time.", tally.LongList))
	how := f.Radio("how", "The ballots", stood, []block.Option{
		{Value: dealShare, Text: "Each rates a share, then all rate the few"},
		{Value: dealAll, Text: "Everybody rates everything"},
	})
	most := strconv.Itoa(tally.MostEach)
	share := f.Figure("each", "How many in a share?", strconv.Itoa(each), "1", most, block.Optional, block.Hint("A list that is no longer than this is not dealt out."))
	few := f.Figure("second", "How many at most are the few?", strconv.Itoa(second), "1", most, block.Optional,
		block.Hint("Whatever people are far apart on comes on top."))
	chosen := flows.ChooseDeal{ByLead: screen.ByLead(p)}
	if how == dealShare {
		chosen.Each, chosen.Second = wholeOr(share, tally.UsualEach), wholeOr(few, tally.UsualSecond)
	}
	return chosen
}

// wholeOr is a number as it was entered, what is usual where none was, and -1,
// which no rule takes, where it is none.
func wholeOr(entered string, usual int) int {
	n, err := strconv.Atoi(entered)
	switch {
	case entered == "":
		return usual
	case err != nil || n == 0:
		return -1
	}
	return n
}

// isDealt reports that the list of a kickoff was dealt out for the rating.
func isDealt(k state.Kickoff) bool { return len(k.Rounds) > 0 && k.Rounds[0].Each > 0 }

// dealtAsks asks for the ballots of a list that was dealt out.
func dealtAsks(p screen.Page, a screen.Asking) screen.Asking {
	first := p.Kickoff.Rounds[0]
	if p.Args.Round == 1 {
		a.Ask = fmt.Sprintf("Rate your %d of %d assumptions: how bad would it be to be wrong, and how solid is what we know? Others rate the rest.",
			first.Each, len(first.IDs))
		a.Why += " Then everybody rates the few that could still come first."
		a.Minutes = minutes(first.Each)
		return a
	}
	a.Title = "Rate what could come first"
	a.Ask = fmt.Sprintf("Rate %s, this time all of us: these could still come first, or we are far apart on them.",
		words.Count(len(p.Kickoff.Rounds[1].IDs), "assumption", "assumptions"))
	a.Why = "So far each of us has rated a share. What you leave blank keeps the rating that you gave it, if you gave one."
	return a
}

// firstSittingResult stands in the place of a map, which nobody sees yet.
func firstSittingResult(p screen.Page) screen.Posting {
	k := p.Kickoff
	first, again := k.Rounds[0], k.Rounds[1]
	title := "The first half of the rating is done"
	text := fmt.Sprintf("%s rated a share each. %s could still come first, or we are far apart on them.",
		words.Count(first.Result.Raters, "person has", "people have"), words.Count(len(again.IDs), "assumption", "assumptions"))
	blocks := []slack.Block{block.Heading(title), block.Text("%s", text),
		block.Text("Everybody rates these next. The map comes after that: a map that people have seen would sway them.")}
	if len(first.Splits) > 0 {
		blocks = append(blocks, block.Para(block.Bold("Views are split on %s. Each has a thread here: tell the others what they may not know.", words.Listed(first.Splits, 8))))
	}
	return screen.Posting{Text: screen.Aloud(k, "%s", text), Blocks: blocks}
}

// shareText tells somebody how much of the list is theirs; empty where it is all.
func shareText(p screen.Page, share []string) string {
	r := p.Kickoff.Rounds[p.Args.Round-1]
	if r.Each == 0 {
		return ""
	}
	return fmt.Sprintf("You rate %d of %d; others rate the rest.", len(share), len(r.IDs))
}

// showsGroup reports that the ballot of the second round tells what the group
// said of an assumption: where it was split. Of others most see it for the first
// time, and would be swayed.
func showsGroup(k state.Kickoff, id string) bool { return slices.Contains(k.Rounds[0].Splits, id) }
