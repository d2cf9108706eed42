package fakeslack

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"
	"github.com/slack-go/slack/socketmode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

// A socketBot is a small app on a real Socket Mode client.
type socketBot struct {
	client *socketmode.Client

	mu   sync.Mutex
	said []string // of the mentions that it heard
	bad  int      // payloads that the client could not read
}

// runSocketBot runs the app until the test ends.
func runSocketBot(l *fixture) *socketBot {
	l.t.Helper()
	l.team.sockets.ackWithin = soon
	api := slack.New("xoxb-test", slack.OptionAPIURL(l.url+"/api/"), slack.OptionAppLevelToken("xapp-test"))
	b := &socketBot{client: socketmode.New(api)}
	ctx, stop := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() { _ = b.client.RunContext(ctx) }) // ends with stop
	work.Go(func() {
		for {
			select {
			case <-ctx.Done():
				return
			case e := <-b.client.Events:
				b.handle(l.t, e)
			}
		}
	})
	l.t.Cleanup(func() {
		stop()
		work.Wait()
	})
	require.NoError(l.t, l.team.AwaitSockets(l.t.Context(), 1))
	return b
}

func (b *socketBot) handle(t *testing.T, e socketmode.Event) {
	var answer []any
	switch data := e.Data.(type) {
	case slackevents.EventsAPIEvent:
		if m, ok := data.InnerEvent.Data.(*slackevents.AppMentionEvent); ok {
			b.mu.Lock()
			b.said = append(b.said, m.Text)
			b.mu.Unlock()
		}
	case slack.SlashCommand:
		answer = append(answer, map[string]string{"text": "you typed " + data.Text})
	case slack.InteractionCallback:
		if data.Type == slack.InteractionTypeViewSubmission {
			answer = append(answer, slack.NewErrorsViewSubmissionResponse(map[string]string{"b": "not " + data.View.State.Values["b"]["a"].Value}))
		}
	case *socketmode.ErrorBadMessage:
		b.mu.Lock()
		b.bad++
		b.mu.Unlock()
		t.Errorf("the client cannot read a payload: %v", data.Cause)
	}
	if e.Request == nil || e.Request.EnvelopeID == "" {
		return
	}
	assert.NoError(t, b.client.Ack(*e.Request, answer...), "acknowledge")
}

func (b *socketBot) heard() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string(nil), b.said...)
}

// TestWithTheGoClient lets slack-go's own Socket Mode client take everything
// that a person can do, through a drop and each reason to reconnect.
func TestWithTheGoClient(t *testing.T) {
	l := newFixture(t)
	l.team.SetBotURL("")
	view := typedView(t, `{"type":"modal","title":{"type":"plain_text","text":"One"},"submit":{"type":"plain_text","text":"Go"},
		"blocks":[{"type":"input","block_id":"b","label":{"type":"plain_text","text":"L"},"element":{"type":"plain_text_input","action_id":"a"}}]}`)
	b := runSocketBot(l)
	ends := []func(){
		func() {},
		l.team.DropSockets,
		func() { l.team.Disconnect(DisconnectWarning) },
		func() { l.team.Disconnect(DisconnectRefresh) },
	}
	for i, end := range ends {
		before := l.team.sockets.all()
		end()
		if i > 0 {
			awaitOther(t, l, before[0])
		}
		assert.NoError(t, l.mention("hello"), "round %d: mention", i)
		got := len(b.heard())
		assert.Equal(t, i+1, got, "round %d: the app heard %d mentions", i, got)
		assert.NoError(t, l.team.Client.Command(t.Context(), l.ben, l.channel, "/ferry", "north"), "round %d: command", i)
		assert.Equal(t, slices.Repeat([]string{"you typed north"}, i+1), l.ephemeralTexts(l.ben), "round %d: the command was answered", i)
		opened, err := l.api.OpenView(l.triggerFor(l.ana), view)
		require.NoError(t, err, "round %d: open: %v", i, opened)
		require.NoError(t, l.team.Client.Type(l.ana, opened.ID, "b", "a", blockkit.Value{Text: "well"}))
		faults, err := l.team.Client.Submit(t.Context(), l.ana, opened.ID)
		assert.False(t, err != nil || faults["b"] != "not well", "round %d: submit: got %v, %v", i, faults, err)
	}
}

// awaitOther waits until the app has left one socket for another.
func awaitOther(t *testing.T, l *fixture, old *socket) {
	t.Helper()
	<-old.gone
	require.Eventually(t, func() bool { // it counts as open for a moment after its end
		open := l.team.sockets.all()
		return len(open) > 0 && !slices.Contains(open, old)
	}, time.Minute, time.Millisecond)
}

// triggerFor asks the door for tools for a trigger.
func (l *fixture) triggerFor(user string) string {
	l.t.Helper()
	status, out := l.tool("POST", "/room/trigger?user="+user, "", "")
	id, _ := out["trigger_id"].(string)
	require.Equal(l.t, 200, status, "trigger: got %d, %v", status, out)
	require.NotEqual(l.t, "", id, "trigger: got %d, %v", status, out)
	return id
}

// The types of the two fields that clients decode strictly.
func TestCommandEnvelopeHasTheTypesOfTheClient(t *testing.T) {
	l := newFixture(t)
	w := l.plug()
	var f frame
	require.NoError(t, during(func() error { return l.team.Client.Command(t.Context(), l.ana, l.channel, "/ferry", "") }, func() { f = w.ack("") }))
	data, err := json.Marshal(f["payload"])
	require.NoError(t, err)
	var command slack.SlashCommand
	assert.NoError(t, json.Unmarshal(data, &command), "got %+v", command)
	assert.Equal(t, l.ana, command.UserID, "got %+v", command)
	assert.True(t, strings.HasPrefix(command.ResponseURL, l.url), "got %+v", command)
}
