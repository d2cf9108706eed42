package report

import (
	"soundings/bot/words"
	"soundings/flows"
)

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
	return say("%s. **%s**, until %s", clip(a.What, 200), name(k.Name(a.Owner)), dateText(string(a.Due), "Mon 2 Jan"))
}

func actionsGist(k flows.Kickoff) string {
	if n := len(k.StandingActions()); n > 0 {
		return words.Count(n, "action", "actions")
	}
	return "No action yet"
}
