package screens

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// renamed is a kickoff under another id, title and channel, for somebody who
// is in several.
func renamed(k state.Kickoff, n int, title string) state.Kickoff {
	k.ID, k.Channel, k.Started = fmt.Sprint("K", n), fmt.Sprint("C", n), k.Started.Add(time.Duration(n)*time.Hour)
	if title != "" {
		k.Brief.Title = title
	}
	return k
}

// homePages are home tabs that were looked at and agreed on.
func homePages(t *testing.T) map[string]HomePage {
	t.Helper()
	brief, framing, settling, ended := momentAt(t, "brief"), momentAt(t, "framing"), momentAt(t, "framing/settling"), momentAt(t, "ended")
	underway := momentAt(t, "underway")
	crew := renamed(framing.K, 2, "A crew app for the deckhands")
	asking := renamed(brief.K, 3, "")
	asking.Asking = []state.JoinRequest{{Person: state.Person{ID: "U99", Name: "Mika"}}}
	return map[string]HomePage{
		"newcomer":    {Viewer: "U99", Now: brief.Now},
		"guest":       {Viewer: "U99", Now: brief.Now, Guest: true},
		"door":        {Viewer: "U99", Now: brief.Now, Joinable: []state.Kickoff{brief.K}},
		"door-asked":  {Viewer: "U99", Now: brief.Now, Joinable: []state.Kickoff{asking, crew}, Said: "I have asked Ana, who leads it. You will hear from them."},
		"participant": {Viewer: "U3", Now: framing.Now, Kickoffs: []state.Kickoff{brief.K, crew}},
		"lead":        {Viewer: "U1", Now: brief.Now, Kickoffs: []state.Kickoff{asking, renamed(settling.K, 4, "Winter timetable")}},
		"underway":    {Viewer: "U1", Now: underway.Now, Kickoffs: []state.Kickoff{underway.K}},
		"ended":       {Viewer: "U2", Now: ended.Now, Kickoffs: []state.Kickoff{ended.K}},
		"both":        {Viewer: "U2", Now: framing.Now, Kickoffs: []state.Kickoff{ended.K, crew}},
	}
}

func home(h HomePage) slack.HomeTabViewRequest {
	h.Command = "/soundings"
	return Home(h)
}

func TestHomeLooksAsAgreed(t *testing.T) {
	for name, h := range homePages(t) {
		golden(t, "home--"+name, plaintext.Blocks(home(h).Blocks.BlockSet))
	}
}

// crowded is somebody who is in, and could join, far more than fits: of each
// kind twenty at each moment.
func crowded(m moment, ended state.Kickoff, viewer state.UserID) HomePage {
	h := HomePage{Viewer: viewer, Now: m.Now, Said: long("Said", 300)}
	for n := range 20 {
		h.Kickoffs = append(h.Kickoffs, renamed(m.K, n, ""), renamed(ended, 100+n, ""))
		other := renamed(m.K, 200+n, "")
		other.People = other.People[3:]
		if n%2 == 0 {
			other.Asking = []state.JoinRequest{{Person: state.Person{ID: viewer}}}
		}
		h.Joinable = append(h.Joinable, other)
	}
	return h
}

// EveryHome visits the home tabs of everybody at each moment of the hostile
// play, with too much of everything, and those that were agreed on.
func EveryHome(t *testing.T, visit func(t *testing.T, name string, view slack.HomeTabViewRequest)) {
	t.Helper()
	ended := hostileMomentAt(t, "ended").K
	moments := hostilePlay()
	for _, at := range slices.Sorted(maps.Keys(moments)) {
		for _, viewer := range []state.UserID{"U1", "U2", "U99"} {
			visit(t, fmt.Sprintf("home of %s at %s", viewer, at), home(crowded(asked(moments[at]), ended, viewer)))
		}
	}
	for name, h := range homePages(t) {
		visit(t, "home "+name, home(h))
	}
}

// The channels of a home tab are named by the platform, and only to whom they
// are open; in messages, the rules allow none.
func withoutChannels(t *testing.T, blocks []slack.Block) []slack.Block {
	t.Helper()
	data, err := json.Marshal(blocks)
	require.NoError(t, err)
	var out slack.Blocks
	text := strings.ReplaceAll(string(data), `"type":"channel","channel_id"`, `"type":"text","text"`)
	require.NoError(t, json.Unmarshal([]byte(text), &out))
	return out.BlockSet
}

func TestHomeKeepsTheRules(t *testing.T) {
	EveryHome(t, func(t *testing.T, name string, view slack.HomeTabViewRequest) {
		n := len(view.Blocks.BlockSet)
		assert.NotEqual(t, 0, n, "%s has %d blocks, want 1 to 100", name, n)
		assert.LessOrEqual(t, n, 100, "%s has %d blocks, want 1 to 100", name, n)
		assert.Equal(t, slack.VTHomeTab, view.Type, "%s is a", name)
		data, err := json.Marshal(view)
		assert.NoError(t, err, "%s has %d bytes, want at most", name, len(data))
		assert.LessOrEqual(t, len(data), longestView, "%s has %d bytes, want at most", name, len(data))
		checkBlocks(t, name, withoutChannels(t, view.Blocks.BlockSet))
	})
}

// A home tab that is full shows the limits at work.
func TestHomeSaysWhatItLeavesOut(t *testing.T) {
	got := plaintext.Blocks(home(crowded(hostileMomentAt(t, "brief"), hostileMomentAt(t, "ended").K, "U1")).Blocks.BlockSet)
	for _, want := range []string{"And 11 kickoffs run in other channels", "And 12 kickoffs run in other channels", "And 10 more."} {
		assert.Contains(t, got, want, "nothing says")
	}
}

// Every button works as the same button of a message does, and says that it
// was pressed here.
func TestHomeButtonsLeadSomewhere(t *testing.T) {
	for name, moments := range map[string]map[string]moment{"small": smallPlay(), "hostile": hostilePlay()} {
		for at, m := range moments {
			m = asked(m)
			for _, viewer := range []state.UserID{"U1", "U2"} {
				view := home(HomePage{Viewer: viewer, Now: m.Now, Kickoffs: []state.Kickoff{m.K}})
				for _, b := range buttonsIn(view.Blocks.BlockSet) {
					where := fmt.Sprintf("%s/%s, home of %s", name, at, viewer)
					if b.ActionID != startsOne {
						checkButton(t, where, m, b)
					}
					args, _ := screen.ParseArgs(b.Value)
					assert.True(t, args.Home, "%s: button %q does not say that it stands on a home tab", where, b.Text.Text)
				}
			}
		}
	}
	m := momentAt(t, "brief")
	for _, b := range buttonsIn(home(HomePage{Viewer: "U99", Now: m.Now, Joinable: []state.Kickoff{m.K}}).Blocks.BlockSet) {
		if b.ActionID != startsOne {
			checkButton(t, "door", m, b)
		}
	}
}

// startsOne is the action of the one button that is about no kickoff.
const startsOne = "open/brief.start"

// Whoever is not part of a kickoff learns nothing of it from their home tab:
// not its title, not its problem, not who is in it. Nor does whoever was.
func TestHomeKeepsOthersKickoffsToThemselves(t *testing.T) {
	m := momentAt(t, "rating/2")
	gone := flows.Apply(m.K, m.K.Version+1, event.Record{At: m.Now, Events: []event.Event{event.PersonLeft{Person: "U3"}}})
	for name, h := range map[string]HomePage{
		"somebody outside": {Viewer: "U99", Now: m.Now, Kickoffs: []state.Kickoff{m.K}, Joinable: []state.Kickoff{m.K}},
		"somebody gone":    {Viewer: "U3", Now: m.Now, Kickoffs: []state.Kickoff{gone}, Joinable: []state.Kickoff{gone}},
	} {
		data, err := json.Marshal(home(h))
		require.NoError(t, err)
		secrets := []string{m.K.Brief.Title, m.K.Brief.Problem, m.K.Brief.Why, m.K.Framing.Problem, "Step 5", m.K.Name("U1"), m.K.Name("U2")}
		for _, a := range m.K.Assumptions {
			secrets = append(secrets, a.Text)
		}
		for _, secret := range secrets {
			assert.NotContains(t, string(data), secret, "%s reads", name)
		}
		assert.Equal(t, []string{"Ask to Join", "Start a Kickoff"}, labelsOf(home(h)), "%s has the buttons", name)
	}
}

func labelsOf(view slack.HomeTabViewRequest) []string {
	return labels(screen.Posting{Blocks: view.Blocks.BlockSet})
}

// What waits is sorted by its close, across kickoffs, and what does not hurry
// comes last. One button stands out, the first.
func TestHomePutsTheMostUrgentFirst(t *testing.T) {
	m := momentAt(t, "brief")
	kickoff := func(n int, closes time.Duration) state.Kickoff {
		k := renamed(m.K, n, fmt.Sprint("Closes in ", closes))
		k.Window.Closes = m.Now.Add(closes)
		delete(k.Window.Done, "U1")
		return k
	}
	late, soon := kickoff(1, 30*time.Hour), kickoff(2, time.Hour)
	late.Asking = []state.JoinRequest{{Person: state.Person{ID: "U99", Name: "Mika"}}}
	h := HomePage{Viewer: "U1", Now: m.Now, Kickoffs: []state.Kickoff{late, soon}}
	got := plaintext.Blocks(home(h).Blocks.BlockSet)
	order := []string{"Waiting for you", "Closes in 1h0m0s", "Closes in 30h0m0s", "Mika asks", "Your kickoffs"}
	for i := range len(order) - 1 {
		a, b := strings.Index(got, order[i]), strings.Index(got, order[i+1])
		assert.True(t, a >= 0 && a < b, "%q does not come before %q:\n%s", order[i], order[i+1], got)
	}
	for i, b := range buttonsIn(home(h).Blocks.BlockSet) {
		assert.Equal(t, i == 0, b.Style == slack.StylePrimary, "button %d, %q, stands out", i, b.Text.Text)
	}
}

func TestTheLeadsControlsStandOnTheirHome(t *testing.T) {
	m := momentAt(t, "framing")
	lead := labelsOf(home(HomePage{Viewer: "U1", Now: m.Now, Kickoffs: []state.Kickoff{m.K}}))
	for _, want := range []string{"Set My Hours", "Stop Reminders", "Who Is Missing", "More"} {
		assert.Contains(t, lead, want, "the lead has %q, without", lead)
	}
	other := labelsOf(home(HomePage{Viewer: "U3", Now: m.Now, Kickoffs: []state.Kickoff{m.K}}))
	assert.Equal(t, []string{"Choose", "Ask a Question", "Set My Hours", "Stop Reminders", "Start a Kickoff"}, other, "somebody else")
}

// A lead sees what waits to be settled, until it is.
func TestHomeAsksTheLeadToSettle(t *testing.T) {
	for at, want := range map[string]string{
		"framing/settling":  "Please settle the problem.",
		"roles/settling":    "Please settle who does what.",
		"timebox/settling":  "Please set the time box.",
		"underway/settling": "Please settle the decision:",
		"close":             "Preview the Summary",
	} {
		m := momentAt(t, at)
		for viewer, waits := range map[state.UserID]bool{"U1": true, "U2": false} {
			view := home(HomePage{Viewer: viewer, Now: m.Now, Kickoffs: []state.Kickoff{m.K}})
			got := plaintext.Blocks(view.Blocks.BlockSet)
			assert.Equal(t, strings.Contains(got, want), waits, "at %s %s reads that it waits: %v, want %v:\n%s", at, viewer, !waits, waits, got)
			once := map[string]bool{}
			for _, label := range labelsOf(view) {
				assert.False(t, once[label], "at %s %s has %s twice", at, viewer, label)
				once[label] = true
			}
		}
	}
}

func TestLeftText(t *testing.T) {
	now := time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)
	for left, want := range map[time.Duration]string{
		-time.Minute:     "any moment now",
		0:                "any moment now",
		10 * time.Second: "in 1 minute",
		89 * time.Minute: "in 89 minutes",
		90 * time.Minute: "in about 2 hours",
		35 * time.Hour:   "in about 35 hours",
		36 * time.Hour:   "in about 2 days",
		59 * time.Hour:   "in about 2 days",
		60 * time.Hour:   "in about 3 days",
		240 * time.Hour:  "in about 10 days",
	} {
		assert.Equal(t, want, leftText(now, now.Add(left)), "with %v left", left)
	}
}

// What somebody expects of a test is one tap on their home tab, until they have said it.
func TestHomeAsksWhatIsExpected(t *testing.T) {
	m := momentAt(t, "underway")
	home := func(k state.Kickoff) string {
		return plaintext.Blocks(Home(HomePage{Viewer: "U2", Now: m.Now, Command: "/soundings", Kickoffs: []state.Kickoff{k}}).Blocks.BlockSet)
	}
	k := m.K
	asked := flows.ToForesee(&k)
	require.NotEmpty(t, asked)
	assert.Contains(t, home(k), "What do you expect?")
	k.Foresight = maps.Clone(k.Foresight)
	if k.Foresight == nil {
		k.Foresight = map[int]state.Foresight{}
	}
	for _, test := range asked {
		k.Foresight[test.N] = state.Foresight{Said: map[state.UserID]int{"U2": 70}}
	}
	assert.NotContains(t, home(k), "What do you expect?")
}
