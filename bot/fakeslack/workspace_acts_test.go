package fakeslack

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"

	"soundings/bot/fakeslack/blockkit"
)

func TestACommandAndItsAnswer(t *testing.T) {
	l := newLab(t)
	for _, c := range []struct {
		rule, answer string
		private      []string // what ana alone sees
		open         []string // what all see
		good         bool
	}{
		{"nothing", "", nil, nil, true},
		{"plain words", "Try /soundings help", []string{"Try /soundings help"}, nil, true},
		{"JSON", `{"text":"hello"}`, []string{"hello"}, nil, true},
		{"to all, with the command", `{"response_type":"in_channel","text":"hello"}`, nil, []string{"/soundings start", "hello"}, true},
		{"blocks that are not good", `{"blocks":[{"type":"header"}]}`, nil, nil, false},
	} {
		before, beforeAll := len(l.ws.Ephemerals(l.channel, l.ana)), len(l.ws.Messages(l.channel))
		l.bot.answers(200, c.answer)
		err := l.ws.Command(t.Context(), l.ana, l.channel, "/soundings", "start")
		if (err == nil) != c.good {
			t.Errorf("%s: got %v, want good %v", c.rule, err, c.good)
		}
		if got := textsOf(l.ws.Ephemerals(l.channel, l.ana)[before:]); strings.Join(got, "|") != strings.Join(c.private, "|") {
			t.Errorf("%s: ana sees %q, want %q", c.rule, got, c.private)
		}
		if got := textsOf(l.ws.Messages(l.channel)[beforeAll:]); strings.Join(got, "|") != strings.Join(c.open, "|") {
			t.Errorf("%s: all see %q, want %q", c.rule, got, c.open)
		}
	}
	cmd, err := slack.SlashCommandParse(l.bot.request())
	if err != nil {
		t.Fatal(err)
	}
	if cmd.Command != "/soundings" || cmd.Text != "start" || cmd.UserID != l.ana || cmd.ChannelID != l.channel ||
		cmd.ChannelName != "ferry" || cmd.TeamID != l.ws.TeamID() || cmd.TriggerID == "" || cmd.ResponseURL == "" || cmd.APIAppID != l.ws.AppID() {
		t.Errorf("command: got %+v", cmd)
	}
	l.bot.answers(500, "")
	if err := l.ws.Command(t.Context(), l.ana, l.channel, "/soundings", ""); !errors.Is(err, ErrNoAck) {
		t.Errorf("a bot that fails: got %v, want ErrNoAck", err)
	}
	stranger := l.ws.AddUser(User{Stranger: true})
	if err := l.ws.Command(t.Context(), stranger, l.channel, "/soundings", ""); !errors.Is(err, ErrNotShown) {
		t.Errorf("somebody of another workspace: got %v, want ErrNotShown", err)
	}
}

func textsOf(messages []Message) (out []string) {
	for _, m := range messages {
		out = append(out, m.Text)
	}
	return out
}

func TestShortcuts(t *testing.T) {
	l := newLab(t)
	if err := l.ws.Shortcut(t.Context(), l.ana, "start"); err != nil {
		t.Fatal(err)
	}
	ic := l.bot.interaction()
	if ic.Type != slack.InteractionTypeShortcut || ic.CallbackID != "start" || ic.TriggerID == "" || ic.ResponseURL != "" || ic.User.ID != l.ana {
		t.Errorf("shortcut: got %+v", ic)
	}
	said, err := l.ws.Say(t.Context(), l.ben, l.channel, "Bikes & boats", "")
	if err != nil {
		t.Fatal(err)
	}
	if err := l.ws.MessageShortcut(t.Context(), l.ana, l.channel, said, "assume"); err != nil {
		t.Fatal(err)
	}
	ic = l.bot.interaction()
	if ic.Type != slack.InteractionTypeMessageAction || ic.CallbackID != "assume" || ic.MessageTs != said ||
		ic.Message.Text != "Bikes &amp; boats" || ic.Message.User != l.ben || ic.Channel.ID != l.channel || ic.ResponseURL == "" {
		t.Errorf("message shortcut: got %+v", ic)
	}
	if err := l.ws.MessageShortcut(t.Context(), l.ana, l.channel, "1.000000", "assume"); !errors.Is(err, ErrNotShown) {
		t.Errorf("on a message that is not there: got %v, want ErrNotShown", err)
	}
}

func TestAMentionIsDeliveredAndOtherWordsAreNot(t *testing.T) {
	l := newLab(t)
	mention := "<@" + l.ws.BotUser() + ">"
	silent := func(rule, user, channel, text string) {
		t.Helper()
		before := len(l.bot.all())
		if _, err := l.ws.Say(t.Context(), user, channel, text, ""); err != nil {
			t.Fatalf("%s: %v", rule, err)
		}
		if len(l.bot.all()) != before {
			t.Errorf("%s: the bot was told", rule)
		}
	}
	silent("no mention", l.ana, l.channel, "soundings, help")
	silent("a mention of another", l.ana, l.channel, "<@"+l.ben+">")
	silent("in a private conversation", l.ana, l.ws.DM(l.ana), mention)
	elsewhere := l.ws.AddChannel(Channel{Name: "elsewhere", Members: []string{l.ana}})
	silent("where the bot is not", l.ana, elsewhere, mention)

	parent := l.post(slack.MsgOptionText("parent", false))
	ts, err := l.ws.Say(t.Context(), l.ana, l.channel, mention+" what about <!channel> & co?", parent)
	if err != nil {
		t.Fatal(err)
	}
	outer := l.bot.event()
	if outer["type"] != "event_callback" || outer["team_id"] != l.ws.TeamID() || !strings.HasPrefix(outer["event_id"].(string), "Ev") ||
		outer["event_time"] != float64(l.clock.Now().Unix()) {
		t.Errorf("outer event: got %v", outer)
	}
	if a := outer["authorizations"].([]any)[0].(map[string]any); a["user_id"] != l.ws.BotUser() || a["is_bot"] != true {
		t.Errorf("authorizations: got %v", a)
	}
	e, err := slackevents.ParseEvent(l.bot.last().body, slackevents.OptionNoVerifyToken())
	if err != nil {
		t.Fatal(err)
	}
	inner, ok := e.InnerEvent.Data.(*slackevents.AppMentionEvent)
	if !ok || inner.User != l.ana || inner.Channel != l.channel || inner.TimeStamp != ts || inner.ThreadTimeStamp != parent {
		t.Errorf("mention: got %+v", e.InnerEvent)
	}
	if want := mention + " what about &lt;!channel&gt; &amp; co?"; inner.Text != want {
		t.Errorf("text: got %q, want %q", inner.Text, want)
	}
}

func TestWhereAPersonMayTalk(t *testing.T) {
	l := newLab(t)
	elsewhere := l.ws.AddChannel(Channel{Name: "elsewhere"})
	for rule, where := range map[string]string{"a channel they are not in": elsewhere, "one that is archived": l.ws.AddChannel(Channel{Archived: true, Members: []string{l.ana}})} {
		if _, err := l.ws.Say(t.Context(), l.ana, where, "x", ""); !errors.Is(err, ErrNotShown) {
			t.Errorf("%s: got %v, want ErrNotShown", rule, err)
		}
	}
	if _, err := l.ws.Say(t.Context(), l.ana, l.channel, "x", "1.000000"); !errors.Is(err, ErrNotShown) {
		t.Errorf("a thread that is not there: got %v, want ErrNotShown", err)
	}
}

func TestOpeningTheHomeTab(t *testing.T) {
	l := newLab(t)
	if err := l.ws.OpenHome(t.Context(), l.ana); err != nil {
		t.Fatal(err)
	}
	inner := l.bot.event()["event"].(map[string]any)
	if inner["type"] != "app_home_opened" || inner["user"] != l.ana || inner["tab"] != "home" || inner["channel"] != l.ws.DM(l.ana) {
		t.Errorf("event: got %v", inner)
	}
	if _, ok := inner["view"]; ok {
		t.Error("a view is sent before one was published")
	}
	home := slack.HomeTabViewRequest{Type: "home", Blocks: slack.Blocks{BlockSet: []slack.Block{slack.NewDividerBlock()}}}
	if _, err := l.api.PublishView(l.ana, home, ""); err != nil {
		t.Fatal(err)
	}
	if err := l.ws.OpenHome(t.Context(), l.ana); err != nil {
		t.Fatal(err)
	}
	if inner := l.bot.event()["event"].(map[string]any); inner["view"] == nil {
		t.Error("the published view is not sent")
	}
}

// Source: the Events API page: at once, after a minute, after five minutes;
// the same event_id each time.
func TestEventsAreTriedAgain(t *testing.T) {
	l := newLab(t)
	l.bot.answers(500, "")
	if err := l.ws.OpenHome(t.Context(), l.ana); !errors.Is(err, ErrNoAck) {
		t.Fatalf("a bot that fails: got %v, want ErrNoAck", err)
	}
	first := l.bot.event()["event_id"]
	wantTry := func(n int, wait time.Duration) {
		t.Helper()
		d := l.bot.last()
		if d.header.Get("X-Slack-Retry-Num") != fmt.Sprint(n) || d.header.Get("X-Slack-Retry-Reason") != "http_error" || l.bot.event()["event_id"] != first {
			t.Errorf("retry %d: got %v of %v", n, d.header, l.bot.event()["event_id"])
		}
		if len(l.bot.all()) != n+1 {
			t.Errorf("retry %d: %d deliveries so far, want %d", n, len(l.bot.all()), n+1)
		}
		due, waiting := l.ws.NextRedelivery()
		if want := l.clock.Now().Add(wait); !waiting || !due.Equal(want) {
			t.Errorf("after retry %d: due at %v, %v, want %v", n, due, waiting, want)
		}
	}
	wantTry(1, time.Minute)
	if err := l.ws.Redeliver(t.Context()); err != nil {
		t.Errorf("nothing is due yet: %v", err)
	}
	l.clock.add(time.Minute)
	if err := l.ws.Redeliver(t.Context()); !errors.Is(err, ErrNoAck) {
		t.Errorf("a bot that still fails: got %v, want ErrNoAck", err)
	}
	wantTry(2, 5*time.Minute)
}

func TestABotCanAskForNoFurtherTry(t *testing.T) {
	l := newLab(t)
	stubborn := serveTest(t, http.HandlerFunc(func(rw http.ResponseWriter, _ *http.Request) {
		rw.Header().Set("X-Slack-No-Retry", "1")
		rw.WriteHeader(http.StatusTeapot)
	}))
	l.ws.SetBotURL(stubborn)
	if err := l.ws.OpenHome(t.Context(), l.ana); !errors.Is(err, ErrNoAck) {
		t.Errorf("got %v, want ErrNoAck", err)
	}
	if _, waiting := l.ws.NextRedelivery(); waiting {
		t.Error("the event waits for another try")
	}
}

func TestTheHandshakeOfTheEventsAddress(t *testing.T) {
	l := newLab(t)
	if err := l.ws.VerifyURL(t.Context()); err == nil {
		t.Error("a bot that does not give the challenge back passed")
	}
	const challenge = "3eZbrw1aBm2rZgRNFdxV2595E9CY3gmdALWMmHkvFXO7tYXAYM8P"
	for _, answer := range []string{challenge, `{"challenge":"` + challenge + `"}`} {
		l.bot.answers(200, answer)
		if err := l.ws.VerifyURL(t.Context()); err != nil {
			t.Errorf("%s: %v", answer, err)
		}
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
		err := w.Shortcut(context.Background(), ana, "start")
		if !errors.Is(err, ErrNoAck) || !strings.Contains(err.Error(), "http_timeout") {
			t.Errorf("got %v, want a time-out", err)
		}
		if took := time.Since(start); took != 3*time.Second {
			t.Errorf("waited %v, want 3s", took)
		}
	})
}

func TestManyHandsAtOnce(t *testing.T) {
	l := newLab(t)
	ts := l.postBlocks(everyElement)
	var hands sync.WaitGroup
	for range 4 {
		hands.Go(func() {
			for range 10 {
				if err := l.ws.Press(context.Background(), l.ana, Where{Channel: l.channel, TS: ts}, "level", "a", blockkit.Value{Option: "1"}); err != nil {
					t.Error(err)
				}
				if _, _, err := l.api.PostMessage(l.channel, slack.MsgOptionText("x", false)); err != nil {
					t.Error(err)
				}
				for _, m := range l.ws.Seen(l.channel, l.ana) {
					_ = blockkit.Elements(m.Blocks)
				}
			}
		})
	}
	hands.Wait()
	seen := map[string]bool{}
	for _, m := range l.ws.Messages(l.channel) {
		if seen[m.TS] {
			t.Errorf("ts %s was given out twice", m.TS)
		}
		seen[m.TS] = true
	}
	if len(seen) != 41 {
		t.Errorf("messages: got %d, want 41", len(seen))
	}
}
