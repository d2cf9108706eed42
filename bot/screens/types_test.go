package screens_test

import (
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/slacktypes"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows/state"
)

// TestScreensAreOfTheOfficialTypes compiles every message, form and home tab
// at every moment of both plays. Source: the npm package @slack/types.
func TestScreensAreOfTheOfficialTypes(t *testing.T) {
	tools := slacktypes.Tools(t)
	var pile slacktypes.Pile
	screens.EveryMessage(t, func(_ *testing.T, name string, p screen.Posting) { pile.Blocks(name, p.Blocks) })
	screens.EveryForm(t, func(_ *testing.T, name string, view slack.ModalViewRequest) { pile.View(name, view) })
	screens.EveryHome(t, func(_ *testing.T, name string, view slack.HomeTabViewRequest) { pile.View(name, view) })
	pile.Blocks("welcome", screens.Welcome("/soundings", "C1", "Ana").Blocks)
	pile.Blocks("mentioned", screens.Mentioned(screen.Page{Kickoff: state.Kickoff{}}, "/soundings").Blocks)
	pile.View("notice", screens.Notice("Title", "Text"))
	pile.View("drafting", screens.Drafting())
	require.GreaterOrEqual(t, pile.Len(), 200, "there are only %d different screens", pile.Len())
	for _, fault := range pile.Faults(t, tools) {
		t.Error(fault)
	}
	t.Logf("%d different screens", pile.Len())
}
