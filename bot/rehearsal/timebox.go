package rehearsal

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"soundings/bot/fakeslack/blockkit"
)

var timeboxScenes = []scene{
	{action: "do/timebox.vote", what: "vote on the weeks", do: voteWeeks},
	{action: "open/timebox.settle", settles: true, what: "set the time box", do: setTimebox},
}

func voteWeeks(ctx context.Context, a *actor, b button) error {
	if a.cast.script.Timebox == nil {
		return nil
	}
	weeks, votes := a.cast.script.Timebox.Votes[a.Key]
	if !votes {
		return nil
	}
	for _, o := range b.Options {
		if number, _, _ := strings.Cut(o.Text, " "); number == strconv.Itoa(weeks) {
			return a.choose(ctx, b, blockkit.Value{Option: o.Value})
		}
	}
	return fmt.Errorf("%s cannot choose %d weeks", a.Name, weeks)
}

// setTimebox sets what the script says; where it says nothing, the form's
// own proposal is taken.
func setTimebox(ctx context.Context, a *actor, b button) error {
	if err := a.press(ctx, b); err != nil {
		return err
	}
	t := a.cast.script.Timebox
	if t == nil {
		return a.submit(ctx)
	}
	fields := []field{{"checkin", blockkit.Value{Option: strconv.Itoa(int(t.Checkin))}}, {"stop_if", blockkit.Value{Text: t.StopIf}}, {"build_if", blockkit.Value{Text: t.BuildIf}}}
	if t.Set > 0 {
		fields = append(fields, field{"weeks", blockkit.Value{Option: strconv.Itoa(t.Set)}})
	}
	return a.fill(ctx, fields...)
}
