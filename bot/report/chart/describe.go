package chart

import (
	"fmt"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
)

// Describe says in words what the map shows, for those who cannot see it.
// It names no more than a screen reader's listener can keep in mind.
func Describe(r engine.Result) string {
	all := onMap(r)
	if len(all) == 0 {
		return "An empty map: nothing was rated on both scales."
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Map of %s. Evidence rises to the right, importance upwards. ", words.Count(len(all), "assumption", "assumptions"))
	for _, z := range []engine.Zone{engine.TestFirst, engine.RelyOn, engine.Watch, engine.Leave} {
		ids := words.InZone(r, z)
		if len(ids) == 0 {
			fmt.Fprintf(&b, "%s: none. ", words.SentenceCase(words.ZoneText(z)))
			continue
		}
		fmt.Fprintf(&b, "%s: %s. ", words.SentenceCase(words.ZoneText(z)), words.Listed(ids, 12))
	}
	b.WriteString("A double arrow marks views that are split, a question mark few ratings.")
	return b.String()
}
