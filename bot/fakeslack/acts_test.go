package fakeslack

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

func TestACommandAndItsAnswer(t *testing.T) {
	l := newFixture(t)
	for _, c := range []struct {
		rule, answer string
		private      []string // what ana alone sees
		open         []string // what all see
		good         bool
	}{
		{"nothing", "", nil, nil, true},
		{"plain words", "Try /soundings help", []string{"Try /soundings help"}, nil, true},
		{"JSON", `{"text":"hello"}`, []string{"hello"}, nil, true},
		{"to all", `{"response_type":"in_channel","text":"hello"}`, nil, nil, false},
		{"blocks that are not good", `{"blocks":[{"type":"header"}]}`, nil, nil, false},
	} {
		before, beforeAll := len(l.team.Client.Ephemerals(l.channel, l.ana)), len(l.team.Messages(l.channel))
		l.bot.answers(200, c.answer)
		err := l.team.Client.Command(t.Context(), l.ana, l.channel, "/soundings", "start")
		assert.Equal(t, c.good, (err == nil), "%s: got %v, want good", c.rule, err)
		got := textsOf(l.team.Client.Ephemerals(l.channel, l.ana)[before:])
		assert.Equal(t, strings.Join(c.private, "|"), strings.Join(got, "|"), "%s: ana sees %q, want %q", c.rule, got, c.private)
		got = textsOf(l.team.Messages(l.channel)[beforeAll:])
		assert.Equal(t, strings.Join(c.open, "|"), strings.Join(got, "|"), "%s: all see %q, want %q", c.rule, got, c.open)
	}
	cmd, err := slack.SlashCommandParse(l.bot.request())
	require.NoError(t, err)
	assert.Equal(t, "/soundings", cmd.Command, "command: got %+v", cmd)
	assert.Equal(t, "start", cmd.Text, "command: got %+v", cmd)
	assert.Equal(t, l.ana, cmd.UserID, "command: got %+v", cmd)
	assert.Equal(t, l.channel, cmd.ChannelID, "command: got %+v", cmd)
	assert.Equal(t, "ferry", cmd.ChannelName, "command: got %+v", cmd)
	assert.Equal(t, l.team.TeamID(), cmd.TeamID, "command: got %+v", cmd)
	assert.NotEqual(t, "", cmd.TriggerID, "command: got %+v", cmd)
	assert.NotEqual(t, "", cmd.ResponseURL, "command: got %+v", cmd)
	assert.Equal(t, l.team.AppID(), cmd.APIAppID, "command: got %+v", cmd)
	l.bot.answers(500, "")
	assert.ErrorIs(t, l.team.Client.Command(t.Context(), l.ana, l.channel, "/soundings", ""), ErrNoAck, "a bot that fails")
	stranger := l.team.AddUser(User{Stranger: true})
	assert.ErrorIs(t, l.team.Client.Command(t.Context(), stranger, l.channel, "/soundings", ""), ErrNotShown, "somebody of another team")
}

func textsOf(messages []Message) (out []string) {
	for _, m := range messages {
		out = append(out, m.Text)
	}
	return out
}

func TestShortcuts(t *testing.T) {
	l := newFixture(t)
	require.NoError(t, l.team.Client.Shortcut(t.Context(), l.ana, "start"))
	ic := l.bot.interaction()
	assert.Equal(t, slack.InteractionTypeShortcut, ic.Type, "shortcut: got %+v", ic)
	assert.Equal(t, "start", ic.CallbackID, "shortcut: got %+v", ic)
	assert.NotEqual(t, "", ic.TriggerID, "shortcut: got %+v", ic)
	assert.Equal(t, "", ic.ResponseURL, "shortcut: got %+v", ic)
	assert.Equal(t, l.ana, ic.User.ID, "shortcut: got %+v", ic)
	said, err := l.team.Client.Say(t.Context(), l.ben, l.channel, "Bikes & boats", "")
	require.NoError(t, err)
	require.NoError(t, l.team.Client.MessageShortcut(t.Context(), l.ana, l.channel, said, "assume"))
	ic = l.bot.interaction()
	assert.Equal(t, slack.InteractionTypeMessageAction, ic.Type, "message shortcut: got %+v", ic)
	assert.Equal(t, "assume", ic.CallbackID, "message shortcut: got %+v", ic)
	assert.Equal(t, said, ic.MessageTs, "message shortcut: got %+v", ic)
	assert.Equal(t, "Bikes &amp; boats", ic.Message.Text, "message shortcut: got %+v", ic)
	assert.Equal(t, l.ben, ic.Message.User, "message shortcut: got %+v", ic)
	assert.Equal(t, l.channel, ic.Channel.ID, "message shortcut: got %+v", ic)
	assert.NotEqual(t, "", ic.ResponseURL, "message shortcut: got %+v", ic)
	assert.ErrorIs(t, l.team.Client.MessageShortcut(t.Context(), l.ana, l.channel, "1.000000", "assume"), ErrNotShown, "on a message that is not there")
}

func TestAMentionIsDeliveredAndOtherWordsAreNot(t *testing.T) {
	l := newFixture(t)
	mention := "<@" + l.team.BotUser() + ">"
	silent := func(rule, user, channel, text string) {
		t.Helper()
		before := len(l.bot.all())
		_, err := l.team.Client.Say(t.Context(), user, channel, text, "")
		require.NoError(t, err, rule)
		assert.Len(t, l.bot.all(), before, "%s: the bot was told", rule)
	}
	silent("no mention", l.ana, l.channel, "soundings, help")
	silent("a mention of another", l.ana, l.channel, "<@"+l.ben+">")
	silent("in a private conversation", l.ana, l.team.DM(l.ana), mention)
	elsewhere := l.team.AddChannel(Channel{Name: "elsewhere", Members: []string{l.ana}})
	silent("where the bot is not", l.ana, elsewhere, mention)

	parent := l.post(slack.MsgOptionText("parent", false))
	ts, err := l.team.Client.Say(t.Context(), l.ana, l.channel, mention+" what about <!channel> & co?", parent)
	require.NoError(t, err)
	outer := l.bot.event()
	assert.False(t, outer["type"] != "event_callback" || outer["team_id"] != l.team.TeamID() || !strings.HasPrefix(outer["event_id"].(string), "Ev") ||
		outer["event_time"] != float64(l.clock.Now().Unix()), "outer event: got %v", outer)
	a := outer["authorizations"].([]any)[0].(map[string]any)
	assert.False(t, a["user_id"] != l.team.BotUser() || a["is_bot"] != true, "authorizations: got %v", a)
	e, err := slackevents.ParseEvent(l.bot.last().body, slackevents.OptionNoVerifyToken())
	require.NoError(t, err)
	inner, ok := e.InnerEvent.Data.(*slackevents.AppMentionEvent)
	assert.True(t, ok, "mention: got %+v", e.InnerEvent)
	assert.Equal(t, l.ana, inner.User, "mention: got %+v", e.InnerEvent)
	assert.Equal(t, l.channel, inner.Channel, "mention: got %+v", e.InnerEvent)
	assert.Equal(t, ts, inner.TimeStamp, "mention: got %+v", e.InnerEvent)
	assert.Equal(t, parent, inner.ThreadTimeStamp, "mention: got %+v", e.InnerEvent)
	assert.Equal(t, mention+" what about &lt;!channel&gt; &amp; co?", inner.Text, "text")
}

func TestWhereAPersonMayTalk(t *testing.T) {
	l := newFixture(t)
	elsewhere := l.team.AddChannel(Channel{Name: "elsewhere"})
	for rule, where := range map[string]string{"a channel they are not in": elsewhere, "one that is archived": l.team.AddChannel(Channel{Archived: true, Members: []string{l.ana}})} {
		_, err := l.team.Client.Say(t.Context(), l.ana, where, "x", "")
		assert.ErrorIs(t, err, ErrNotShown, rule)
	}
	_, err := l.team.Client.Say(t.Context(), l.ana, l.channel, "x", "1.000000")
	assert.ErrorIs(t, err, ErrNotShown, "a thread that is not there")
}

func TestOpeningTheHomeTab(t *testing.T) {
	l := newFixture(t)
	require.NoError(t, l.team.Client.OpenHome(t.Context(), l.ana))
	inner := l.bot.event()["event"].(map[string]any)
	assert.False(t, inner["type"] != "app_home_opened" || inner["user"] != l.ana || inner["tab"] != "home" || inner["channel"] != l.team.DM(l.ana), "event: got %v", inner)
	_, ok := inner["view"]
	assert.False(t, ok, "a view is sent before one was published")
	home := slack.HomeTabViewRequest{Type: "home", Blocks: slack.Blocks{BlockSet: []slack.Block{slack.NewDividerBlock()}}}
	_, err := l.api.PublishView(l.ana, home, "")
	require.NoError(t, err)
	require.NoError(t, l.team.Client.OpenHome(t.Context(), l.ana))
	assert.NotNil(t, l.bot.event()["event"].(map[string]any)["view"], "the published view is not sent")
}

// Source: the Events API page: at once, after a minute, after five minutes;
// the same event_id each time.
func TestEventsAreTriedAgain(t *testing.T) {
	l := newFixture(t)
	l.bot.answers(500, "")
	require.ErrorIs(t, l.team.Client.OpenHome(t.Context(), l.ana), ErrNoAck, "a bot that fails")
	first := l.bot.event()["event_id"]
	wantTry := func(n int, wait time.Duration) {
		t.Helper()
		d := l.bot.last()
		assert.False(t, d.header.Get("X-Slack-Retry-Num") != fmt.Sprint(n) || d.header.Get("X-Slack-Retry-Reason") != "http_error" || l.bot.event()["event_id"] != first, "retry %d: got %v of %v", n, d.header, l.bot.event()["event_id"])
		assert.Len(t, l.bot.all(), n+1, "retry %d: %d deliveries so far", n, len(l.bot.all()))
		due, waiting := l.team.Outbox.NextRedelivery()
		want := l.clock.Now().Add(wait)
		assert.True(t, waiting, "after retry %d: due at %v, %v, want %v", n, due, waiting, want)
		assert.True(t, due.Equal(want), "after retry %d: due at %v, %v, want %v", n, due, waiting, want)
	}
	wantTry(1, time.Minute)
	assert.NoError(t, l.team.Outbox.Redeliver(t.Context()), "nothing is due yet")
	l.clock.add(time.Minute)
	assert.ErrorIs(t, l.team.Outbox.Redeliver(t.Context()), ErrNoAck, "a bot that still fails")
	wantTry(2, 5*time.Minute)
}

func TestABotCanAskForNoFurtherTry(t *testing.T) {
	l := newFixture(t)
	stubborn := serveTest(t, http.HandlerFunc(func(rw http.ResponseWriter, _ *http.Request) {
		rw.Header().Set("X-Slack-No-Retry", "1")
		rw.WriteHeader(http.StatusTeapot)
	}))
	l.team.SetBotURL(stubborn)
	assert.ErrorIs(t, l.team.Client.OpenHome(t.Context(), l.ana), ErrNoAck)
	_, waiting := l.team.Outbox.NextRedelivery()
	assert.False(t, waiting, "the event waits for another try")
}

func TestTheHandshakeOfTheEventsAddress(t *testing.T) {
	l := newFixture(t)
	assert.Error(t, l.team.VerifyURL(t.Context()), "a bot that does not give the challenge back passed")
	const challenge = "3eZbrw1aBm2rZgRNFdxV2595E9CY3gmdALWMmHkvFXO7tYXAYM8P"
	for _, answer := range []string{challenge, `{"challenge":"` + challenge + `"}`} {
		l.bot.answers(200, answer)
		assert.NoError(t, l.team.VerifyURL(t.Context()), answer)
	}
}

// A transport that never answers, so that only the deadline ends the call.
type silence struct{}

func (silence) RoundTrip(r *http.Request) (*http.Response, error) {
	<-r.Context().Done()
	return nil, r.Context().Err()
}

func TestThePlatformWaitsThreeSeconds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := NewTeam(Config{SigningSecret: "s", BotURL: "http://bot.example", HTTPClient: &http.Client{Transport: silence{}}})
		ana := w.AddUser(User{})
		start := time.Now()
		err := w.Client.Shortcut(context.Background(), ana, "start")
		assert.ErrorIs(t, err, ErrNoAck)
		assert.Contains(t, err.Error(), "http_timeout")
		assert.Equal(t, time.Duration(3*time.Second), time.Since(start), "waited")
	})
}

func TestManyHandsAtOnce(t *testing.T) {
	l := newFixture(t)
	ts := l.postBlocks(everyElement)
	var hands sync.WaitGroup
	for range 4 {
		hands.Go(func() {
			for range 10 {
				assert.NoError(t, l.team.Client.Press(context.Background(), l.ana, Where{Channel: l.channel, TS: ts}, "level", "a", blockkit.Value{Option: "1"}))
				_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionText("x", false))
				assert.NoError(t, err)
				for _, m := range l.team.Client.Seen(l.channel, l.ana) {
					_ = blockkit.Elements(m.Blocks)
				}
			}
		})
	}
	hands.Wait()
	seen := map[string]bool{}
	for _, m := range l.team.Messages(l.channel) {
		assert.False(t, seen[m.TS], "ts %s was given out twice", m.TS)
		seen[m.TS] = true
	}
	assert.Len(t, seen, 41, "messages")
}
