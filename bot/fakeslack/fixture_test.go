package fakeslack

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

// A fixture is a team with a channel and two people in it, a real client on
// its Web API, and a stand-in for the bot that checks every signature with
// that client's own verifier.
type fixture struct {
	t        *testing.T
	team     *Team
	api      *slack.Client
	url      string
	clock    *handClock
	bot      *standIn
	channel  string
	ana, ben string
}

const testSecret = "8f742231b10e8888abcd99yyyzzz85a5"

// A handClock stands still until it is moved.
type handClock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *handClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *handClock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// newFixture starts the clock now: the client's verifier looks at the machine's
// clock, and takes five minutes either way.
func newFixture(t *testing.T, change ...func(*Config)) *fixture {
	t.Helper()
	l := &fixture{t: t, clock: &handClock{now: time.Now().UTC().Truncate(time.Second)}}
	c := Config{Clock: l.clock.Now, SigningSecret: testSecret, Team: "Harbour Lines"}
	for _, f := range change {
		f(&c)
	}
	l.bot = &standIn{t: t}
	botServer := httptest.NewServer(l.bot)
	t.Cleanup(botServer.Close)
	c.BotURL = botServer.URL
	l.team = NewTeam(c)
	server := httptest.NewServer(l.team.Handler())
	t.Cleanup(server.Close)
	l.url = server.URL
	l.team.SetURL(server.URL)
	l.api = slack.New("xoxb-test", slack.OptionAPIURL(server.URL+"/api/"))
	l.ana = l.team.AddUser(User{Name: "ana", RealName: "Ana", Zone: "Europe/Lisbon"})
	l.ben = l.team.AddUser(User{Name: "ben", RealName: "Ben", Zone: "Asia/Kolkata"})
	l.channel = l.team.AddChannel(Channel{Name: "ferry", Members: []string{l.team.BotUser(), l.ana, l.ben}})
	return l
}

// post sends a message as the bot and returns its ts.
func (l *fixture) post(options ...slack.MsgOption) string {
	l.t.Helper()
	_, ts, err := l.api.PostMessage(l.channel, options...)
	require.NoError(l.t, err, "post")
	return ts
}

func (l *fixture) postBlocks(blocks string) string {
	l.t.Helper()
	return l.post(slack.MsgOptionText("fallback", false), slack.MsgOptionBlocks(typedBlocks(l.t, blocks)...))
}

func typedBlocks(t *testing.T, blocks string) []slack.Block {
	t.Helper()
	var typed slack.Blocks
	require.NoError(t, json.Unmarshal([]byte(blocks), &typed), "blocks")
	return typed.BlockSet
}

// raw calls a method with a JSON body and returns the whole answer.
func (l *fixture) raw(method string, args map[string]any) map[string]any {
	l.t.Helper()
	if args == nil {
		args = map[string]any{}
	}
	body, err := json.Marshal(args)
	require.NoError(l.t, err)
	req, err := http.NewRequest(http.MethodPost, l.url+"/api/"+method, bytes.NewReader(body))
	require.NoError(l.t, err)
	req.Header.Set("Content-Type", "application/json; charset=utf-8")
	req.Header.Set("Authorization", "Bearer xoxb-test")
	return l.answerTo(req)
}

// form calls a method with a form and no Authorization header.
func (l *fixture) form(method string, fields url.Values) map[string]any {
	l.t.Helper()
	req, err := http.NewRequest(http.MethodPost, l.url+"/api/"+method, strings.NewReader(fields.Encode()))
	require.NoError(l.t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return l.answerTo(req)
}

func (l *fixture) answerTo(req *http.Request) map[string]any {
	l.t.Helper()
	resp, err := http.DefaultClient.Do(req)
	require.NoError(l.t, err)
	defer resp.Body.Close()
	var out map[string]any
	require.NoError(l.t, json.NewDecoder(resp.Body).Decode(&out), "%s answers no JSON", req.URL.Path)
	return out
}

// trigger presses a button in the channel and returns the trigger that the
// bot got for it.
func (l *fixture) trigger() string {
	l.t.Helper()
	ts := l.postBlocks(`[{"type":"actions","block_id":"b","elements":[{"type":"button","action_id":"go","text":{"type":"plain_text","text":"Go"}}]}]`)
	l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
	return l.bot.interaction().TriggerID
}

func (l *fixture) press(user string, at Where, action string, v blockkit.Value) {
	l.t.Helper()
	require.NoError(l.t, l.team.Client.Press(context.Background(), user, at, action, "", v), "press %s", action)
}

// open opens a form for Ana.
func (l *fixture) open(view string) *slack.ViewResponse {
	l.t.Helper()
	resp, err := l.api.OpenView(l.trigger(), typedView(l.t, view))
	if err != nil {
		l.t.Fatalf("open: %v", viewError(resp, err))
	}
	return resp
}

func viewError(resp *slack.ViewResponse, err error) error {
	if resp == nil {
		return err
	}
	return errors.Join(err, errors.New(strings.Join(resp.ResponseMetadata.Messages, "; ")))
}

func typedView(t *testing.T, view string) slack.ModalViewRequest {
	t.Helper()
	var v slack.ModalViewRequest
	require.NoError(t, json.Unmarshal([]byte(view), &v), "view")
	return v
}

// code is the platform's error code in err, "" when there is none.
func code(err error) string {
	var e slack.SlackErrorResponse
	if errors.As(err, &e) {
		return e.Err
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

func wantCode(t *testing.T, what string, err error, want string) {
	t.Helper()
	assert.Equal(t, want, code(err), what)
}

// A standIn takes deliveries, checks them, keeps them and answers as it is
// told.
type standIn struct {
	t  *testing.T
	mu sync.Mutex

	deliveries []request
	answer     func(request) (status int, body string)
}

// A request is one signed request as the bot gets it.
type request struct {
	path   string
	header http.Header
	body   []byte
}

func (s *standIn) ServeHTTP(rw http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	assert.NoError(s.t, err, "read delivery")
	verifier, err := slack.NewSecretsVerifier(r.Header, testSecret)
	if err == nil {
		_, _ = verifier.Write(body) // a hash takes everything
		err = verifier.Ensure()
	}
	assert.NoError(s.t, err, "signature of %s", r.URL.Path)
	d := request{path: r.URL.Path, header: r.Header, body: body}
	s.mu.Lock()
	s.deliveries = append(s.deliveries, d)
	answer := s.answer
	s.mu.Unlock()
	if answer == nil {
		return
	}
	status, text := answer(d)
	rw.WriteHeader(status)
	_, _ = io.WriteString(rw, text)
}

func (s *standIn) answers(status int, body string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.answer = func(request) (int, string) { return status, body }
}

func (s *standIn) all() []request {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.deliveries)
}

func (s *standIn) last() request {
	s.t.Helper()
	all := s.all()
	require.NotEmpty(s.t, all, "nothing was delivered")
	return all[len(all)-1]
}

// request is the last delivery as an HTTP request, for a client's parsers.
func (s *standIn) request() *http.Request {
	s.t.Helper()
	d := s.last()
	r := httptest.NewRequest(http.MethodPost, d.path, bytes.NewReader(d.body))
	r.Header = d.header
	return r
}

// interaction reads the last delivery with the client's parser.
func (s *standIn) interaction() slack.InteractionCallback {
	s.t.Helper()
	ic, err := slack.InteractionCallbackParse(s.request())
	require.NoError(s.t, err, "read interaction")
	return ic
}

// payload is the last interaction as it was sent.
func (s *standIn) payload() map[string]any {
	s.t.Helper()
	form, err := url.ParseQuery(string(s.last().body))
	require.NoError(s.t, err)
	var out map[string]any
	require.NoError(s.t, json.Unmarshal([]byte(form.Get("payload")), &out))
	return out
}

// event is the last delivery as an event.
func (s *standIn) event() map[string]any {
	s.t.Helper()
	var out map[string]any
	require.NoError(s.t, json.Unmarshal(s.last().body, &out))
	return out
}

func serveTest(t *testing.T, h http.Handler) string {
	t.Helper()
	server := httptest.NewServer(h)
	t.Cleanup(server.Close)
	return server.URL
}
