package rehearsal

import (
	"context"
	"strconv"
	"strings"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

var ratingScenes = []scene{
	{action: "open/rating.ballot", what: "fill in the ballot", do: fillBallot},
}

// fillBallot goes through the pages of a ballot.
func fillBallot(ctx context.Context, a *actor, b button) error {
	ballot := a.cast.script.Ratings.Round1[a.Key]
	if strings.Contains(b.slot, "rating/2") {
		ballot = a.cast.script.Ratings.Round2[a.Key]
	}
	if len(ballot) == 0 {
		return nil
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	return a.onEachPage(ctx, "rating.ballot", func(v fakeslack.View) error { return a.rate(ctx, v, ballot) })
}

// rate makes the choices of one page. What the script leaves out is left
// open, and "can't say" is chosen as such.
func (a *actor) rate(ctx context.Context, view fakeslack.View, ballot map[string]scenario.Pair) error {
	for _, e := range blockkit.Elements(view.Blocks) {
		scale, id, ok := strings.Cut(strings.TrimPrefix(e.ActionID, "rate/"), "/")
		pair, rated := ballot[id]
		if !ok || !rated {
			continue
		}
		value := pair.Importance
		if scale == "evidence" {
			value = pair.Evidence
		}
		if value == 0 {
			value = -1
		}
		err := a.retry(func() error {
			return a.cast.team.Client.Press(ctx, a.id, fakeslack.Where{ViewID: view.ID}, e.ActionID, e.BlockID, blockkit.Value{Option: strconv.Itoa(value)})
		})
		if err != nil {
			return err
		}
	}
	return nil
}
