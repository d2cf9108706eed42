package rehearsal

import (
	"context"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

var assumptionsScenes = []scene{
	{action: "open/assumptions.add", what: "add assumptions", do: addAssumptions},
	{action: "do/assumptions.done", after: 20 * time.Minute, what: "say that this is all", do: press},
}

func addAssumptions(ctx context.Context, a *actor, b button) error {
	for _, x := range a.cast.script.Assumptions {
		if x.By != a.Key {
			continue
		}
		err := a.once("assumption/"+x.ID, func() error {
			if err := a.pressUnlessOpen(ctx, b, "assumptions.add"); err != nil {
				return err
			}
			return a.fill(ctx, field{"text", blockkit.Value{Text: x.Text}}, field{"because", blockkit.Value{Text: x.Because}}, field{"id", blockkit.Value{Text: x.ID}})
		})
		if err != nil {
			return err
		}
	}
	return nil
}
