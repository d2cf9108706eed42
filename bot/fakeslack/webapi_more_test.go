package fakeslack

import (
	"bytes"
	"encoding/json"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

func TestArgumentsMayComeAsMultipart(t *testing.T) {
	l := newLab(t)
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for key, value := range map[string]string{"token": "xoxb-form", "channel": l.channel, "text": "hello"} {
		if err := form.WriteField(key, value); err != nil {
			t.Fatal(err)
		}
	}
	if err := form.Close(); err != nil {
		t.Fatal(err)
	}
	req, _ := http.NewRequest(http.MethodPost, l.url+"/api/chat.postMessage", &body)
	req.Header.Set("Content-Type", form.FormDataContentType())
	if r := l.answerTo(req); r["ok"] != true {
		t.Errorf("got %v", r)
	}
	if m := l.ws.Messages(l.channel); len(m) != 1 || m[0].Text != "hello" {
		t.Errorf("messages: got %+v", m)
	}
}

func TestApiTestGivesBackWhatItGot(t *testing.T) {
	l := newLab(t)
	if r := l.raw("api.test", map[string]any{"foo": "bar"}); r["args"].(map[string]any)["foo"] != "bar" {
		t.Errorf("got %v", r)
	}
	if r := l.raw("api.test", map[string]any{"error": "my_error"}); r["error"] != "my_error" {
		t.Errorf("an error that was asked for: got %v", r)
	}
}

func TestAPictureNeedsAFileThatIsThere(t *testing.T) {
	l := newLab(t)
	picture := func(id string) slack.MsgOption {
		return slack.MsgOptionBlocks(typedBlocks(t, `[{"type":"image","alt_text":"the map","slack_file":{"id":"`+id+`"}}]`)...)
	}
	_, _, err := l.api.PostMessage(l.channel, picture("F99999999"))
	wantCode(t, "a file that was never uploaded", err, "invalid_blocks")
	f, err := l.api.UploadFile(slack.UploadFileParameters{Filename: "map.png", Content: "pixels", FileSize: 6})
	if err != nil {
		t.Fatal(err)
	}
	l.post(picture(f.ID))
	form := strings.Replace(plainForm, `"blocks":[`, `"blocks":[{"type":"section","text":{"type":"plain_text","text":"x"},"accessory":{"type":"image","alt_text":"x","slack_file":{"id":"F99999999"}}},`, 1)
	_, err = l.api.OpenView(l.trigger(), typedView(t, form))
	wantCode(t, "the same in a form", err, "invalid_arguments")
}

func TestHistoryShowsFiles(t *testing.T) {
	l := newLab(t)
	f, err := l.api.UploadFile(slack.UploadFileParameters{Filename: "plan.ics", AltTxt: "dates", Content: "x", FileSize: 1, Channel: l.channel})
	if err != nil {
		t.Fatal(err)
	}
	h, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel})
	if err != nil || len(h.Messages) != 1 || len(h.Messages[0].Files) != 1 {
		t.Fatalf("history: got %+v, %v", h, err)
	}
	if got := h.Messages[0].Files[0]; got.ID != f.ID || got.Mimetype != "text/calendar" || got.Name != "plan.ics" {
		t.Errorf("file: got %+v", got)
	}
}

func TestCanvasesOnTheirOwn(t *testing.T) {
	l := newLab(t)
	id, err := l.api.CreateCanvas("Kickoff", slack.DocumentContent{})
	if err != nil {
		t.Fatal(err)
	}
	for _, change := range []map[string]any{
		{"operation": "insert_at_start", "document_content": map[string]any{"type": "markdown", "markdown": "body"}},
		{"operation": "insert_at_start", "document_content": map[string]any{"type": "markdown", "markdown": "head"}},
		{"operation": "rename", "title_content": map[string]any{"type": "markdown", "markdown": "Kickoff, done"}},
	} {
		if r := l.raw("canvases.edit", map[string]any{"canvas_id": id, "changes": []any{change}}); r["ok"] != true {
			t.Errorf("%v: got %v", change, r)
		}
	}
	if got := l.ws.Canvases()[0]; got.Markdown != "head\n\nbody" || got.Title != "Kickoff, done" || got.Channel != "" {
		t.Errorf("canvas: got %+v", got)
	}
	_, err = l.api.CreateCanvas("x", slack.DocumentContent{Type: "html", Markdown: "x"})
	wantCode(t, "something else than Markdown", err, "invalid_arguments")
}

// Source: the page on canvases.create: with a channel it stands in a tab of
// it. The codes for free plans are from there and from
// conversations.canvases.create.
func TestCanvasesInTabs(t *testing.T) {
	l := newLab(t)
	tab := slack.CreateCanvasOptionChannelID(l.channel)
	page := slack.DocumentContent{Type: "markdown", Markdown: "x"}
	own, err := l.api.CreateChannelCanvas(l.channel, page)
	if err != nil {
		t.Fatal(err)
	}
	id, err := l.api.CreateCanvas("Summary", page, tab)
	if err != nil {
		t.Fatal(err)
	}
	c, err := l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: l.channel})
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Properties; got.Canvas.FileId != own || len(got.Tabs) != 2 || got.Tabs[1].Label != "Summary" || got.Tabs[1].Data.FileID != id {
		t.Errorf("properties: got %+v", got)
	}
	if r := l.raw("canvases.delete", wire.Object{"canvas_id": id}); r["ok"] != true {
		t.Fatal(r)
	}
	err = l.api.EditCanvas(slack.EditCanvasParams{CanvasID: id, Changes: []slack.CanvasChange{{Operation: "replace", DocumentContent: page}}})
	wantCode(t, "one that somebody deleted", err, "canvas_not_found")

	free := newLab(t, func(c *Config) { c.FreePlan = true })
	_, err = free.api.CreateCanvas("x", page)
	wantCode(t, "a free plan, on its own", err, "free_teams_cannot_create_non_tabbed_canvases")
	if _, err := free.api.CreateChannelCanvas(free.channel, page); err != nil {
		t.Error(err)
	}
	_, err = free.api.CreateCanvas("x", page, slack.CreateCanvasOptionChannelID(free.channel))
	wantCode(t, "a free plan, a second one", err, "free_team_canvas_tab_already_exists")
}

// Sources: see canvasTaken.
func TestCanvasesTakeTheirMarkdown(t *testing.T) {
	l := newLab(t)
	for name, one := range map[string]struct {
		page string
		want string
	}{
		"headings":                  {"# a\n## b\n### c\n\n---\n> q", ""},
		"a heading too deep":        {"#### d", "canvas_creation_failed"},
		"a list in one of its kind": {"- a\n  - b", ""},
		"a list in another":         {"- a\n  1. b", "canvas_creation_failed"},
		"a quote in a list":         {"- a\n  > b", "canvas_creation_failed"},
		"a table of 300 cells":      {strings.Repeat("| a | b | c |\n", 100), ""},
		"a larger table":            {strings.Repeat("| a | b | c |\n", 101), "canvas_creation_failed"},
		"code":                      {"```\n#### d\n```", ""},
		"too long":                  {strings.Repeat("x", longestCanvas+1), "invalid_arguments"},
	} {
		_, err := l.api.CreateCanvas("x", slack.DocumentContent{Type: "markdown", Markdown: one.page})
		if one.want != "" {
			wantCode(t, name, err, one.want)
		} else if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Source: the pages on the events channel_shared and channel_unshared, and on
// the conversation object.
func TestAChannelIsShared(t *testing.T) {
	l := newLab(t)
	for _, on := range []bool{true, false} {
		if err := l.ws.Share(t.Context(), l.channel, on); err != nil {
			t.Fatal(err)
		}
		c, err := l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: l.channel})
		if err != nil || c.IsExtShared != on {
			t.Errorf("shared is %v (%v), want %v", c.IsExtShared, err, on)
		}
	}
}

func TestListsByKindOfChannel(t *testing.T) {
	l := newLab(t)
	l.ws.AddChannel(Channel{Name: "crew", Private: true, Members: []string{l.ws.BotUser()}})
	l.ws.DM(l.ana)
	if _, _, _, err := l.api.OpenConversation(&slack.OpenConversationParameters{Users: []string{l.ana, l.ben}}); err != nil {
		t.Fatal(err)
	}
	for kind, want := range map[string]int{"public_channel": 1, "private_channel": 1, "im": 1, "mpim": 1, "im,mpim": 2} {
		got, _, err := l.api.GetConversations(&slack.GetConversationsParameters{Types: strings.Split(kind, ",")})
		if err != nil || len(got) != want {
			t.Errorf("%s: got %d, %v, want %d", kind, len(got), err, want)
		}
	}
}

func TestProfilesChange(t *testing.T) {
	l := newLab(t)
	u, ok := l.ws.User(l.ana)
	if !ok {
		t.Fatal("ana is unknown")
	}
	u.Zone = "America/St_Johns"
	if id := l.ws.AddUser(u); id != l.ana || len(l.ws.Users()) != 3 {
		t.Fatalf("a changed profile is of %s, want %s, among %d users", id, l.ana, len(l.ws.Users()))
	}
	if got, err := l.api.GetUserInfo(l.ana); err != nil || got.TZ != "America/St_Johns" {
		t.Errorf("zone: got %s, %v", got.TZ, err)
	}
}

func TestBlocksGoOutAsTheyCameIn(t *testing.T) {
	l := newLab(t)
	const blocks = `[{"block_id":"b","elements":[{"elements":[{"text":"<a> & \"b\"","type":"text"}],"type":"rich_text_section"}],"type":"rich_text"}]`
	ts := l.postBlocks(blocks)
	m, _ := l.ws.Message(l.channel, ts)
	if got := string(wire.Encode(m.Blocks)); got != blocks {
		t.Errorf("got %s, want %s", got, blocks)
	}
}

func TestRarerElements(t *testing.T) {
	l := newLab(t)
	reaction := `{"text":{"type":"plain_text","text":"Good"},"value":"up"}`
	dm := l.ws.DM(l.ana)
	_, ts, err := l.api.PostMessage(dm, slack.MsgOptionBlocks(typedBlocks(t, `[
{"type":"context_actions","block_id":"c","elements":[{"type":"feedback_buttons","action_id":"rate","positive_button":`+reaction+`,"negative_button":`+strings.Replace(reaction, "up", "down", 1)+`},
 {"type":"icon_button","action_id":"bin","icon":"trash","value":"v","text":{"type":"plain_text","text":"Remove"}}]},
{"type":"actions","block_id":"a","elements":[{"type":"rich_text_input","action_id":"rich"}]}]`)...))
	if err != nil {
		t.Fatal(err)
	}
	at := Where{Channel: dm, TS: ts}
	l.press(l.ana, at, "rate", blockkit.Value{Option: "down"})
	if a := l.bot.interaction().ActionCallback.BlockActions[0]; a.Value != "down" {
		t.Errorf("feedback: got %+v", a)
	}
	if err := l.ws.Press(t.Context(), l.ana, at, "rate", "", blockkit.Value{Option: "sideways"}); err == nil {
		t.Error("a feedback button that is not there was pressed")
	}
	l.press(l.ana, at, "bin", blockkit.Value{})
	if a := l.bot.interaction().ActionCallback.BlockActions[0]; a.Value != "v" || a.Type != "icon_button" {
		t.Errorf("icon button: got %+v", a)
	}
	l.press(l.ana, at, "rich", blockkit.Value{Text: "*literal*"})
	ic := l.bot.interaction()
	rich, err := json.Marshal(ic.ActionCallback.BlockActions[0].RichTextValue)
	if err != nil || !strings.Contains(string(rich), "*literal*") {
		t.Errorf("rich text: got %s, %v", rich, err)
	}
	if ic.Channel.Name != "directmessage" {
		t.Errorf("name of a private conversation: got %q", ic.Channel.Name)
	}
}

func TestAnEphemeralMessageCanBeTakenAway(t *testing.T) {
	l := newLab(t)
	button := slack.NewActionBlock("b", slack.NewButtonBlockElement("go", "", slack.NewTextBlockObject("plain_text", "Go", false, false)))
	ts, err := l.api.PostEphemeral(l.channel, l.ana, slack.MsgOptionBlocks(button))
	if err != nil {
		t.Fatal(err)
	}
	l.press(l.ana, Where{Channel: l.channel, TS: ts}, "go", blockkit.Value{})
	if _, has := l.bot.payload()["message"]; has {
		t.Error("the payload includes a message that is stored nowhere")
	}
	if _, _, err := l.api.PostMessage("", slack.MsgOptionDeleteOriginal(l.bot.interaction().ResponseURL)); err != nil {
		t.Fatal(err)
	}
	if got := l.ws.Ephemerals(l.channel, l.ana); len(got) != 0 {
		t.Errorf("ana still sees %+v", got)
	}
}
