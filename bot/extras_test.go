package bot_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/manifest"
	"soundings/flows"
)

// playTo goes through the scenes up to the end of one.
func (h *testBot) playTo(stage string) {
	h.t.Helper()
	for _, s := range script() {
		s.play(h)
		if s.stage == stage {
			return
		}
	}
}

// needsAll skips a test where only a part of the script is played.
func needsAll(t *testing.T) {
	t.Helper()
	if scenesPlayed < len(script()) {
		t.Skip("only the first scenes are played here")
	}
}

// extrasNotes are the words of what the lead was told about the extras.
func (h *testBot) extrasNotes() []string {
	var out []string
	for _, name := range participants {
		for _, m := range h.ws.Messages(h.ws.DM(h.ids[name])) {
			if slot, _ := m.Metadata.EventPayload["slot"].(string); strings.HasPrefix(slot, flows.ScreenExtras+"/") {
				out = append(out, wordsOf(m.Blocks))
			}
		}
	}
	return out
}

// counted counts the calls of the Web API from now on.
func (h *testBot) counted() map[string]int {
	calls := map[string]int{}
	h.ws.OnCall(func(c fakeslack.Call) { calls[c.Method]++ })
	return calls
}

func TestSummaryHasACanvasAndABookmark(t *testing.T) {
	t.Parallel()
	needsAll(t)
	h := newTestBot(t, options{})
	h.playTo("timebox")
	calls := h.counted()
	theClose(h)
	canvases, bookmarks := h.ws.Canvases(), h.ws.Bookmarks(h.channel)
	require.Len(t, canvases, 1, "canvases")
	require.Equal(t, h.channel, canvases[0].Channel, "canvases")
	require.Contains(t, canvases[0].Markdown, "ask the harbour", "canvases")
	// The link's form is the platform's: archives, the channel, p and the digits of the message.
	require.Len(t, bookmarks, 1, "bookmarks")
	require.Contains(t, bookmarks[0].Link, "/archives/"+h.channel+"/p", "bookmarks")
	for range 3 { // late changes are gathered
		h.act("bo", "open/close.action", text("what", written("one more thing "+bookmarks[0].ID)), person("owner", h.ids["bo"]), entry{"due", blockkit.Value{Date: "2027-03-31"}})
	}
	h.settle()
	assert.NotContains(t, h.ws.Canvases()[0].Markdown, "one more thing", "a late action is on the canvas at once")
	theDiscovery(h)
	got := h.ws.Canvases()
	assert.False(t, len(got) != 1 || !strings.Contains(got[0].Markdown, "one more thing") || !strings.Contains(got[0].Markdown, "It has ended: build"), "the canvas at the end: got %+v", got)
	assert.Empty(t, h.ws.Bookmarks(h.channel), "at the end there are bookmarks")
	assert.False(t, calls["canvases.edit"] > 3 || calls["conversations.canvases.create"] != 1 || calls["canvases.create"] != 0 || calls["bookmarks.add"] != 1 || calls["bookmarks.list"] != 0, "calls: got %v", calls)
	assert.Empty(t, h.extrasNotes(), "the lead is told")
}

// granted is what a workplace grants that took some scopes away.
func granted(without ...string) func(*fakeslack.Config) {
	return func(c *fakeslack.Config) {
		c.Scopes = manifest.NeededScopes()
		for _, s := range manifest.OptionalScopes() {
			if !slices.Contains(without, s.Name) {
				c.Scopes = append(c.Scopes, s.Name)
			}
		}
	}
}

// TestEveryFaultOfAnExtraIsToldOnce plays a kickoff in workplaces that do not have
// the one or the other, to its summary, and where they have neither to its end. The
// stages go on, the thread has it all, and the lead gets one note, with the mend.
func TestEveryFaultOfAnExtraIsToldOnce(t *testing.T) {
	t.Parallel()
	needsAll(t)
	for _, one := range []struct {
		name      string
		workplace func(*fakeslack.Config)
		before    func(*testBot)
		want      []string
	}{
		{"no scope for canvases", granted("canvases:write"), nil, []string{"No canvas: ", "“canvases:write”"}},
		{"no scope for bookmarks", granted("bookmarks:write"), nil, []string{"No bookmark: ", "“bookmarks:write”"}},
		{"neither", granted("canvases:write", "bookmarks:write"), nil, []string{"No canvas: ", "No bookmark: "}},
		{"canvases switched off", func(c *fakeslack.Config) { c.NoCanvases = true }, nil, []string{"No canvas: ", "switched them off"}},
		{"a free plan, and a canvas there", func(c *fakeslack.Config) { c.FreePlan = true }, func(h *testBot) {
			_, err := adminWriteCanvas(h.ws, h.channel, "Ours, by hand")
			h.must(err)
		}, []string{"No canvas: ", "I leave theirs as it is"}},
		{"a header that is full", nil, func(h *testBot) {
			for range 100 {
				h.call("bookmarks.add", map[string]any{"channel_id": h.channel, "title": "x", "type": "link", "link": "https://example.org/"})
			}
		}, []string{"No bookmark: ", "is full"}},
	} {
		t.Run(one.name, func(t *testing.T) {
			h := newTestBot(t, options{workspace: one.workplace})
			if one.before != nil {
				one.before(h)
			}
			h.playTo("close")
			if one.name == "neither" {
				theDiscovery(h)
				assert.Equal(t, 1, h.slots()["outcome/1"])
			}
			notes := h.extrasNotes()
			require.Len(t, notes, 1, "the lead is told %d times", len(notes))
			for _, words := range one.want {
				assert.Contains(t, notes[0], words, "the note does not say")
			}
			got := h.slots()
			assert.False(t, got["summary"] != 1 || got["part/actions"] != 1, "messages: got %v", got)
			for _, c := range h.ws.Canvases() {
				assert.False(t, c.Markdown != "Ours, by hand" && one.want[0] == "No canvas: ", "there is a canvas: %+v", c)
			}
		})
	}
}

// TestWhatPeopleWroteStays gives the channel a canvas before the kickoff
// closes: the summary gets a tab of its own.
func TestWhatPeopleWroteStays(t *testing.T) {
	t.Parallel()
	needsAll(t)
	h := newTestBot(t, options{})
	h.playTo("timebox")
	theirs, err := adminWriteCanvas(h.ws, h.channel, "Ours, by hand")
	h.must(err)
	theClose(h)
	theDiscovery(h)
	got := h.ws.Canvases()
	assert.False(t, len(got) != 2 || got[0].ID != theirs || got[0].Markdown != "Ours, by hand" || !strings.Contains(got[1].Markdown, "It has ended"), "canvases: got %+v", got)
	c, _ := h.ws.Channel(h.channel)
	assert.False(t, c.Canvas != theirs || !slices.Equal(c.Tabs, []string{got[1].ID}), "the channel has the canvas %s and the tabs %v", c.Canvas, c.Tabs)
}

// TestADeletedCanvasIsMadeAnewOnce deletes the canvas before each of the next
// drawings.
func TestADeletedCanvasIsMadeAnewOnce(t *testing.T) {
	t.Parallel()
	needsAll(t)
	h := newTestBot(t, options{})
	h.playTo("close")
	deleted := func(canvases, notes int) {
		t.Helper()
		got := h.ws.Canvases()
		require.Len(t, got, canvases, "deleted, there are %d canvases", len(got))
		require.Len(t, h.extrasNotes(), notes, "the lead is told")
	}
	h.must(adminDeleteCanvas(h.ws, h.ws.Canvases()[0].ID))
	h.act("bo", "open/close.action", text("what", written("one more thing")), person("owner", h.ids["bo"]), entry{"due", blockkit.Value{Date: "2027-03-31"}})
	h.await("checkin/1")
	deleted(1, 0)
	h.must(adminDeleteCanvas(h.ws, h.ws.Canvases()[0].ID))
	h.sayConfidence("ana", "6")
	h.await("moved/1")
	deleted(0, 1)
	calls := h.counted()
	h.press("ana", "do/lead.decide")
	h.settle()
	for _, who := range participants {
		h.press(who, "do/decision.vote", "build")
	}
	h.settle()
	h.press("ana", "do/decision.settle", "build")
	h.settle()
	assert.Equal(t, 0, calls["conversations.canvases.create"]+calls["canvases.create"]+calls["canvases.edit"], "let be, it is not let be: %v", calls)
	assert.Len(t, h.extrasNotes(), 1, "let be, it is not let be: %v", calls)
}

// A lostAnswer takes some calls to the platform and loses the answer to each, once.
type lostAnswer struct {
	methods []string
	lost    int
}

func (l *lostAnswer) RoundTrip(r *http.Request) (*http.Response, error) {
	answer, err := transport.RoundTrip(r)
	at := slices.IndexFunc(l.methods, func(m string) bool { return strings.HasSuffix(r.URL.Path, m) })
	if err == nil && at >= 0 {
		l.methods = slices.Delete(l.methods, at, at+1)
		l.lost++
		_ = answer.Body.Close()
		return nil, errCrashed
	}
	return answer, err
}

// TestALostAnswerMakesNoSecondOne loses the answer to what was made.
func TestALostAnswerMakesNoSecondOne(t *testing.T) {
	t.Parallel()
	needsAll(t)
	for _, one := range []struct {
		name     string
		methods  []string
		canvases int
	}{
		{"of the channel's own canvas, and of the bookmark", []string{"/conversations.canvases.create", "/bookmarks.add"}, 1},
		{"of a canvas beside another", []string{"/api/canvases.create"}, 2},
	} {
		t.Run(one.name, func(t *testing.T) {
			want := len(one.methods)
			l := &lostAnswer{methods: one.methods}
			h := newTestBot(t, options{transport: l})
			if one.canvases > 1 {
				_, err := adminWriteCanvas(h.ws, h.channel, "Ours, by hand")
				h.must(err)
			}
			h.playTo("close")
			h.await("checkin/1")
			assert.Equal(t, want, l.lost, "answers that were lost")
			assert.Len(t, h.ws.Canvases(), one.canvases)
			assert.Len(t, h.ws.Bookmarks(h.channel), 1)
			assert.Empty(t, h.extrasNotes(), "the lead is told")
		})
	}
}

// resultOf is what the message of a round's result says, and the file that it shows.
func (h *testBot) resultOf(round string) (words, picture string) {
	for _, m := range h.ws.Messages(h.channel) {
		if m.Metadata == nil || m.Metadata.EventPayload["slot"] != flows.ScreenResult+"/rating/"+round {
			continue
		}
		words = wordsOf(m.Blocks)
		for _, b := range m.Blocks {
			if file, is := b["slack_file"].(map[string]any); is {
				picture, _ = file["id"].(string)
			}
		}
	}
	return words, picture
}

// The platform takes a while until a file may stand in a message, as the stand-in does;
// where it never may, the result stands without, and not with the map of an earlier count.
func TestAResultShowsItsMap(t *testing.T) {
	t.Parallel()
	needsAll(t)
	h := newTestBot(t, options{})
	h.playTo("assumptions")
	for _, who := range participants {
		h.rate(who, "3")
	}
	h.settle()
	words, picture := h.resultOf("1")
	require.Contains(t, words, "rated, each alone", "the result")
	f, there := h.ws.File(picture)
	require.True(t, there, "the result shows no file")
	assert.Equal(t, "map.png", f.Name)

	h.press("ana", "do/lead.reopen")
	h.settle()
	h.refuser.refuseBlocks("slack_file", "invalid_blocks")
	for _, who := range participants {
		h.rate(who, "4")
	}
	h.settle()
	words, picture = h.resultOf("1")
	assert.Contains(t, words, "rated, each alone", "the result waits for its map")
	assert.Empty(t, picture, "the map was refused")
}
