package rehearsal

import (
	"context"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

var closeScenes = []scene{
	{action: "open/close.action", leads: true, what: "note actions", do: addActions},
	{action: "do/close.post", leads: true, after: 30 * time.Minute, what: "post the summary", do: press},
}

func addActions(ctx context.Context, a *actor, b button) error {
	for i, action := range a.cast.script.Actions {
		err := a.once(entryName("action", i), func() error {
			if err := a.pressUnlessOpen(ctx, b, "close.action"); err != nil {
				return err
			}
			due := a.cast.clock.Now().In(a.hours.Zone).AddDate(0, 0, action.DueDays).Format(time.DateOnly)
			owner := a
			if other := a.cast.person(action.Owner); other != nil {
				owner = other
			}
			return a.fill(ctx, field{"what", blockkit.Value{Text: action.What}}, field{"owner", blockkit.Value{ID: owner.id}}, field{"due", blockkit.Value{Date: due}})
		})
		if err != nil {
			return err
		}
	}
	return nil
}
