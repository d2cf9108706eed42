package slacktest

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/wire"
)

// A listener stands in for the bot: it takes events and keeps them.
type listener struct {
	mu     sync.Mutex
	events []wire.Object
}

func (l *listener) ServeHTTP(_ http.ResponseWriter, r *http.Request) {
	var body struct{ Event wire.Object }
	_ = json.NewDecoder(r.Body).Decode(&body) // what is none fails the test
	l.mu.Lock()
	defer l.mu.Unlock()
	l.events = append(l.events, body.Event)
}

func (l *listener) all() []wire.Object {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.events
}

func (l *listener) last(t *testing.T) wire.Object {
	t.Helper()
	all := l.all()
	require.NotEmpty(t, all)
	return all[len(all)-1]
}

func TestComingAndGoing(t *testing.T) {
	bot := &listener{}
	server := httptest.NewServer(bot)
	t.Cleanup(server.Close)
	team := fakeslack.NewTeam(fakeslack.Config{BotURL: server.URL})
	ana, cleo := team.AddUser(fakeslack.User{RealName: "Ana"}), team.AddUser(fakeslack.User{RealName: "Cleo"})
	place := team.AddChannel(fakeslack.Channel{Name: "place", Private: true, Members: []string{ana}})

	require.NoError(t, Invite(t.Context(), team, ana, place, cleo))
	assert.Empty(t, bot.all(), "where the bot is not")
	require.NoError(t, Invite(t.Context(), team, ana, place, team.BotUser()))
	came := bot.last(t)
	assert.Equal(t, []any{"member_joined_channel", team.BotUser(), ana, "G"}, []any{came["type"], came["user"], came["inviter"], came["channel_type"]})
	require.NoError(t, Invite(t.Context(), team, ana, place, cleo))
	assert.Len(t, bot.all(), 1, "somebody who is there already")
	require.NoError(t, Leave(t.Context(), team, place, cleo))
	assert.Equal(t, "member_left_channel", bot.last(t)["type"])
	require.NoError(t, Archive(t.Context(), team, place, ana))
	assert.Equal(t, "group_archive", bot.last(t)["type"])
	require.NoError(t, Delete(t.Context(), team, place))
	assert.Equal(t, "group_deleted", bot.last(t)["type"])
	assert.Error(t, Leave(t.Context(), team, place, ana), "a channel that is gone")
}
