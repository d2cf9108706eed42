package fakeslack

import (
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

func TestAPictureNeedsAFileThatIsThere(t *testing.T) {
	l := newFixture(t)
	picture := func(id string) slack.MsgOption {
		return slack.MsgOptionBlocks(typedBlocks(t, `[{"type":"image","alt_text":"the map","slack_file":{"id":"`+id+`"}}]`)...)
	}
	_, _, err := l.api.PostMessage(l.channel, picture("F99999999"))
	wantCode(t, "a file that was never uploaded", err, "invalid_blocks")
	f, err := l.api.UploadFile(slack.UploadFileParameters{Filename: "map.png", Content: "pixels", FileSize: 6})
	require.NoError(t, err)
	l.clock.add(time.Minute)
	_, _, err = l.api.PostMessage(l.channel, picture(f.ID))
	wantCode(t, "a file that was shown nowhere", err, "invalid_blocks")
	f, err = l.api.UploadFile(slack.UploadFileParameters{Filename: "map.png", Content: "pixels", FileSize: 6, Channel: l.channel})
	require.NoError(t, err)
	_, _, err = l.api.PostMessage(l.channel, picture(f.ID))
	wantCode(t, "a file that is not ready", err, "invalid_blocks")
	l.clock.add(readyAfter)
	l.post(picture(f.ID))
	form := strings.Replace(plainForm, `"blocks":[`, `"blocks":[{"type":"section","text":{"type":"plain_text","text":"x"},"accessory":{"type":"image","alt_text":"x","slack_file":{"id":"F99999999"}}},`, 1)
	_, err = l.api.OpenView(l.trigger(), typedView(t, form))
	wantCode(t, "the same in a form", err, "invalid_arguments")
}

func TestHistoryShowsFiles(t *testing.T) {
	l := newFixture(t)
	f, err := l.api.UploadFile(slack.UploadFileParameters{Filename: "plan.ics", AltTxt: "dates", Content: "x", FileSize: 1, Channel: l.channel})
	require.NoError(t, err)
	h, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel})
	require.NoError(t, err, "history: got %+v", h)
	require.Len(t, h.Messages, 1, "history: got %+v", h)
	require.Len(t, h.Messages[0].Files, 1, "history: got %+v", h)
	got := h.Messages[0].Files[0]
	assert.Equal(t, f.ID, got.ID, "file: got %+v", got)
	assert.Equal(t, "text/calendar", got.Mimetype, "file: got %+v", got)
	assert.Equal(t, "plan.ics", got.Name, "file: got %+v", got)
}

func TestCanvasesOnTheirOwn(t *testing.T) {
	l := newFixture(t)
	id, err := l.api.CreateCanvas("Kickoff", slack.DocumentContent{})
	require.NoError(t, err)
	for _, change := range []map[string]any{
		{"operation": "insert_at_start", "document_content": map[string]any{"type": "markdown", "markdown": "body"}},
		{"operation": "insert_at_start", "document_content": map[string]any{"type": "markdown", "markdown": "head"}},
		{"operation": "rename", "title_content": map[string]any{"type": "markdown", "markdown": "Kickoff, done"}},
	} {
		r := l.raw("canvases.edit", map[string]any{"canvas_id": id, "changes": []any{change}})
		assert.True(t, r["ok"] == true, "%v: got %v", change, r)
	}
	got := l.team.Canvases()[0]
	assert.Equal(t, "head\n\nbody", got.Markdown, "canvas: got %+v", got)
	assert.Equal(t, "Kickoff, done", got.Title, "canvas: got %+v", got)
	assert.Equal(t, "", got.Channel, "canvas: got %+v", got)
	_, err = l.api.CreateCanvas("x", slack.DocumentContent{Type: "html", Markdown: "x"})
	wantCode(t, "something else than Markdown", err, "invalid_arguments")
}

// Source: the page on canvases.create: with a channel it stands in a tab of
// it. The codes for free plans are from there and from
// conversations.canvases.create.
func TestCanvasesInTabs(t *testing.T) {
	l := newFixture(t)
	tab := slack.CreateCanvasOptionChannelID(l.channel)
	page := slack.DocumentContent{Type: "markdown", Markdown: "x"}
	own, err := l.api.CreateChannelCanvas(l.channel, page)
	require.NoError(t, err)
	id, err := l.api.CreateCanvas("Summary", page, tab)
	require.NoError(t, err)
	c, err := l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: l.channel})
	require.NoError(t, err)
	got := c.Properties
	assert.False(t, got.Canvas.FileId != own || len(got.Tabs) != 2 || got.Tabs[1].Label != "Summary" || got.Tabs[1].Data.FileID != id, "properties: got %+v", got)
	r := l.raw("canvases.delete", wire.Object{"canvas_id": id})
	require.True(t, r["ok"] == true, r)
	err = l.api.EditCanvas(slack.EditCanvasParams{CanvasID: id, Changes: []slack.CanvasChange{{Operation: "replace", DocumentContent: page}}})
	wantCode(t, "one that somebody deleted", err, "canvas_not_found")

	free := newFixture(t, func(c *Config) { c.FreePlan = true })
	_, err = free.api.CreateCanvas("x", page)
	wantCode(t, "a free plan, on its own", err, "free_teams_cannot_create_non_tabbed_canvases")
	_, err = free.api.CreateChannelCanvas(free.channel, page)
	assert.NoError(t, err)
	_, err = free.api.CreateCanvas("x", page, slack.CreateCanvasOptionChannelID(free.channel))
	wantCode(t, "a free plan, a second one", err, "free_team_canvas_tab_already_exists")
}

// Sources: see canvasTaken.
func TestCanvasesTakeTheirMarkdown(t *testing.T) {
	l := newFixture(t)
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
		} else {
			assert.NoError(t, err, name)
		}
	}
}

// Source: the pages on the events channel_shared and channel_unshared, and on
// the conversation object.
func TestAChannelIsShared(t *testing.T) {
	l := newFixture(t)
	for _, on := range []bool{true, false} {
		require.NoError(t, l.team.Share(t.Context(), l.channel, on))
		c, err := l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: l.channel})
		assert.NoError(t, err, "shared")
		assert.Equal(t, on, c.IsExtShared, "shared")
	}
}

func TestProfilesChange(t *testing.T) {
	l := newFixture(t)
	u, ok := l.team.User(l.ana)
	require.True(t, ok, "ana is unknown")
	u.Zone = "America/St_Johns"
	require.Equal(t, l.ana, l.team.AddUser(u), "a changed profile is of the same user")
	require.Len(t, l.team.Users(), 3)
	got, err := l.api.GetUserInfo(l.ana)
	assert.NoError(t, err, "zone")
	assert.Equal(t, "America/St_Johns", got.TZ, "zone")
}

func TestBlocksGoOutAsTheyCameIn(t *testing.T) {
	l := newFixture(t)
	const blocks = `[{"block_id":"b","elements":[{"elements":[{"text":"<a> & \"b\"","type":"text"}],"type":"rich_text_section"}],"type":"rich_text"}]`
	ts := l.postBlocks(blocks)
	m, _ := l.team.Message(l.channel, ts)
	assert.Equal(t, blocks, string(wire.Encode(m.Blocks)))
}
