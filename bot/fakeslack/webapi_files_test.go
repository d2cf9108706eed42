package fakeslack

import (
	"bytes"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/blockkit"
)

func TestAFileInThreeSteps(t *testing.T) {
	l := newLab(t)
	parent := l.post(slack.MsgOptionText("summary", false))
	f, err := l.api.UploadFile(slack.UploadFileParameters{
		Filename: "map.png", Title: "Map", AltTxt: "Two assumptions, one of them untested", Content: "pixels", FileSize: 6,
		Channel: l.channel, ThreadTimestamp: parent, InitialComment: "The map",
	})
	if err != nil {
		t.Fatal(err)
	}
	files := l.ws.Files()
	if len(files) != 1 {
		t.Fatalf("files: got %d, want 1", len(files))
	}
	got := files[0]
	if got.ID != f.ID || got.Title != "Map" || got.AltText == "" || string(got.Content) != "pixels" || got.Type != "image/png" {
		t.Errorf("file: got %+v", got)
	}
	messages := l.ws.Messages(l.channel)
	shown := messages[len(messages)-1]
	if !slices.Equal(shown.Files, []string{f.ID}) || shown.Text != "The map" || shown.ThreadTS != parent {
		t.Errorf("message with the file: got %+v", shown)
	}
	info, _, _, err := l.api.GetFileInfo(f.ID, 0, 0)
	if err != nil || info.Shares.Public[l.channel][0].Ts != shown.TS {
		t.Errorf("info: got %+v, %v, want the share %s", info, err, shown.TS)
	}
	var back bytes.Buffer
	if err := l.api.GetFile(info.URLPrivate, &back); err != nil || back.String() != "pixels" {
		t.Errorf("read back: got %q, %v", back.String(), err)
	}
}

func TestAFileMayComeAsTheBareBody(t *testing.T) {
	l := newLab(t)
	up := l.raw("files.getUploadURLExternal", map[string]any{"filename": "plan.ics", "length": 4})
	if up["ok"] != true {
		t.Fatal(up)
	}
	for _, c := range []struct {
		rule, body string
		status     int
		answer     string
	}{
		{"other bytes than announced", "dates", http.StatusBadRequest, "5 bytes came, 4 were announced\n"},
		{"as announced", "date", http.StatusOK, "OK - 4"},
	} {
		resp, err := http.Post(up["upload_url"].(string), "application/octet-stream", strings.NewReader(c.body))
		if err != nil {
			t.Fatal(err)
		}
		body, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		if resp.StatusCode != c.status || string(body) != c.answer {
			t.Errorf("%s: got %d %q, want %d %q", c.rule, resp.StatusCode, body, c.status, c.answer)
		}
	}
	if len(l.ws.Files()) != 0 {
		t.Error("the file shows before its upload was completed")
	}
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
		if r := l.raw("files.completeUploadExternal", c.args); r["error"] != c.want {
			t.Errorf("%s: got %v, want %v", c.rule, r["error"], c.want)
		}
	}
	if f := l.ws.Files(); len(f) != 1 || len(f[0].Shared) != 0 || f[0].Title != "Check-ins" || f[0].Type != "text/calendar" {
		t.Errorf("files: got %+v", f)
	}
}

func TestPins(t *testing.T) {
	l := newLab(t)
	ts := l.post(slack.MsgOptionText("keep", false))
	item := slack.NewRefToMessage(l.channel, ts)
	if err := l.api.AddPin(l.channel, item); err != nil {
		t.Fatal(err)
	}
	wantCode(t, "pinned twice", l.api.AddPin(l.channel, item), "already_pinned")
	wantCode(t, "nothing to pin", l.api.AddPin(l.channel, slack.ItemRef{}), "no_item_specified")
	wantCode(t, "an unknown ts", l.api.AddPin(l.channel, slack.NewRefToMessage(l.channel, "1.000000")), "message_not_found")
	if pins := l.ws.Pins(l.channel); len(pins) != 1 || pins[0].TS != ts || !pins[0].Pinned {
		t.Errorf("pins: got %+v", pins)
	}
	items, _, err := l.api.ListPins(l.channel)
	if err != nil || len(items) != 1 || items[0].Message.Timestamp != ts {
		t.Errorf("list: got %+v, %v", items, err)
	}
	if err := l.api.RemovePin(l.channel, item); err != nil {
		t.Fatal(err)
	}
	wantCode(t, "unpinned twice", l.api.RemovePin(l.channel, item), "no_pin")
}

func TestBookmarks(t *testing.T) {
	l := newLab(t)
	add := func(title, kind, link string) (slack.Bookmark, error) {
		return l.api.AddBookmark(l.channel, slack.AddBookmarkParameters{Title: title, Type: kind, Link: link})
	}
	b, err := add("Summary", "link", "https://example.org/a")
	if err != nil {
		t.Fatal(err)
	}
	_, err = add("", "link", "https://example.org")
	wantCode(t, "without a title", err, "invalid_arguments")
	_, err = add("x", "folder", "https://example.org")
	wantCode(t, "not a link", err, "invalid_bookmark_type")
	_, err = add("x", "link", "javascript:alert(1)")
	wantCode(t, "a link that is none", err, "invalid_link")
	title := "Summary, final"
	if b, err = l.api.EditBookmark(l.channel, b.ID, slack.EditBookmarkParameters{Title: &title}); err != nil || b.Title != title || b.Link != "https://example.org/a" {
		t.Errorf("edited: got %+v, %v", b, err)
	}
	if got := l.ws.Bookmarks(l.channel); len(got) != 1 || got[0].Title != title {
		t.Errorf("bookmarks: got %+v", got)
	}
	if err := l.api.RemoveBookmark(l.channel, b.ID); err != nil {
		t.Fatal(err)
	}
	wantCode(t, "removed twice", l.api.RemoveBookmark(l.channel, b.ID), "not_found")
	if list, err := l.api.ListBookmarks(l.channel); err != nil || len(list) != 0 {
		t.Errorf("list: got %v, %v", list, err)
	}
}

func TestCanvases(t *testing.T) {
	l := newLab(t)
	page := func(s string) slack.DocumentContent { return slack.DocumentContent{Type: "markdown", Markdown: s} }
	id, err := l.api.CreateChannelCanvas(l.channel, page("# Kickoff"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = l.api.CreateChannelCanvas(l.channel, page("again"))
	wantCode(t, "a second canvas of the channel", err, "channel_canvas_already_exists")
	edit := func(changes ...slack.CanvasChange) error {
		return l.api.EditCanvas(slack.EditCanvasParams{CanvasID: id, Changes: changes})
	}
	end := slack.CanvasChange{Operation: "insert_at_end", DocumentContent: page("The end")}
	if err := edit(end); err != nil {
		t.Fatal(err)
	}
	wantCode(t, "two changes at once", edit(end, end), "invalid_arguments")
	wantCode(t, "an unknown change", edit(slack.CanvasChange{Operation: "shuffle", DocumentContent: page("x")}), "invalid_arguments")
	if got := l.ws.Canvases(); len(got) != 1 || got[0].Markdown != "# Kickoff\n\nThe end" || got[0].Channel != l.channel {
		t.Errorf("canvases: got %+v", got)
	}
	if c, _ := l.ws.Channel(l.channel); c.Canvas != id {
		t.Errorf("the channel's canvas: got %q, want %s", c.Canvas, id)
	}
	if err := edit(slack.CanvasChange{Operation: "replace", DocumentContent: page("anew")}); err != nil || l.ws.Canvases()[0].Markdown != "anew" {
		t.Errorf("replaced: got %q, %v", l.ws.Canvases()[0].Markdown, err)
	}
	without := newLab(t, func(c *Config) { c.NoCanvases = true })
	_, err = without.api.CreateCanvas("x", page("x"))
	wantCode(t, "a workplace without canvases", err, "canvas_disabled_user_team")
}

// Source: the page on handling interactions: five uses within half an hour.
func TestAResponseURLIsGoodFiveTimesInHalfAnHour(t *testing.T) {
	l := newLab(t)
	l.trigger()
	address := l.bot.interaction().ResponseURL
	answer := func() error {
		_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionResponseURL(address, "ephemeral"), slack.MsgOptionText("noted", false))
		return err
	}
	for i := range 5 {
		if err := answer(); err != nil {
			t.Fatalf("use %d: %v", i+1, err)
		}
	}
	if err := answer(); err == nil || !strings.Contains(err.Error(), "404") {
		t.Errorf("the sixth use: got %v, want 404", err)
	}
	if got := l.ws.Ephemerals(l.channel, l.ana); len(got) != 5 {
		t.Errorf("ana sees %d answers, want 5", len(got))
	}
	l.trigger()
	address = l.bot.interaction().ResponseURL
	l.clock.add(30*time.Minute + time.Second)
	if err := answer(); err == nil || !strings.Contains(err.Error(), "404") {
		t.Errorf("after half an hour: got %v, want 404", err)
	}
}

func TestWhatAResponseURLCanDo(t *testing.T) {
	l := newLab(t)
	button := `[{"type":"actions","block_id":"b","elements":[{"type":"button","action_id":"go","text":{"type":"plain_text","text":"Go"}}]}]`
	pressed := func() (ts, address string) {
		ts = l.postBlocks(button)
		l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
		return ts, l.bot.interaction().ResponseURL
	}
	ts, address := pressed()
	if _, _, err := l.api.PostMessage("", slack.MsgOptionReplaceOriginal(address), slack.MsgOptionText("done", false)); err != nil {
		t.Fatal(err)
	}
	if m, _ := l.ws.Message(l.channel, ts); m.Text != "done" || len(m.Blocks) != 0 {
		t.Errorf("replaced: got %+v", m)
	}
	ts, address = pressed()
	if _, _, err := l.api.PostMessage("", slack.MsgOptionDeleteOriginal(address)); err != nil {
		t.Fatal(err)
	}
	if _, ok := l.ws.Message(l.channel, ts); ok {
		t.Error("the original was not deleted")
	}
	_, address = pressed()
	if _, _, err := l.api.PostMessage("", slack.MsgOptionResponseURL(address, "in_channel"), slack.MsgOptionText("for all", false)); err != nil {
		t.Fatal(err)
	}
	messages := l.ws.Messages(l.channel)
	if m := messages[len(messages)-1]; m.Text != "for all" || m.EphemeralTo != "" {
		t.Errorf("in the channel: got %+v", m)
	}
	_, address = pressed()
	_, _, err := l.api.PostMessage("", slack.MsgOptionResponseURL(address, "ephemeral"),
		slack.MsgOptionBlocks(slack.NewHeaderBlock(slack.NewTextBlockObject("plain_text", "", false, false))))
	wantCode(t, "blocks that are not good", err, "invalid_blocks")
}

func TestAnEphemeralMessageChangesByItsResponseURLOnly(t *testing.T) {
	l := newLab(t)
	button := slack.NewActionBlock("b", slack.NewButtonBlockElement("go", "", slack.NewTextBlockObject("plain_text", "Go", false, false)))
	ts, err := l.api.PostEphemeral(l.channel, l.ana, slack.MsgOptionBlocks(button))
	if err != nil {
		t.Fatal(err)
	}
	if err := l.ws.Press(t.Context(), l.ben, Where{Channel: l.channel, TS: ts}, "go", "", blockkit.Value{}); err == nil {
		t.Error("ben pressed a button that only ana sees")
	}
	l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
	ic := l.bot.interaction()
	if !ic.Container.IsEphemeral || ic.Container.MessageTs != ts {
		t.Errorf("container: got %+v", ic.Container)
	}
	if _, _, err := l.api.PostMessage("", slack.MsgOptionReplaceOriginal(ic.ResponseURL), slack.MsgOptionText("thanks", false)); err != nil {
		t.Fatal(err)
	}
	if got := l.ws.Ephemerals(l.channel, l.ana); len(got) != 1 || got[0].Text != "thanks" || got[0].TS != ts {
		t.Errorf("ana sees %+v", got)
	}
}

func TestResponseURLsTakeFormsAndRefuseStrangers(t *testing.T) {
	l := newLab(t)
	resp, err := http.PostForm(l.url+"/response/R99999999", url.Values{"text": {"x"}})
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusNotFound {
		t.Errorf("a made-up address: got %d, want 404", resp.StatusCode)
	}
}
