package fakeslack

import (
	"bytes"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
)

func TestAFileInThreeSteps(t *testing.T) {
	l := newFixture(t)
	parent := l.post(slack.MsgOptionText("summary", false))
	f, err := l.api.UploadFile(slack.UploadFileParameters{
		Filename: "map.png", Title: "Map", AltTxt: "Two assumptions, one of them untested", Content: "pixels", FileSize: 6,
		Channel: l.channel, ThreadTimestamp: parent,
	})
	require.NoError(t, err)
	files := l.team.Files()
	require.Len(t, files, 1, "files")
	got := files[0]
	assert.Equal(t, f.ID, got.ID, "file: got %+v", got)
	assert.Equal(t, "Map", got.Title, "file: got %+v", got)
	assert.NotEqual(t, "", got.AltText, "file: got %+v", got)
	assert.Equal(t, "pixels", string(got.Content), "file: got %+v", got)
	assert.Equal(t, "image/png", got.Type, "file: got %+v", got)
	messages := l.team.Messages(l.channel)
	shown := messages[len(messages)-1]
	assert.Equal(t, []string{f.ID}, shown.Files, "message with the file: got %+v", shown)
	assert.Equal(t, parent, shown.ThreadTS, "message with the file: got %+v", shown)
	thread, _, _, err := l.api.GetConversationReplies(&slack.GetConversationRepliesParameters{ChannelID: l.channel, Timestamp: parent})
	require.NoError(t, err, "thread")
	require.Len(t, thread, 2, "thread")
	require.Len(t, thread[1].Files, 1, "files in the thread")
	var back bytes.Buffer
	assert.NoError(t, l.api.GetFile(thread[1].Files[0].URLPrivate, &back), "read back")
	assert.Equal(t, "pixels", back.String(), "read back")
}

func TestAFileMayComeAsTheBareBody(t *testing.T) {
	l := newFixture(t)
	up := l.raw("files.getUploadURLExternal", map[string]any{"filename": "plan.ics", "length": 4})
	require.True(t, up["ok"] == true, up)
	for _, c := range []struct {
		rule, body string
		status     int
		answer     string
	}{
		{"other bytes than announced", "dates", http.StatusBadRequest, "5 bytes came, 4 were announced\n"},
		{"as announced", "date", http.StatusOK, "OK - 4"},
	} {
		resp, err := http.Post(up["upload_url"].(string), "application/octet-stream", strings.NewReader(c.body))
		require.NoError(t, err)
		body, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		assert.Equal(t, c.status, resp.StatusCode, "%s: got %d %q", c.rule, resp.StatusCode, body)
		assert.Equal(t, c.answer, string(body), "%s: got %d %q", c.rule, resp.StatusCode, body)
	}
	assert.Empty(t, l.team.Files(), "the file shows before its upload was completed")
	files := []any{map[string]any{"id": up["file_id"], "title": "Check-ins"}}
	for _, c := range []struct {
		rule string
		args map[string]any
		want any
	}{
		{"a person in place of a channel", map[string]any{"files": files, "channel_id": l.ana}, "invalid_arguments"},
		{"an unknown channel", map[string]any{"files": files, "channel_id": "C99999999"}, "channel_not_found"},
		{"an unknown file", map[string]any{"files": []any{map[string]any{"id": "F99999999"}}}, "file_not_found"},
		{"without files", map[string]any{"channel_id": l.channel}, "invalid_arguments"},
		{"without a channel it stays private", map[string]any{"files": files}, nil},
		{"a second time", map[string]any{"files": files}, "file_not_found"},
	} {
		assert.True(t, l.raw("files.completeUploadExternal", c.args)["error"] == c.want, c.rule)
	}
	f := l.team.Files()
	assert.Len(t, l.team.Messages(l.channel), 0, "a private file is shown")
	assert.False(t, len(f) != 1 || f[0].Title != "Check-ins" || f[0].Type != "text/calendar", "files: got %+v", f)
}

func TestPins(t *testing.T) {
	l := newFixture(t)
	ts := l.post(slack.MsgOptionText("keep", false))
	item := slack.NewRefToMessage(l.channel, ts)
	require.NoError(t, l.api.AddPin(l.channel, item))
	wantCode(t, "pinned twice", l.api.AddPin(l.channel, item), "already_pinned")
	wantCode(t, "nothing to pin", l.api.AddPin(l.channel, slack.ItemRef{}), "no_item_specified")
	wantCode(t, "an unknown ts", l.api.AddPin(l.channel, slack.NewRefToMessage(l.channel, "1.000000")), "message_not_found")
	pins := l.team.Pins(l.channel)
	assert.False(t, len(pins) != 1 || pins[0].TS != ts || !pins[0].Pinned, "pins: got %+v", pins)
	require.NoError(t, l.api.RemovePin(l.channel, item))
	wantCode(t, "unpinned twice", l.api.RemovePin(l.channel, item), "no_pin")
}

func TestBookmarks(t *testing.T) {
	l := newFixture(t)
	add := func(title, kind, link string) (slack.Bookmark, error) {
		return l.api.AddBookmark(l.channel, slack.AddBookmarkParameters{Title: title, Type: kind, Link: link})
	}
	b, err := add("Summary", "link", "https://example.org/a")
	require.NoError(t, err)
	_, err = add("", "link", "https://example.org")
	wantCode(t, "without a title", err, "invalid_arguments")
	_, err = add("x", "folder", "https://example.org")
	wantCode(t, "not a link", err, "invalid_bookmark_type")
	_, err = add("x", "link", "javascript:alert(1)")
	wantCode(t, "a link that is none", err, "invalid_link")
	got := l.team.Bookmarks(l.channel)
	assert.False(t, len(got) != 1 || got[0].Title != "Summary" || got[0].Link != "https://example.org/a", "bookmarks: got %+v", got)
	require.NoError(t, l.api.RemoveBookmark(l.channel, b.ID))
	wantCode(t, "removed twice", l.api.RemoveBookmark(l.channel, b.ID), "not_found")
	list, err := l.api.ListBookmarks(l.channel)
	assert.NoError(t, err, "list")
	assert.Empty(t, list, "list")
}

func TestCanvases(t *testing.T) {
	l := newFixture(t)
	page := func(s string) slack.DocumentContent { return slack.DocumentContent{Type: "markdown", Markdown: s} }
	id, err := l.api.CreateChannelCanvas(l.channel, page("# Kickoff"))
	require.NoError(t, err)
	_, err = l.api.CreateChannelCanvas(l.channel, page("again"))
	wantCode(t, "a second canvas of the channel", err, "channel_canvas_already_exists")
	edit := func(changes ...slack.CanvasChange) error {
		return l.api.EditCanvas(slack.EditCanvasParams{CanvasID: id, Changes: changes})
	}
	end := slack.CanvasChange{Operation: "insert_at_end", DocumentContent: page("The end")}
	require.NoError(t, edit(end))
	wantCode(t, "two changes at once", edit(end, end), "invalid_arguments")
	wantCode(t, "an unknown change", edit(slack.CanvasChange{Operation: "shuffle", DocumentContent: page("x")}), "invalid_arguments")
	got := l.team.Canvases()
	assert.False(t, len(got) != 1 || got[0].Markdown != "# Kickoff\n\nThe end" || got[0].Channel != l.channel, "canvases: got %+v", got)
	c, _ := l.team.Channel(l.channel)
	assert.Equal(t, id, c.Canvas, "the channel's canvas")
	err = edit(slack.CanvasChange{Operation: "replace", DocumentContent: page("anew")})
	assert.False(t, err != nil || l.team.Canvases()[0].Markdown != "anew", "replaced: got %q, %v", l.team.Canvases()[0].Markdown, err)
	without := newFixture(t, func(c *Config) { c.NoCanvases = true })
	_, err = without.api.CreateCanvas("x", page("x"))
	wantCode(t, "a workplace without canvases", err, "canvas_disabled_user_team")
}

// Source: the page on handling interactions: five uses within half an hour.
func TestAResponseURLIsGoodFiveTimesInHalfAnHour(t *testing.T) {
	l := newFixture(t)
	l.trigger()
	address := l.bot.interaction().ResponseURL
	answer := func() error {
		_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionResponseURL(address, "ephemeral"), slack.MsgOptionText("noted", false))
		return err
	}
	for i := range 5 {
		require.NoError(t, answer(), "use %d", i+1)
	}
	err := answer()
	assert.Error(t, err, "the sixth use")
	assert.Contains(t, err.Error(), "404", "the sixth use")
	got := l.team.Client.Ephemerals(l.channel, l.ana)
	assert.Len(t, got, 5, "ana sees %d answers, want 5", len(got))
	l.trigger()
	address = l.bot.interaction().ResponseURL
	l.clock.add(30*time.Minute + time.Second)
	err = answer()
	assert.Error(t, err, "after half an hour")
	assert.Contains(t, err.Error(), "404", "after half an hour")
}

func TestWhatAResponseURLCanDo(t *testing.T) {
	l := newFixture(t)
	button := `[{"type":"actions","block_id":"b","elements":[{"type":"button","action_id":"go","text":{"type":"plain_text","text":"Go"}}]}]`
	pressed := func() (ts, address string) {
		ts = l.postBlocks(button)
		l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
		return ts, l.bot.interaction().ResponseURL
	}
	ts, address := pressed()
	_, _, err := l.api.PostMessage("", slack.MsgOptionReplaceOriginal(address), slack.MsgOptionText("done", false))
	require.NoError(t, err)
	m, _ := l.team.Message(l.channel, ts)
	assert.Equal(t, "done", m.Text, "replaced: got %+v", m)
	assert.Empty(t, m.Blocks, "replaced: got %+v", m)
	_, address = pressed()
	_, _, err = l.api.PostMessage("", slack.MsgOptionResponseURL(address, "in_channel"), slack.MsgOptionText("for all", false))
	wantCode(t, "in the channel", err, "invalid_arguments")
	_, address = pressed()
	_, _, err = l.api.PostMessage("", slack.MsgOptionResponseURL(address, "ephemeral"),
		slack.MsgOptionBlocks(slack.NewHeaderBlock(slack.NewTextBlockObject("plain_text", "", false, false))))
	wantCode(t, "blocks that are not good", err, "invalid_blocks")
}

func TestAnEphemeralMessageChangesByItsResponseURLOnly(t *testing.T) {
	l := newFixture(t)
	button := slack.NewActionBlock("b", slack.NewButtonBlockElement("go", "", slack.NewTextBlockObject("plain_text", "Go", false, false)))
	ts, err := l.api.PostEphemeral(l.channel, l.ana, slack.MsgOptionBlocks(button))
	require.NoError(t, err)
	assert.Error(t, l.team.Client.Press(t.Context(), l.ben, Where{Channel: l.channel, TS: ts}, "go", "", blockkit.Value{}), "ben pressed a button that only ana sees")
	l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
	ic := l.bot.interaction()
	assert.True(t, ic.Container.IsEphemeral, "container: got %+v", ic.Container)
	assert.Equal(t, ts, ic.Container.MessageTs, "container: got %+v", ic.Container)
	_, _, err = l.api.PostMessage("", slack.MsgOptionReplaceOriginal(ic.ResponseURL), slack.MsgOptionText("thanks", false))
	require.NoError(t, err)
	got := l.team.Client.Ephemerals(l.channel, l.ana)
	assert.False(t, len(got) != 1 || got[0].Text != "thanks" || got[0].TS != ts, "ana sees %+v", got)
}

func TestResponseURLsTakeFormsAndRefuseStrangers(t *testing.T) {
	l := newFixture(t)
	resp, err := http.PostForm(l.url+"/response/R99999999", url.Values{"text": {"x"}})
	require.NoError(t, err)
	resp.Body.Close()
	assert.Equal(t, http.StatusNotFound, resp.StatusCode, "a made-up address")
}
