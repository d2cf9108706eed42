package rehearsal

import (
	"context"
	"slices"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
)

var rolesScenes = []scene{
	{action: "open/roles.place", after: 10 * time.Minute, what: "join the core team", do: placeInCore},
	{action: "do/roles.place", after: 10 * time.Minute, what: "say where they stand", do: placeSelf},
	{action: "open/roles.name", what: "name who is missing", do: namePeople},
	{action: "open/roles.settle", settles: true, what: "settle the roles", do: settleRoles},
}

func namePeople(ctx context.Context, a *actor, b button) error {
	for _, n := range a.cast.script.Roles.Named {
		if n.By != a.Key {
			continue
		}
		who := field{"name", blockkit.Value{Text: n.Name}}
		there := func(other *actor) bool { return other.Key == n.Name || other.Name == n.Name }
		if i := slices.IndexFunc(a.cast.actors, there); i >= 0 {
			who = field{"user", blockkit.Value{ID: a.cast.actors[i].id}}
		}
		if err := a.openAndFill(ctx, b, who, field{"ring", blockkit.Value{Option: n.Ring}}); err != nil {
			return err
		}
	}
	return nil
}

// placeSelf presses the ring that the script says. People go by the words.
func placeSelf(ctx context.Context, a *actor, b button) error {
	if ring := a.cast.script.Roles.Self[a.Key]; ring == "" || !strings.EqualFold(ring, b.Label) {
		return nil
	}
	return a.press(ctx, b)
}

// placeInCore is for the core team, who are asked for their days as well.
func placeInCore(ctx context.Context, a *actor, b button) error {
	roles := a.cast.script.Roles
	if roles.Self[a.Key] != "core" {
		return nil
	}
	var fields []field
	if days, given := roles.Days[a.Key]; given {
		fields = append(fields, field{"days", blockkit.Value{Text: decimal(days)}})
	}
	return a.openAndFill(ctx, b, fields...)
}

func settleRoles(ctx context.Context, a *actor, b button) error {
	settled := a.cast.script.Roles.Settled
	if len(settled) == 0 {
		return a.pressInDM(ctx, "do/roles.confirm")
	}
	var fields []field
	for _, other := range a.cast.actors {
		if ring, given := settled[other.Key]; given {
			fields = append(fields, field{"ring/" + other.id, blockkit.Value{Option: ring}})
		}
	}
	return a.openAndFill(ctx, b, fields...)
}
