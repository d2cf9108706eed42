package screens_test

import (
	"testing"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/screens"
)

func TestThePlatformTakesEveryHome(t *testing.T) {
	p := newPlatform(t)
	screens.EveryHome(t, func(t *testing.T, name string, view slack.HomeTabViewRequest) {
		if _, err := p.api.PublishView(p.person, view, ""); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if pings := slacktest.Pings("", decoded(t, view.Blocks.BlockSet)); len(pings) > 0 {
			t.Errorf("%s would notify %q", name, pings)
		}
	})
}
