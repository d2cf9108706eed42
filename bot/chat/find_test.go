package chat_test

import (
	"fmt"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/chat"
	"soundings/bot/fakeslack"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
)

// A message whose answer was lost is found again behind hundreds of others, in
// a channel and in a thread, and so is a file. The platform gives a channel's
// newest messages first, and a thread's oldest.
func TestFindBehindManyOthers(t *testing.T) {
	now := time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)
	clock := func() time.Time { return now }
	team := fakeslack.NewTeam(fakeslack.Config{Clock: clock})
	defer team.Close()
	server := httptest.NewServer(team.Handler())
	defer server.Close()
	team.SetURL(server.URL)
	ana := team.AddUser(fakeslack.User{Name: "ana"})
	channel := team.AddChannel(fakeslack.Channel{Name: "ferry", Members: []string{ana, team.BotUser()}})
	people := team.Client
	c := chat.New("xoxb-any", server.URL+"/api/", nil)
	said := func(thread string, n int) {
		for i := range n {
			now = now.Add(time.Minute)
			_, err := people.Say(t.Context(), ana, channel, fmt.Sprint("message ", i), thread)
			require.NoError(t, err)
		}
	}
	words := screen.Posting{Text: "What do we assume?", Blocks: []slack.Block{slack.NewSectionBlock(slack.NewTextBlockObject("mrkdwn", "What do we assume?", false, false), nil, nil)}}

	tag := chat.Tag{Kickoff: "k1", Slot: "stage/assumptions"}
	said("", 250)
	since := now
	posted, err := c.Post(t.Context(), channel, "", tag, words)
	require.NoError(t, err)
	said(posted.TS, 250)
	under := chat.Tag{Kickoff: "k1", Slot: "result/assumptions"}
	sinceUnder := now
	reply, err := c.Post(t.Context(), channel, posted.TS, under, words)
	require.NoError(t, err)
	id, err := c.Upload(t.Context(), report.File{Name: "map.png", Title: "Map", Data: []byte("a picture")})
	require.NoError(t, err)
	require.NoError(t, c.Share(t.Context(), posted, []chat.Uploaded{{ID: id, Title: "Map"}}))
	said(posted.TS, 250)
	said("", 450)

	for name, asked := range map[string]time.Time{"since the attempt": since, "since ever": {}} {
		at, found, err := c.Find(t.Context(), chat.Place{Channel: channel}, asked, tag, "")
		require.NoError(t, err, name)
		assert.True(t, found, "the message, %s", name)
		assert.Equal(t, posted, at, name)
	}
	for name, asked := range map[string]time.Time{"since the attempt": sinceUnder, "since ever": {}} {
		at, found, err := c.Find(t.Context(), chat.Place{Channel: channel, Thread: posted.TS}, asked, under, "")
		require.NoError(t, err, name)
		assert.True(t, found, "the reply, %s", name)
		assert.Equal(t, reply, at, name)
		shared, err := c.Shared(t.Context(), posted, asked, "map.png")
		require.NoError(t, err, name)
		assert.True(t, shared, "the file, %s", name)
	}
	_, found, err := c.Find(t.Context(), chat.Place{Channel: channel}, now, tag, "")
	require.NoError(t, err)
	assert.False(t, found, "a message sent long before the attempt is taken for it")
	_, found, err = c.Find(t.Context(), chat.Place{Channel: channel}, since, tag, posted.TS)
	require.NoError(t, err)
	assert.False(t, found, "the message that is gone is taken for the new one")
}
