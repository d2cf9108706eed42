package flows_test

import (
	"os"
	"testing"

	"soundings/flows"
	"soundings/flows/views"
)

func TestMain(m *testing.M) {
	flows.ViewsToShow["gaps"] = func(k flows.Kickoff) any { return views.RoleGaps(k) }
	flows.ViewsToShow["missing"] = func(k flows.Kickoff) any { return views.Missing(k) }
	flows.ViewsToShow["calibration"] = func(k flows.Kickoff) any { return views.Calibration(k) }
	os.Exit(m.Run())
}
