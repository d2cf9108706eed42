package bot_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/flows/state"
)

// inChannel counts the messages of the bot in the kickoff's channel.
func (h *testBot) inChannel() int { return len(h.ws.Messages(h.channel)) }

// startIn fills in the form that begins a kickoff and sends it once, and gives
// what is then open, if anything.
func (h *testBot) startIn(channel string) (fakeslack.View, bool) {
	h.t.Helper()
	h.must(h.ws.Client.Command(h.t.Context(), h.ids["ana"], channel, "/soundings", "start"))
	h.pressIn("ana", "turn/brief.start", "")
	h.fill("ana", text("title", "Bicycles at the "+mark), text("problem", written("nobody knows")), entry{"people", blockkit.Value{IDs: h.all("bo")}}, choice("pace", "2"))
	return h.sendOnce()
}

func (h *testBot) sendOnce() (fakeslack.View, bool) {
	h.t.Helper()
	faults, err := h.ws.Client.Submit(h.t.Context(), h.ids["ana"], h.top("ana").ID)
	require.NoError(h.t, err, "sent")
	require.Empty(h.t, faults, "sent")
	h.settle()
	return h.ws.Client.TopView(h.ids["ana"])
}

// TestStartingWhereOthersRead begins a kickoff in a channel that is shared
// with another company, or about to be: nothing is posted before the lead has
// said so, which takes one more tap, and nothing is typed twice.
func TestStartingWhereOthersRead(t *testing.T) {
	t.Parallel()
	for _, one := range []struct {
		name    string
		channel fakeslack.Channel
	}{
		{"shared", fakeslack.Channel{Name: "pier", ExtShared: true}},
		{"about to be shared", fakeslack.Channel{Name: "pier", Invited: true}},
	} {
		t.Run(one.name, func(t *testing.T) {
			h := newTestBot(t, options{})
			one.channel.Members = append([]string{h.ws.BotUser()}, h.all("ana", "bo", "jon")...)
			h.channel = h.ws.AddChannel(one.channel)
			calls := h.counted()
			v, asked := h.startIn(h.channel)
			require.True(t, asked, "the lead is not asked; the form is %q", v.Title)
			require.Contains(t, wordsOf(v.Blocks), "Another company reads this channel", "the lead is not asked; the form is %q", v.Title)
			require.Equal(t, 0, h.inChannel(), "before the lead has said so: %v", calls)
			require.Equal(t, 0, calls["chat.postMessage"], "before the lead has said so: %v", calls)
			require.Equal(t, 0, calls["users.info"], "before the lead has said so: %v", calls)
			v, asked = h.sendOnce()
			require.False(t, asked, "said so, the form is still open: %s", wordsOf(v.Blocks))
			k, err := h.bot.Kickoffs.Load(t.Context(), h.key())
			h.must(err)
			assert.False(t, k.Brief.Problem != written("nobody knows") || k.Pace != 2 || len(k.People) != 2 || !k.Seen.Agreed || k.Seen.By != state.UserID(h.ids["ana"]), "the kickoff begins with %+v, pace %d, %d people, %+v", k.Brief, k.Pace, len(k.People), k.Seen)
			assert.Equal(t, 1, h.inChannel(), "in the channel stand %d messages", h.inChannel())
		})
	}
}

// TestStartingElsewhereInstead chooses another channel on the second page.
func TestStartingElsewhereInstead(t *testing.T) {
	t.Parallel()
	h := newTestBot(t, options{})
	shared := h.ws.AddChannel(fakeslack.Channel{Name: "pier", ExtShared: true, Members: append([]string{h.ws.BotUser()}, h.all("ana", "bo", "jon")...)})
	_, asked := h.startIn(shared)
	require.True(t, asked, "the lead is not asked")
	h.fill("ana", entry{"channel", blockkit.Value{ID: h.channel}})
	v, asked := h.sendOnce()
	require.False(t, asked, "with another channel, the form is still open: %s", wordsOf(v.Blocks))
	got := len(h.ws.Messages(shared))
	assert.Equal(t, 0, got, "in the shared channel stand %d messages, in the other", got)
	assert.Equal(t, 1, h.inChannel(), "in the shared channel stand %d messages, in the other", got)
}

// TestPostingWhereOthersRead shares the channel while the kickoff runs. Its
// lead hears of it at once; the summary, its files, canvas and bookmark wait
// for the lead's word, whatever the clock says.
func TestPostingWhereOthersRead(t *testing.T) {
	t.Parallel()
	needsAll(t)
	h := newTestBot(t, options{})
	h.playTo("timebox")
	h.must(h.ws.Share(t.Context(), h.channel, true))
	h.settle()
	got := h.slots()["outside/@"+h.ids["ana"]]
	assert.Equal(t, 1, got, "the lead has %d notes", got)
	before := h.inChannel()
	h.press("ana", "do/close.post")
	h.settle()
	require.Contains(t, wordsOf(h.top("ana").Blocks), "Another company reads this channel", "the lead is not asked, or something is posted")
	require.Equal(t, before, h.inChannel(), "the lead is not asked, or something is posted")
	h.close("ana")
	h.holds()
	h.press("ana", "do/close.post")
	h.send("ana")
	h.settle()
	assert.Equal(t, 1, h.slots()["summary"], "with the lead's word")
	assert.Len(t, h.ws.Canvases(), 1, "with the lead's word")
	assert.Len(t, h.ws.Bookmarks(h.channel), 1, "with the lead's word")
}

// holds lets days pass in which the lead says nothing, and nothing is posted.
func (h *testBot) holds() {
	h.t.Helper()
	for until := h.clock.Now().AddDate(0, 0, 4); h.clock.Now().Before(until); {
		h.work()
	}
	got := h.slots()
	require.Equal(h.t, 0, got["summary"], "the clock posts it: %v", got)
	require.Empty(h.t, h.ws.Canvases(), "the clock posts it: %v", got)
	require.Empty(h.t, h.ws.Bookmarks(h.channel), "the clock posts it: %v", got)
}

// TestTheClockPostsNothingToOthers loses the platform's event, so that nobody
// has been told when the clock would post the summary.
func TestTheClockPostsNothingToOthers(t *testing.T) {
	t.Parallel()
	needsAll(t)
	h := newTestBot(t, options{})
	h.playTo("timebox")
	h.front.deliver = func(w http.ResponseWriter, _ func() *http.Request) { w.WriteHeader(http.StatusOK) }
	h.must(h.ws.Share(t.Context(), h.channel, true))
	h.front.deliver = nil
	h.holds()
	got := h.slots()["outside/@"+h.ids["ana"]]
	assert.Equal(t, 1, got, "the lead has %d notes", got)
}
