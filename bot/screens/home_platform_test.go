package screens_test

import (
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"

	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/screens"
)

func TestThePlatformTakesEveryHome(t *testing.T) {
	p := newPlatform(t)
	screens.EveryHome(t, func(t *testing.T, name string, view slack.HomeTabViewRequest) {
		_, err := p.api.PublishView(p.person, view, "")
		assert.NoError(t, err, name)
		assert.Empty(t, slacktest.Pings("", decoded(t, view.Blocks.BlockSet)), "%s would notify", name)
	})
}
