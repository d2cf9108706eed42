package rehearsal

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// entering is the scene of a form into which an actor enters, one after the
// other, the entries of a list that are theirs. fill says whether an entry is,
// and what its fields hold. Each is entered once, however often the actor
// comes back; some forms stay open for the next.
func entering[T any](list func(s *scenario.Scenario) []T, fill func(a *actor, entry T) (bool, []field)) act {
	return enteringAt(func(c *cast, _ button) []T { return list(c.script) }, fill)
}

// enteringAt does so where the list hangs on the message in which the button stands.
func enteringAt[T any](list func(c *cast, b button) []T, fill func(a *actor, entry T) (bool, []field)) act {
	return func(ctx context.Context, a *actor, b button) error {
		for i, entry := range list(a.cast, b) {
			name := fmt.Sprintf("%s/%d", b.ActionID, i)
			if strings.HasPrefix(b.slot, "checkin/") {
				name += "/" + b.slot
			}
			own, fields := fill(a, entry)
			if !own || a.added[name] {
				continue
			}
			a.added[name] = true
			if view, open := a.view(); !open || "open/"+view.CallbackID != b.ActionID {
				if err := a.pressOnward(ctx, b); err != nil {
					return err
				}
			}
			if err := a.fill(ctx, fields...); err != nil {
				return err
			}
		}
		return nil
	}
}

var (
	askQuestions = entering(func(s *scenario.Scenario) []scenario.Question { return s.Brief.Questions },
		func(a *actor, q scenario.Question) (bool, []field) {
			return q.By == a.Key, []field{typed("ask", q.Ask)}
		})

	addWordings = entering(func(s *scenario.Scenario) []scenario.Wording { return s.Framing.Wordings },
		func(a *actor, w scenario.Wording) (bool, []field) {
			return w.By == a.Key, []field{chosen("level", strconv.Itoa(w.Level)), typed("text", w.Text)}
		})

	namePeople = entering(func(s *scenario.Scenario) []scenario.Named { return s.Roles.Named }, nameOne)

	addAssumptions = enteringAt(
		func(c *cast, b button) []scenario.Assumption {
			return hereOr(c, b, c.script.Assumptions, func(c scenario.Checkin) []scenario.Assumption { return c.Assumptions })
		},
		func(a *actor, x scenario.Assumption) (bool, []field) {
			return x.By == a.Key, []field{typed("text", x.Text), typed("because", x.Because), typed("id", x.ID)}
		})

	addTests = enteringAt(
		func(c *cast, b button) []scenario.Test {
			return hereOr(c, b, c.script.Backlog.Tests, func(c scenario.Checkin) []scenario.Test { return c.Tests })
		}, planTest)

	addActions = entering(func(s *scenario.Scenario) []scenario.Action { return s.Actions }, noteAction)
)

// hereOr is what is added where the button stands: in its stage, at a check-in,
// or nothing in the summary.
func hereOr[T any](c *cast, b button, stage []T, checkin func(scenario.Checkin) []T) []T {
	if strings.HasPrefix(b.slot, "stage/") {
		return stage
	}
	at, _ := c.checkinOf(b)
	return checkin(at)
}

// nameOne names somebody who is missing, by @ where they take part.
func nameOne(a *actor, n scenario.Named) (bool, []field) {
	who := typed("name", n.Name)
	there := func(other *actor) bool { return other.Key == n.Name || other.Name == n.Name }
	if i := slices.IndexFunc(a.cast.actors, there); i >= 0 {
		who = field{"user", blockkit.Value{ID: a.cast.actors[i].id}}
	}
	return n.By == a.Key, []field{who, chosen("ring", n.Ring)}
}

func planTest(a *actor, t scenario.Test) (bool, []field) {
	fields := []field{chosen("assumption", a.cast.number(t.Assumption)), typed("method", t.Method), typed("learn", t.Learn),
		typed("effort", decimal(t.EffortDays)), typed("lead", decimal(t.LeadDays))}
	fields = append(fields, countsAs(t)...)
	if t.Size > 0 {
		fields = append(fields, typed("size", strconv.Itoa(t.Size)))
	}
	if t.Care {
		fields = append(fields, field{"care", blockkit.Value{Options: []string{"care"}}})
	}
	if owner := a.cast.person(t.Owner); owner != nil {
		fields = append(fields, field{"owner", blockkit.Value{ID: owner.id}})
	}
	return t.By == a.Key, fields
}

// countsAs says what counts as support.
func countsAs(t scenario.Test) []field {
	pass, kind := t.Pass, "share"
	if t.Census {
		kind = "census"
	}
	switch {
	case pass == nil && t.Census:
		return []field{chosen("mark", kind)}
	case pass == nil:
		return nil
	case pass.Yes:
		return []field{chosen("mark", "yes")}
	case pass.Unit != "" && pass.AtMost:
		return []field{chosen("mark", "most"), typed("pass", decimal(pass.At)+" "+pass.Unit)}
	case pass.Unit != "":
		return []field{chosen("mark", "least"), typed("pass", decimal(pass.At)+" "+pass.Unit)}
	}
	return []field{chosen("mark", kind), typed("pass", percent(pass.Share)+"%")}
}

func noteAction(a *actor, action scenario.Action) (bool, []field) {
	due := a.cast.clock.Now().In(a.hours.Zone).AddDate(0, 0, action.DueDays).Format(time.DateOnly)
	return true, []field{typed("what", action.What),
		{"owner", blockkit.Value{ID: a.cast.person(action.Owner).id}}, {"due", blockkit.Value{Date: due}}}
}

// decimal writes a number of days as people type it.
func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// percent writes a share as a percentage: 0.6 is 60, 0.125 is 12.5.
func percent(share float64) string {
	text := strconv.FormatFloat(share*100, 'f', 6, 64)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}
