package report

import (
	"time"

	"soundings/bot/words"
	"soundings/flows"
)

// actionsBlocks lists who does what next.
func actionsBlocks(k flows.Kickoff, f form) []Block {
	standing := k.StandingActions()
	switch {
	case f == inThread:
		return Actions(k, 25)
	case f == onCanvas && len(standing) == 0:
		return nil
	case f == onCanvas:
		return []Block{list(standing, 60, func(a flows.Action) Text {
			return say("%s **%s**, until %s", sentence(f.typed(a.What, 0, 300)), f.name(k.Name(a.Owner)), dayText(a.Due))
		})}
	case len(standing) == 0:
		return []Block{Para(say("No action was noted."))}
	}
	table := Table{{say("What"), say("Who"), say("Until")}}
	for _, a := range standing {
		table = append(table, []Text{f.typed(a.What, 0, 0), f.name(k.Name(a.Owner)), say("%s", dayText(a.Due))})
	}
	return []Block{table}
}

// Actions is the first of the actions as they stand in a thread.
func Actions(k flows.Kickoff, most int) []Block {
	standing := k.StandingActions()
	if len(standing) == 0 {
		return []Block{Para(italic(say("No action has been noted yet.")))}
	}
	return []Block{list(standing, most, func(a flows.Action) Text { return ActionText(k, a) })}
}

// ActionText is an action with its owner and day.
func ActionText(k flows.Kickoff, a flows.Action) Text {
	return say("%s. **%s**, until %s", inThread.typed(a.What, 200, 0), inThread.name(k.Name(a.Owner)), dateText(a.Due, "Mon 2 Jan"))
}

func dayText(d flows.LocalDay) string { return dateText(d, "Monday 2 January 2006") }

// dateText writes a date that somebody chose: it is nobody's moment, so no
// time zone can shift it.
func dateText(d flows.LocalDay, layout string) string {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return string(d)
	}
	return t.Format(layout)
}

func actionsGist(k flows.Kickoff) string {
	if n := len(k.StandingActions()); n > 0 {
		return words.Count(n, "action", "actions")
	}
	return "No action yet"
}
