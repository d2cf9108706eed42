package incoming_test

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/fakeslack"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

const (
	benchSecret = "a-secret-for-benchmarks"
	benchTeam   = "T0BENCH"
)

// A bench is a bot on a redis-server that writes to disk before it answers,
// with a kickoff whose first round of rating is open.
type bench struct {
	tb          testing.TB
	rdb         redis.UniversalClient
	bot         *bot.Bot
	handler     http.Handler
	another     func() *bot.Bot // of another process beside it
	key         journal.Key
	channel     string
	people      []state.UserID
	assumptions int
	presses     atomic.Int64
}

var benchZones = []string{"Europe/Lisbon", "Asia/Kolkata", "Pacific/Auckland", "America/New_York"}

func newBench(tb testing.TB, people, assumptions int) *bench {
	tb.Helper()
	url := storetest.Durable(tb)
	b := &bench{tb: tb, rdb: storetest.Client(tb, url), assumptions: assumptions, key: journal.Key{Team: benchTeam, Kickoff: "K1"}}
	team := fakeslack.NewTeam(fakeslack.Config{SigningSecret: benchSecret})
	tb.Cleanup(team.Close)
	api := httptest.NewServer(team.Handler())
	tb.Cleanup(api.Close)
	team.SetURL(api.URL)
	for i := range people {
		b.people = append(b.people, state.UserID(team.AddUser(fakeslack.User{Name: fmt.Sprintf("p%d", i), Zone: benchZones[i%len(benchZones)]})))
	}
	channel := team.AddChannel(fakeslack.Channel{Name: "kickoff", Members: []string{team.BotUser()}})
	queue := jobs.NewAsynq(b.rdb, jobs.Options{})
	b.another = func() *bot.Bot {
		made, err := bot.New(bot.Config{Journal: journal.New(b.rdb, journal.Options{}), Queue: queue, Secret: benchSecret,
			Logger: slog.New(slog.NewTextHandler(io.Discard, &slog.HandlerOptions{Level: slog.LevelError})),
			Chat:   chat.New("xoxb-bench", api.URL+"/api/", nil)})
		require.NoError(tb, err)
		return made
	}
	made := b.another()
	b.bot, b.handler = made, made.Handler()
	ctx, stop := context.WithCancel(context.WithoutCancel(tb.Context()))
	ended := make(chan error, 1)
	go func() { ended <- queue.Run(ctx, made.Work) }()
	tb.Cleanup(func() {
		stop()
		assert.NoError(tb, <-ended, "the queue")
	})
	b.openRating(channel)
	return b
}

// openRating starts a kickoff and leads it to its first round of rating.
func (b *bench) openRating(channel string) {
	b.tb.Helper()
	b.channel = channel
	var taking []state.Person
	for i, id := range b.people {
		taking = append(taking, state.Person{ID: id, Name: fmt.Sprintf("Person %d", i), Zone: benchZones[i%len(benchZones)]})
	}
	lead := b.people[0]
	ins := []flows.Intent{
		flows.Start{FromOutside: flows.FromOutside{Who: lead}, ID: b.key.Kickoff, Team: b.key.Team, Channel: channel,
			Brief: state.Brief{Title: "Bicycles", Problem: "Passengers with bicycles cannot tell whether there is room on board."}, People: taking, Pace: 10},
		flows.CloseNow{ByLead: flows.ByLead{Who: lead}},
		flows.CloseNow{ByLead: flows.ByLead{Who: lead}},
		flows.SettleFraming{ByLead: flows.ByLead{Who: lead}, Problem: "Passengers with bicycles cannot tell whether there is room on board."},
		flows.LeaveOut{ByLead: flows.ByLead{Who: lead}, Stages: []state.Stage{state.StageRoles}},
	}
	for i := range b.assumptions {
		ins = append(ins, flows.AddAssumption{By: flows.By{Who: lead}, Text: fmt.Sprintf("Passengers with a bicycle look up the sailing %d days ahead, at home and on a phone.", i)})
	}
	ins = append(ins, flows.CloseNow{ByLead: flows.ByLead{Who: lead}})
	for _, in := range ins {
		require.NoError(b.tb, b.bot.Kickoffs.Do(b.tb.Context(), b.key, in, kickoffs.Origin{}), "%T", in)
	}
	k, err := b.bot.Kickoffs.Load(b.tb.Context(), b.key)
	require.NoError(b.tb, err)
	require.Equal(b.tb, state.StageRating, k.Stage)
}

// payload is what the platform sends for the n-th choice: with the whole form
// and its state, as it does, or with what we read of it alone.
func (b *bench) payload(n int64, whole bool) string {
	who := b.people[n%int64(len(b.people))]
	id := fmt.Sprintf("A%d", 1+n/int64(len(b.people))%int64(b.assumptions))
	action := "rate/importance/" + id
	value := strconv.FormatInt(1+n%9, 10)
	view := map[string]any{"id": "V0FORM", "type": "modal", "callback_id": "rating.ballot",
		"private_metadata": screen.Args{Kickoff: b.key.Kickoff, Stage: "rating", Round: 1}.String()}
	if whole {
		k, err := b.bot.Kickoffs.Load(context.Background(), b.key)
		require.NoError(b.tb, err)
		args, err := screen.ParseArgs(view["private_metadata"].(string))
		require.NoError(b.tb, err)
		form, err := screens.Open("rating.ballot", screen.Page{Kickoff: k, Viewer: who, Now: time.Now(), Args: args})
		require.NoError(b.tb, err)
		view = wholeView(b.tb, form)
	}
	option := map[string]any{"text": map[string]any{"type": "plain_text", "text": value, "emoji": true}, "value": value}
	data, err := json.Marshal(map[string]any{
		"type": "block_actions", "team": map[string]any{"id": b.key.Team, "domain": "harbour"},
		"user":       map[string]any{"id": who, "username": "somebody", "name": "somebody", "team_id": b.key.Team},
		"api_app_id": "A0BENCH", "token": "unused", "trigger_id": fmt.Sprintf("%d.%d.bench", n, time.Now().UnixNano()),
		"container": map[string]any{"type": "view", "view_id": "V0FORM"}, "enterprise": nil, "is_enterprise_install": false,
		"view": view,
		"actions": []any{map[string]any{"type": "static_select", "action_id": action, "block_id": "rate/" + id,
			"action_ts": "1772355600.000100", "selected_option": option, "placeholder": map[string]any{"type": "plain_text", "text": "Choose"}}},
	})
	require.NoError(b.tb, err)
	return string(data)
}

// wholeView is a form as the platform sends it back: with its blocks, what is
// chosen in each, and the platform's own fields.
func wholeView(tb testing.TB, form slack.ModalViewRequest) map[string]any {
	data, err := json.Marshal(form)
	require.NoError(tb, err)
	var view map[string]any
	require.NoError(tb, json.Unmarshal(data, &view))
	values := map[string]any{}
	for _, block := range view["blocks"].([]any) {
		at := block.(map[string]any)
		elements, _ := at["elements"].([]any)
		chosen := map[string]any{}
		for _, element := range elements {
			e, _ := element.(map[string]any)
			if action, is := e["action_id"].(string); is {
				chosen[action] = map[string]any{"type": e["type"], "selected_option": map[string]any{
					"text": map[string]any{"type": "plain_text", "text": "7", "emoji": true}, "value": "7"}}
			}
		}
		if name, is := at["block_id"].(string); is && len(chosen) > 0 {
			values[name] = chosen
		}
	}
	for name, value := range map[string]any{"id": "V0FORM", "team_id": benchTeam, "state": map[string]any{"values": values},
		"hash": "1772355600.abcdefgh", "previous_view_id": nil, "root_view_id": "V0FORM", "app_id": "A0BENCH",
		"external_id": "", "app_installed_team_id": benchTeam, "bot_id": "B0BENCH", "clear_on_close": false} {
		view[name] = value
	}
	return view
}

// signed is a request as the platform signs it.
func signed(payload string) *http.Request {
	body := url.Values{"payload": {payload}}.Encode()
	stamp := strconv.FormatInt(time.Now().Unix(), 10)
	mac := hmac.New(sha256.New, []byte(benchSecret))
	mac.Write([]byte("v0:" + stamp + ":" + body))
	r := httptest.NewRequest(http.MethodPost, "/slack/interactions", strings.NewReader(body))
	r.RemoteAddr = "127.0.0.1:1" // without a limit
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("X-Slack-Request-Timestamp", stamp)
	r.Header.Set("X-Slack-Signature", "v0="+hex.EncodeToString(mac.Sum(nil)))
	return r
}

// floor does the least that a bot on the client library must do before it
// acknowledges: verify, decode all, one entry on a stream.
func (b *bench) floor(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	require.NoError(b.tb, err)
	verifier, err := slack.NewSecretsVerifier(r.Header, benchSecret)
	require.NoError(b.tb, err)
	_, _ = verifier.Write(body)
	require.NoError(b.tb, verifier.Ensure())
	form, err := url.ParseQuery(string(body))
	require.NoError(b.tb, err)
	var in slack.InteractionCallback
	require.NoError(b.tb, json.Unmarshal([]byte(form.Get("payload")), &in))
	choice := in.ActionCallback.BlockActions[0]
	err = b.rdb.XAdd(r.Context(), &redis.XAddArgs{Stream: "floor", Values: []string{"by", in.User.ID, "what", choice.ActionID, "value", choice.SelectedOption.Value}}).Err()
	require.NoError(b.tb, err)
	w.WriteHeader(http.StatusOK)
}

// press measures one acknowledged choice, as many at once as asked, and
// reports the CPU time of this process for each.
func (b *bench) press(bm *testing.B, atOnce int, whole bool, handler http.Handler) {
	requests := make([]*http.Request, bm.N)
	for i := range requests {
		requests[i] = signed(b.payload(b.presses.Add(1), whole))
	}
	var next atomic.Int64
	bm.SetParallelism(max(1, atOnce/2)) // times GOMAXPROCS
	before := cpu(bm)
	bm.ResetTimer()
	bm.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			answer := httptest.NewRecorder()
			handler.ServeHTTP(answer, requests[next.Add(1)-1])
			assert.Equal(bm, http.StatusOK, answer.Code, answer.Body)
		}
	})
	bm.StopTimer()
	bm.ReportMetric(float64((cpu(bm)-before).Microseconds())/float64(bm.N), "cpu-µs/op")
}

// cpu is the CPU time that this process has used.
func cpu(tb testing.TB) time.Duration {
	var used syscall.Rusage
	require.NoError(tb, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// One acknowledged choice on a ballot, 50 at once, beside the least that any
// bot on the client library has to do.
func BenchmarkPress(bm *testing.B) {
	b := newBench(bm, 12, 8)
	for _, size := range []struct {
		name  string
		whole bool
	}{{"true", true}, {"small", false}} {
		bm.Run("floor/"+size.name, func(bm *testing.B) { b.press(bm, 50, size.whole, http.HandlerFunc(b.floor)) })
		bm.Run("vote/"+size.name, func(bm *testing.B) { b.press(bm, 50, size.whole, b.handler) })
	}
}

// How long somebody waits for the acknowledgement while 300 choices a second arrive, each
// at its own instant, whether those before are answered or not. What waited for the
// machine is in it: beside other work the figures say little.
func BenchmarkAck300(bm *testing.B) {
	b := newBench(bm, 12, 8)
	waited := make([]time.Duration, bm.N)
	requests := make([]*http.Request, bm.N)
	for i := range requests {
		requests[i] = signed(b.payload(b.presses.Add(1), true))
	}
	var presses sync.WaitGroup
	bm.ResetTimer()
	for i, began := 0, time.Now(); i < bm.N; i++ {
		due := began.Add(time.Duration(i) * time.Second / 300)
		time.Sleep(time.Until(due))
		presses.Go(func() {
			answer := httptest.NewRecorder()
			b.handler.ServeHTTP(answer, requests[i])
			waited[i] = time.Since(due)
			assert.Equal(bm, http.StatusOK, answer.Code, answer.Body)
		})
	}
	presses.Wait()
	bm.StopTimer()
	slices.Sort(waited)
	for name, share := range map[string]float64{"p50-ms": 0.5, "p99-ms": 0.99} {
		bm.ReportMetric(float64(waited[int(share*float64(bm.N-1))].Microseconds())/1000, name)
	}
}

// A choice in kickoffs of few and of many people.
func BenchmarkPeople(bm *testing.B) {
	for _, people := range []int{12, 100, 500} {
		b := newBench(bm, people, 8)
		bm.Run(strconv.Itoa(people), func(bm *testing.B) { b.press(bm, 2, true, b.handler) })
	}
}

// A choice after few entries and after very many.
func BenchmarkEntries(bm *testing.B) {
	for _, entries := range []int{100, 100_000} {
		b := newBench(bm, 12, 8)
		b.rateOften(entries)
		bm.Run(strconv.Itoa(entries), func(bm *testing.B) { b.press(bm, 2, true, b.handler) })
	}
}

// rateOften appends so many ratings.
func (b *bench) rateOften(n int) {
	b.tb.Helper()
	k, err := b.bot.Kickoffs.Load(b.tb.Context(), b.key)
	require.NoError(b.tb, err)
	for version := k.Version; n > 0; {
		var writes []journal.Write
		for ; n > 0 && len(writes) < 500; n-- {
			record := event.Record{At: time.Now().UTC(), By: b.people[n%len(b.people)],
				Events: []event.Event{event.Rated{Round: 1, Assumption: "A1", Scale: state.Evidence, Value: 1 + n%9}}}
			data, err := record.MarshalJSON()
			require.NoError(b.tb, err)
			writes = append(writes, journal.Write{Data: data, Delivery: fmt.Sprint("before/", n), After: version, Commutes: true})
			version++
		}
		_, err := b.bot.Journal.AppendAll(b.tb.Context(), b.key, writes)
		require.NoError(b.tb, err)
	}
	_, err = b.bot.Kickoffs.Load(b.tb.Context(), b.key)
	require.NoError(b.tb, err)
}
