package bot_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// A crowd is a testBot with two processes on one Redis and many people.
type crowd struct {
	*testBot
	names []string
	bots  []*bot.Bot
	news  chan struct{} // a call of the Web API was made
}

// within bounds every wait.
const within = time.Minute

func newCrowd(t *testing.T, people int) *crowd {
	t.Helper()
	url := storetest.Server(t)
	c := &crowd{testBot: &testBot{t: t, ids: map[string]string{}, filled: map[string][]entry{}}, news: make(chan struct{}, 1)}
	c.ws = fakeslack.NewTeam(fakeslack.Config{SigningSecret: testSecret, AckWithin: 2 * within})
	c.api = serve(t, c.ws.Handler())
	c.ws.SetURL(c.api)
	c.ws.OnCall(func(fakeslack.Call) {
		select {
		case c.news <- struct{}{}:
		default:
		}
	})
	c.front = &front{t: t, clock: time.Now}
	for range 2 {
		c.process(url)
	}
	c.bot, c.journal = c.bots[0], c.bots[0].Receiver.Journal
	var turn atomic.Int64
	c.front.set(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c.bots[turn.Add(1)%2].Handler().ServeHTTP(w, r)
	}))
	c.ws.SetBotURL(serve(t, c.front))
	for i := range people {
		name := fmt.Sprintf("p%d", i)
		c.names = append(c.names, name)
		c.ids[name] = c.ws.AddUser(fakeslack.User{Name: name, Zone: "Europe/Lisbon"})
	}
	c.channel = c.ws.AddChannel(fakeslack.Channel{Name: "kickoff", Members: append(c.all(c.names...), c.ws.BotUser())})
	return c
}

// process starts a bot with connections of its own; it shares nothing with
// the other but the store and the queue in it.
func (c *crowd) process(url string) {
	c.t.Helper()
	rdb := storetest.Client(c.t, url)
	queue := jobs.NewAsynq(rdb, jobs.Options{PollInterval: 50 * time.Millisecond, DueInterval: 200 * time.Millisecond})
	b, err := bot.New(bot.Config{Journal: journal.New(rdb, journal.Options{}), Queue: queue, Secret: testSecret, Coalesce: time.Second, AnswerWithin: within,
		Chat: chat.New(testToken, c.api+"/api/", nil)})
	c.must(err)
	c.bots = append(c.bots, b)
	ctx, stop := context.WithCancel(context.WithoutCancel(c.t.Context()))
	ended := make(chan error, 1)
	go func() { ended <- queue.Run(ctx, b.Work) }()
	c.t.Cleanup(func() {
		stop()
		assert.NoError(c.t, <-ended, "the queue")
	})
}

// awaits waits until a message stands, without looking at it more often than
// something happens.
func (c *crowd) awaits(slot string) {
	c.t.Helper()
	late := time.NewTimer(within)
	defer late.Stop()
	for c.slots()[slot] == 0 {
		select {
		case <-c.news:
		case <-late.C:
			c.t.Fatalf("%s did not come within %v", slot, within)
		}
	}
}

// together has everybody do the same at once.
func (c *crowd) together(do func(i int, id string) error) {
	c.t.Helper()
	var all sync.WaitGroup
	for i, name := range c.names {
		all.Go(func() {
			assert.NoError(c.t, do(i, c.ids[name]), name)
		})
	}
	all.Wait()
}

// button presses one button of a message.
func (c *crowd) button(id string, at fakeslack.Where, e blockkit.Element) error {
	return c.ws.Client.Press(c.t.Context(), id, at, e.ActionID, e.BlockID, noValue)
}

// form opens a form, fills it in and sends it.
func (c *crowd) form(id string, at fakeslack.Where, e blockkit.Element, entries ...entry) error {
	if err := c.button(id, at, e); err != nil {
		return err
	}
	for _, entry := range entries {
		v, _ := c.ws.Client.TopView(id)
		if err := c.ws.Client.Type(id, v.ID, entry.block, "in", entry.value); err != nil {
			return err
		}
	}
	for {
		v, open := c.ws.Client.TopView(id)
		if !open {
			return nil
		}
		faults, err := c.ws.Client.Submit(c.t.Context(), id, v.ID)
		if err != nil || len(faults) > 0 {
			return fmt.Errorf("sent with %v: %w", faults, errors.Join(err, errors.New("not taken")))
		}
		if after, open := c.ws.Client.TopView(id); open && forAnother(v, after) {
			return c.ws.Client.CloseAll(id)
		}
	}
}

// TestManyAtOnce has twelve people press at the same time, through either of
// two processes that share one Redis and its queue: nothing of what they gave
// is lost, and each message stands once.
func TestManyAtOnce(t *testing.T) {
	t.Parallel()
	c := newCrowd(t, 12)
	c.start("p0", c.channel, c.names...)
	c.awaits("stage/brief")
	c.awaits("desk/@" + c.ids["p0"])
	c.act("p0", "open/lead.steps", many("steps", "framing", "assumptions", "backlog", "timebox"))
	at, e := c.find("p0", "do/brief.read", "")
	c.together(func(_ int, id string) error { return c.button(id, at, e) })

	c.awaits("stage/framing")
	at, e = c.find("p0", "open/framing.vote", "")
	c.together(func(i int, id string) error {
		return c.form(id, at, e, choice("level", fmt.Sprint(i%3-1)), many("ticks/0", "0"))
	})
	c.awaits("settle/framing/@" + c.ids["p0"])
	c.press("p0", "do/framing.confirm")

	c.awaits("stage/assumptions")
	at, e = c.find("p0", "open/assumptions.add", "")
	c.together(func(i int, id string) error {
		if i >= 4 {
			return nil
		}
		return c.form(id, at, e, text("text", []string{"Ferries carry bicycles.", "Deckhands can count.", "People look at phones.", "The harbour has a mast."}[i]))
	})
	at, e = c.find("p0", "do/assumptions.done", "")
	c.together(func(_ int, id string) error { return c.button(id, at, e) })

	c.awaits("stage/rating/1")
	at, e = c.find("p0", "open/rating.ballot", "")
	c.together(func(i int, id string) error { return c.ballot(i, id, at, e) })
	c.awaits("result/rating/1")
	c.awaits("stage/backlog")
	c.nothingLost()
}

// marked is what person i rates; near each other, so that there is one round.
func marked(i int, scale state.Scale) int {
	if scale == state.Importance {
		return 7 + i%3
	}
	return 2 + i%3
}

// ballot fills in everything, choice by choice.
func (c *crowd) ballot(i int, id string, at fakeslack.Where, e blockkit.Element) error {
	if err := c.button(id, at, e); err != nil {
		return err
	}
	v, _ := c.ws.Client.TopView(id)
	for _, e := range blockkit.Elements(v.Blocks) {
		if !strings.HasPrefix(e.ActionID, "rate/") {
			continue
		}
		value := blockkit.Value{Option: fmt.Sprint(marked(i, state.Scale(named(e.ActionID))))}
		if err := c.ws.Client.Press(c.t.Context(), id, fakeslack.Where{ViewID: v.ID}, e.ActionID, e.BlockID, value); err != nil {
			return err
		}
	}
	faults, err := c.ws.Client.Submit(c.t.Context(), id, v.ID)
	if len(faults) > 0 {
		err = fmt.Errorf("the ballot was not taken: %v", faults)
	}
	return err
}

func (c *crowd) asJSON(k state.Kickoff) string {
	c.t.Helper()
	data, err := json.Marshal(k)
	c.must(err)
	return string(data)
}

// nothingLost reads the record itself, and what both processes make of it.
func (c *crowd) nothingLost() {
	c.t.Helper()
	ctx, key := c.t.Context(), c.key()
	for slot, n := range c.slots() {
		assert.Equal(c.t, 1, n, "%s stands %d times", slot, n)
	}
	states := map[int64]string{} // by version, as each process holds it
	for _, b := range c.bots {
		k, err := b.Kickoffs.Load(ctx, key)
		c.must(err)
		states[k.Version] = c.asJSON(k)
	}
	entries, err := c.journal.Read(ctx, key, journal.Position{})
	c.must(err)
	anew := c.bot.Kickoffs.Empty()
	for _, e := range entries {
		var r event.Record
		c.must(json.Unmarshal(e.Data, &r))
		anew = flows.Apply(anew, e.Version, r)
		held, known := states[e.Version]
		assert.False(c.t, known && held != c.asJSON(anew), "at version %d a process holds another state than the record tells of", e.Version)
	}
	assert.Equal(c.t, len(c.names), anew.Framing.Level.N, "votes on the framing")
	assert.Equal(c.t, []int{len(c.names)}, anew.Framing.Ticked, "ticks of the original")
	assert.Len(c.t, anew.Listed(), 4, "assumptions")
	// Whose ratings they were is nobody's business by now; what they came to tells
	// of one that is lost or there twice.
	for _, a := range anew.Map().Assumptions {
		for scale, got := range map[state.Scale]engine.Spread{state.Importance: a.Importance, state.Evidence: a.Evidence} {
			least := engine.Figure(marked(0, scale))
			assert.Equal(c.t, []any{len(c.names), least + 1, least, least + 2}, []any{got.N, got.Median, got.Q1, got.Q3}, "%s of %s", scale, a.ID)
		}
	}
}
