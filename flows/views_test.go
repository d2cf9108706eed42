package flows_test

import (
	"os"
	"testing"

	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/views"
)

func TestMain(m *testing.M) {
	flows.ViewsToShow["gaps"] = func(k state.Kickoff) any { return views.RoleGaps(k) }
	flows.ViewsToShow["missing"] = func(k state.Kickoff) any { return views.Missing(k) }
	flows.ViewsToShow["calibration"] = func(k state.Kickoff) any { return views.Calibration(k) }
	os.Exit(m.Run())
}
