package screens_test

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
)

// The local workspace checks what is sent to it as the platform would, by
// rules that were written from the platform's reference and not from these
// screens: a second opinion on rules_test.go.

// A platform is a local workspace with somebody in it, and the real client on
// its Web API.
type platform struct {
	t       *testing.T
	ws      *fakeslack.Team
	api     *slack.Client
	channel string
	person  string
	view    slack.ModalViewRequest // what the bot opens when it is asked
	opened  error
}

func newPlatform(t *testing.T) *platform {
	t.Helper()
	now := time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)
	p := &platform{t: t}
	bot := httptest.NewServer(http.HandlerFunc(p.answer))
	t.Cleanup(bot.Close)
	p.ws = fakeslack.NewTeam(fakeslack.Config{Clock: func() time.Time { return now }, SigningSecret: "secret", BotURL: bot.URL})
	web := httptest.NewServer(p.ws.Handler())
	t.Cleanup(web.Close)
	p.ws.SetURL(web.URL)
	p.api = slack.New("xoxb-test", slack.OptionAPIURL(web.URL+"/api/"))
	p.person = p.ws.AddUser(fakeslack.User{Name: "ana", RealName: "Ana", Zone: "Europe/Lisbon"})
	p.channel = p.ws.AddChannel(fakeslack.Channel{Name: "ferry", Members: []string{p.ws.BotUser(), p.person}})
	return p
}

// answer is the bot: asked by a command, it opens the view.
func (p *platform) answer(w http.ResponseWriter, r *http.Request) {
	_, p.opened = p.api.OpenViewContext(r.Context(), r.FormValue("trigger_id"), p.view)
	w.WriteHeader(http.StatusOK)
}

func (p *platform) open(view slack.ModalViewRequest) error {
	p.view = view
	if err := p.ws.Client.Command(context.Background(), p.person, p.channel, "/soundings", "x"); err != nil {
		return err
	}
	if top, ok := p.ws.Client.TopView(p.person); ok {
		if err := p.ws.Client.CloseView(p.person, top.ID); err != nil {
			return err
		}
	}
	return p.opened
}

func (p *platform) post(m screen.Posting) error {
	_, _, err := p.api.PostMessage(p.channel, slack.MsgOptionText(m.Text, false), slack.MsgOptionBlocks(m.Blocks...))
	return err
}

func TestThePlatformTakesEveryMessage(t *testing.T) {
	p := newPlatform(t)
	screens.EveryMessage(t, func(t *testing.T, name string, m screen.Posting) {
		assert.NoError(t, p.post(m), name)
		assert.Empty(t, slacktest.Pings(m.Text, decoded(t, m.Blocks)), "%s would notify", name)
	})
}

func decoded(t *testing.T, blocks []slack.Block) []blockkit.Block {
	t.Helper()
	data, err := json.Marshal(blocks)
	require.NoError(t, err)
	out, err := slacktest.Blocks(data)
	require.NoError(t, err)
	return out
}

func TestThePlatformTakesEveryForm(t *testing.T) {
	p := newPlatform(t)
	screens.EveryForm(t, func(t *testing.T, name string, view slack.ModalViewRequest) {
		assert.NoError(t, p.open(view), name)
	})
}

// The tests above could see a fault.
func TestThePlatformRefusesWhatBreaksItsRules(t *testing.T) {
	p := newPlatform(t)
	text := func(s string) *slack.TextBlockObject {
		return slack.NewTextBlockObject(slack.PlainTextType, s, false, false)
	}
	heading := slack.NewHeaderBlock(text(strings.Repeat("x", 151)))
	assert.Error(t, p.post(screen.Posting{Text: "x", Blocks: []slack.Block{heading}}), "a heading of 151 characters was taken, and 150 fit")
	view := screens.Notice("Title", "Text")
	assert.NoError(t, p.open(view), "a plain notice was refused")
	view.Title = text(strings.Repeat("x", 25))
	assert.Error(t, p.open(view), "a form with a title of 25 characters was taken, and 24 fit")
}
