package screens

import (
	"fmt"
	"strings"

	"soundings/engine"
)

// DescribeMap says in words what the map shows, for those who cannot see it.
// It names no more than a screen reader's listener can keep in mind.
func DescribeMap(r engine.Result) string {
	all := onMap(r)
	if len(all) == 0 {
		return "An empty map: nothing was rated on both scales."
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Map of %s. Evidence rises to the right, importance upwards. ", count(len(all), "assumption", "assumptions"))
	for _, z := range []engine.Zone{engine.TestFirst, engine.RelyOn, engine.Watch, engine.Leave} {
		ids := idsIn(r, z)
		if len(ids) == 0 {
			fmt.Fprintf(&b, "%s: none. ", sentenceCase(zoneText(z)))
			continue
		}
		fmt.Fprintf(&b, "%s: %s. ", sentenceCase(zoneText(z)), listed(ids, 12))
	}
	b.WriteString("A double arrow marks views that are split, a question mark few ratings.")
	return b.String()
}
