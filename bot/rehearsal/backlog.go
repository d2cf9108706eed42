package rehearsal

import (
	"context"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

var backlogScenes = []scene{
	{action: "open/backlog.kinds", what: "vote on kinds of risk", do: voteKinds},
	{action: "open/backlog.test", after: 10 * time.Minute, what: "plan tests", do: addTests},
	{action: "do/backlog.done", after: 25 * time.Minute, what: "say that this is all", do: backlogDone},
}

// kindVotes are the kinds of risk that an actor votes for, by their field.
func (a *actor) kindVotes() map[string]string {
	votes := map[string]string{}
	for id, by := range a.cast.script.Backlog.Kinds {
		if kind, voted := by[a.Key]; voted {
			votes["kind/"+id] = kind
		}
	}
	return votes
}

// voteKinds goes through the pages of the form on kinds of risk.
func voteKinds(ctx context.Context, a *actor, b button) error {
	votes := a.kindVotes()
	if len(votes) == 0 {
		return nil
	}
	if err := a.press(ctx, b); err != nil {
		return err
	}
	return a.onEachPage(ctx, "backlog.kinds", func(v fakeslack.View) error {
		for _, e := range blockkit.Elements(v.Blocks) {
			if kind, voted := votes[e.BlockID]; voted {
				if err := a.enter(e.BlockID, blockkit.Value{Option: kind}); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

// addTests adds the tests that an actor has in the script.
func addTests(ctx context.Context, a *actor, b button) error {
	for i, t := range a.cast.script.Backlog.Tests {
		if t.By != a.Key {
			continue
		}
		err := a.once(entryName("test", i), func() error { return a.openAndFill(ctx, b, a.cast.testFields(t)...) })
		if err != nil {
			return err
		}
	}
	return nil
}

func (c *cast) testFields(t scenario.Test) []field {
	fields := []field{{"assumption", blockkit.Value{Option: t.Assumption}}, {"method", blockkit.Value{Text: t.Method}}, {"learn", blockkit.Value{Text: t.Learn}},
		{"effort", blockkit.Value{Text: decimal(t.EffortDays)}}, {"lead", blockkit.Value{Text: decimal(t.LeadDays)}}}
	if t.Pass != nil {
		fields = append(fields, field{"pass", blockkit.Value{Text: percent(t.Pass.Share)}})
	}
	if t.Size > 0 {
		fields = append(fields, field{"size", blockkit.Value{Text: strconv.Itoa(t.Size)}})
	}
	if owner := c.person(t.Owner); owner != nil {
		fields = append(fields, field{"owner", blockkit.Value{ID: owner.id}})
	}
	return fields
}

// percent writes a share as a percentage: 0.6 is 60, 0.125 is 12.5.
func percent(share float64) string {
	text := strconv.FormatFloat(share*100, 'f', 6, 64)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}

// backlogDone is for those who gave anything; a stage without votes from
// somebody means that they did not answer.
func backlogDone(ctx context.Context, a *actor, b button) error {
	gave := len(a.kindVotes()) > 0
	for _, t := range a.cast.script.Backlog.Tests {
		gave = gave || t.By == a.Key
	}
	if !gave {
		return nil
	}
	return a.press(ctx, b)
}
