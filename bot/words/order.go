package words

import (
	"fmt"

	"soundings/engine"
)

// ZoneText names a zone within a sentence.
func ZoneText(z engine.Zone) string {
	switch z {
	case engine.TestFirst:
		return "test first"
	case engine.RelyOn:
		return "rely on"
	case engine.Watch:
		return "watch"
	case engine.Leave:
		return "leave"
	}
	return "not ranked"
}

// ZoneHeading says what a zone means, so that nobody has to know the word.
func ZoneHeading(z engine.Zone) string {
	switch z {
	case engine.TestFirst:
		return "Test first: important, and we know little"
	case engine.RelyOn:
		return "Rely on: important, and we know much"
	case engine.Watch:
		return "Watch: less important, and we know little"
	case engine.Leave:
		return "Leave: less important, and we know much"
	}
	return "Not ranked: too few could say"
}

// InZone lists the assumptions of a zone in test order.
func InZone(r engine.Result, z engine.Zone) []string {
	zone := map[string]engine.Zone{}
	for _, a := range r.Assumptions {
		zone[a.ID] = a.Zone
	}
	var ids []string
	for _, id := range r.Order {
		if zone[id] == z {
			ids = append(ids, id)
		}
	}
	return ids
}

// FirstText says what comes first, in a line fit for a lock screen.
func FirstText(r engine.Result) string {
	ids := InZone(r, engine.TestFirst)
	switch len(ids) {
	case 0:
		return "Nothing is both important and poorly known, so nothing has to be tested before the rest."
	case 1:
		return fmt.Sprintf("1 of %d assumptions comes first: %s.", len(r.Order), ids[0])
	}
	return fmt.Sprintf("%d of %d assumptions come first, in this order: %s.", len(ids), len(r.Order), Listed(ids, 8))
}
