package fakeslack

import (
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWhereSomebodyIs(t *testing.T) {
	l := newFixture(t)
	with := l.team.AddChannel(Channel{Name: "with-us", Private: true, Members: []string{l.ana, l.team.BotUser()}})
	l.team.AddChannel(Channel{Name: "without-us", Private: true, Members: []string{l.ana}})
	public := l.team.AddChannel(Channel{Name: "public", Members: []string{l.ana}})
	l.team.AddChannel(Channel{Name: "not-ana", Members: []string{l.ben}})
	old := l.team.AddChannel(Channel{Name: "old", Archived: true, Members: []string{l.ana}})
	both := []string{"public_channel", "private_channel"}
	for _, c := range []struct {
		rule string
		ask  slack.GetConversationsForUserParameters
		want []string
	}{
		{"private ones only where the bot is too", slack.GetConversationsForUserParameters{UserID: l.ana, Types: both, ExcludeArchived: true},
			[]string{l.channel, with, public}},
		{"public ones unless told otherwise", slack.GetConversationsForUserParameters{UserID: l.ana}, []string{l.channel, public, old}},
		{"the bot's own without a user", slack.GetConversationsForUserParameters{Types: both}, []string{l.channel, with}},
		{"in pages", slack.GetConversationsForUserParameters{UserID: l.ana, Limit: 2}, []string{l.channel, public}},
	} {
		found, _, err := l.api.GetConversationsForUser(&c.ask)
		require.NoError(t, err, c.rule)
		var got []string
		for _, channel := range found {
			got = append(got, channel.ID)
		}
		assert.Equal(t, c.want, got, c.rule)
	}
	_, _, err := l.api.GetConversationsForUser(&slack.GetConversationsForUserParameters{UserID: "U99999999"})
	wantCode(t, "somebody unknown", err, "user_not_found")
}
