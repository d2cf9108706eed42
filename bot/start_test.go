package bot_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/plaintext"
	"soundings/bot/screens"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// A gathering is the start of a kickoff of many people, at the platform's own rates. Others in
// the team have nothing to do with it.
type gathering struct {
	*testBot
	people  []string          // the lead first
	zones   map[string]string // of those who would answer
	left    []fakeslack.User  // whose accounts are closed once they were chosen
	refused []fakeslack.Call
	choose  func() entry // says in the form who takes part
}

var zonesOfMany = []string{"Europe/Lisbon", "Asia/Kolkata", "Pacific/Auckland", "America/New_York"}

// gather lets people in: every fiftieth is an app, every fiftieth has left, and
// every fiftieth is of another company.
func gather(tb testing.TB, people, others int) *gathering {
	tb.Helper()
	c := &gathering{testBot: newTestBot(tb, options{workspace: func(c *fakeslack.Config) { c.EnforceRates = true }}), zones: map[string]string{}}
	c.config.Lookups = 8
	c.restart()
	for i := range others {
		c.ws.AddUser(fakeslack.User{RealName: fmt.Sprintf("Other %d", i), Zone: "Europe/Lisbon"})
	}
	c.people = append(c.people, c.ids["ana"])
	c.zones[c.ids["ana"]] = "Europe/Lisbon"
	for i := 1; i < people; i++ {
		u := fakeslack.User{RealName: fmt.Sprintf("Person %d", i), Zone: zonesOfMany[i%len(zonesOfMany)],
			Bot: i%50 == 47, Stranger: i%50 == 49}
		u.ID = c.ws.AddUser(u)
		c.people = append(c.people, u.ID)
		switch i % 50 {
		case 47:
		case 48:
			c.left = append(c.left, u)
		default:
			c.zones[u.ID] = u.Zone
		}
	}
	c.choose = func() entry { return entry{"people", blockkit.Value{IDs: c.people[1:]}} }
	c.channel = c.ws.AddChannel(fakeslack.Channel{Name: "everybody", Members: append([]string{c.ws.BotUser()}, c.people...)})
	c.ws.OnCall(func(call fakeslack.Call) {
		c.mu.Lock()
		defer c.mu.Unlock()
		if c.calls[call.Method]++; call.Status == http.StatusTooManyRequests {
			c.refused = append(c.refused, call)
		}
	})
	return c
}

// begin sends the form that starts the kickoff, and hands back what is wrong
// with it, by field.
func (c *gathering) begin() map[string]string {
	c.t.Helper()
	c.must(c.ws.Client.Command(c.t.Context(), c.ids["ana"], c.channel, "/soundings", "start"))
	c.fill("ana", text("title", "Bicycles"), text("problem", "Nobody knows whether there is room."), c.choose())
	for _, u := range c.left {
		u.Deleted = true
		c.ws.AddUser(u)
	}
	faults, err := c.ws.Client.Submit(c.t.Context(), c.ids["ana"], c.top("ana").ID)
	c.must(err)
	return faults
}

// untilBrief lets the bot work until the first message stands.
func (c *gathering) untilBrief() {
	c.t.Helper()
	for c.slots()["stage/brief"] == 0 {
		require.True(c.t, c.work(), "the brief never came")
	}
}

func (c *gathering) kickoff() state.Kickoff {
	c.t.Helper()
	k, err := c.bot.Kickoffs.Load(c.t.Context(), c.key())
	c.must(err)
	return k
}

// Five hundred people start at once, whatever the size of their team: who they
// are is found out while the brief is being read, and the platform never has to
// refuse a call.
func TestManyPeopleStartAtOnce(t *testing.T) {
	t.Parallel()
	for name, others := range map[string]int{"of one team": 0, "of a large team": 4000} {
		t.Run(name, func(t *testing.T) {
			c := gather(t, 500, others)
			began := c.clock.Now()
			require.Empty(t, c.begin(), "the form is refused")
			c.untilBrief()
			assert.LessOrEqual(t, c.clock.Now().Sub(began), 3*time.Second, "until the kickoff begins")
			assert.NotEmpty(t, c.ws.Messages(c.channel), "messages in the channel")
			c.pass(15 * time.Minute)
			k := c.kickoff()
			assert.Empty(t, flows.Sought(&k), "still sought")
			zones := map[string]string{}
			for _, p := range k.People {
				if !p.Gone {
					zones[string(p.ID)] = p.Zone
				}
			}
			assert.Equal(t, c.zones, zones, "who takes part, and where they live")
			assert.Empty(t, c.refused, "refused for the rate")
		})
	}
}

// One tick asks all who are in the channel, whoever they are, but neither apps nor
// those who have left; more than may take part are refused where they are ticked.
func TestEverybodyInTheChannel(t *testing.T) {
	t.Parallel()
	everybody := func() entry { return entry{"everybody", blockkit.Value{Options: []string{"everybody"}}} }
	c := gather(t, 120, 0)
	c.choose = everybody
	require.Empty(t, c.begin())
	c.untilBrief()
	c.pass(15 * time.Minute)
	k := c.kickoff()
	zones := map[string]string{}
	for _, p := range k.People {
		if !p.Gone {
			zones[string(p.ID)] = p.Zone
		}
	}
	assert.Equal(t, c.zones, zones, "who takes part, and where they live")
	assert.Equal(t, []state.UserID{state.UserID(c.ids["ana"])}, k.Leads)
	assert.Empty(t, c.refused, "refused for the rate")
	assert.Equal(t, 1, c.calls["conversations.members"])

	c = gather(t, 510, 0)
	c.choose = everybody
	assert.Contains(t, c.begin()["people"], "More than 500 people are in the channel.")
	assert.Empty(t, c.slots(), "a kickoff began")
}

// What waits to be found out is said in the brief, and no longer once it is
// known: here the platform fails first.
func TestBriefSaysWhoIsLookedUp(t *testing.T) {
	t.Parallel()
	c := gather(t, 80, 0)
	c.refuser.refuseMethod("users.list", "fatal_error")
	require.Empty(t, c.begin())
	const says = "and 60 people whose names and time zones I am still looking up. Until I know them, I go by the working hours of Ana."
	c.untilBrief()
	assert.Contains(t, c.whole(), says)
	c.refuser.refuseNothing()
	c.pass(10 * time.Minute)
	assert.NotContains(t, c.whole(), "looking up")
	assert.Contains(t, c.whole(), "Person 19 and 58 more", "without the app and whose account is closed")
}

// whole is what the lead reads behind the first message.
func (c *gathering) whole() string {
	k, err := c.bot.Kickoffs.Load(c.t.Context(), c.key())
	require.NoError(c.t, err)
	view, err := screens.Open("brief.whole", screen.Page{Kickoff: k, Viewer: k.Leads[0]})
	require.NoError(c.t, err)
	return plaintext.Blocks(view.Blocks.BlockSet)
}

// Few people are all known when the kickoff begins.
func TestFewPeopleAreKnownAtTheStart(t *testing.T) {
	t.Parallel()
	c := gather(t, 20, 0)
	require.Empty(t, c.begin())
	k := c.kickoff()
	assert.Empty(t, flows.Sought(&k))
	assert.Equal(t, 20, c.called("users.info"))
}

// Who is everybody in a large channel is a question to the lead.
func TestTooManyPeopleAreAskedAbout(t *testing.T) {
	t.Parallel()
	c := gather(t, flows.MaxPeople+1, 0)
	faults := c.begin()
	require.Len(t, faults, 1)
	for _, reason := range faults {
		assert.Equal(t, "You named 501 people; a kickoff starts with 500 at most. Choose those who decide, work on it, or have a stake in it. Others can join later.", reason)
	}
	assert.Zero(t, c.called("users.info"))
}

// A start of 500 people, until their brief stands in the channel.
func BenchmarkStart500(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		c := gather(b, 500, 0)
		b.StartTimer()
		require.Empty(b, c.begin())
		c.untilBrief()
	}
}

// TestStartThatComesTwice sends the form that starts a kickoff twice, the second
// time two seconds later, as the platform does when an acknowledgement is lost:
// there is one kickoff, and nobody is told that the channel is taken.
func TestStartThatComesTwice(t *testing.T) {
	t.Parallel()
	h := newTestBot(t, options{})
	twice := 0
	h.front.deliver = func(w http.ResponseWriter, again func() *http.Request) {
		if repeatable(again()) {
			h.front.handler().ServeHTTP(httptest.NewRecorder(), again())
			h.clock.Advance(h.clock.Now().Add(2 * time.Second))
			twice++
		}
		h.front.handler().ServeHTTP(w, again())
	}
	_, open := h.startIn(h.channel)
	assert.False(t, open, "the form is still open")
	assert.Positive(t, twice, "nothing came twice")
	assert.Equal(t, 1, h.slots()["stage/brief"])
}

// A process that died between taking a channel and beginning the kickoff leaves
// a claim behind. It does not keep the next one from its form, for ever.
func TestStartAfterOneThatNeverBegan(t *testing.T) {
	t.Parallel()
	h := newTestBot(t, options{})
	_, err := h.journal.Index.Claim(t.Context(), h.ws.TeamID(), h.channel, h.channel+"-1")
	h.must(err)
	h.must(h.ws.Client.Command(t.Context(), h.ids["ana"], h.channel, "/soundings", "start"))
	assert.Equal(t, "brief.start", h.top("ana").CallbackID)
}
