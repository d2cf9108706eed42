package fakeslack

import (
	"fmt"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

func TestWhereTheBotMayPost(t *testing.T) {
	l := newFixture(t)
	bot := l.team.BotUser()
	gone := l.team.AddUser(User{RealName: "Gone", Deleted: true})
	private := l.team.AddChannel(Channel{Name: "private", Private: true, Members: []string{l.ana}})
	public := l.team.AddChannel(Channel{Name: "public", Members: []string{l.ana}})
	closed := l.team.AddChannel(Channel{Name: "closed", Archived: true, Members: []string{bot}})
	for _, c := range []struct{ rule, channel, want string }{
		{"a channel that it is in", l.channel, ""},
		{"the same by name", "ferry", ""},
		{"the same by #name", "#ferry", ""},
		{"a channel that does not exist", "C99999999", "channel_not_found"},
		{"a private channel that it is not in does not exist for it", private, "channel_not_found"},
		{"nor does it by name", "private", "channel_not_found"},
		{"a public channel that it is not in", public, "not_in_channel"},
		{"an archived channel", closed, "is_archived"},
		{"a person", l.ana, ""},
		{"a deactivated person", gone, "channel_not_found"},
		{"itself", bot, "cannot_dm_bot"},
	} {
		_, _, err := l.api.PostMessage(c.channel, slack.MsgOptionText("hello", false))
		wantCode(t, c.rule, err, c.want)
	}
}

func TestAMessageToAPersonGoesToTheirConversation(t *testing.T) {
	l := newFixture(t)
	channel, ts, err := l.api.PostMessage(l.ana, slack.MsgOptionText("for you", false))
	require.NoError(t, err)
	assert.Equal(t, l.team.DM(l.ana), channel, "channel")
	assert.True(t, strings.HasPrefix(channel, "D"), "channel")
	m, ok := l.team.Message(channel, ts)
	assert.True(t, ok, "message: got %+v", m)
	assert.Equal(t, "for you", m.Text, "message: got %+v", m)
	assert.Equal(t, l.team.BotUser(), m.User, "message: got %+v", m)
}

func TestAMessageHasToSaySomething(t *testing.T) {
	l := newFixture(t)
	_, _, err := l.api.PostMessage(l.channel)
	wantCode(t, "nothing at all", err, "no_text")
	_, _, err = l.api.PostMessage(l.channel, slack.MsgOptionBlocks())
	wantCode(t, "no blocks", err, "no_text")
	l.post(slack.MsgOptionBlocks(slack.NewDividerBlock()))
}

func TestTextIsCutOnPostAndRefusedOnUpdate(t *testing.T) {
	l := newFixture(t)
	ts := l.post(slack.MsgOptionText(strings.Repeat("é", 40001), false))
	m, _ := l.team.Message(l.channel, ts)
	assert.Len(t, []rune(m.Text), 40000, "posted text: got %d characters, want 40000", len([]rune(m.Text)))
	_, _, _, err := l.api.UpdateMessage(l.channel, ts, slack.MsgOptionText(strings.Repeat("é", 4000), false))
	wantCode(t, "update of 4000 characters", err, "")
	_, _, _, err = l.api.UpdateMessage(l.channel, ts, slack.MsgOptionText(strings.Repeat("é", 4001), false))
	wantCode(t, "update of 4001 characters", err, "msg_too_long")
}

// Source: the reference page of chat.update.
func TestWhatAnUpdateLeavesAlone(t *testing.T) {
	l := newFixture(t)
	start := func() string {
		return l.post(slack.MsgOptionText("old", false), slack.MsgOptionBlocks(slack.NewDividerBlock()),
			slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "old", EventPayload: map[string]any{"n": 1}}))
	}
	header := slack.NewHeaderBlock(slack.NewTextBlockObject("plain_text", "new", false, false))
	none := slack.MsgOptionMetadata(slack.SlackMetadata{})
	for _, c := range []struct {
		rule             string
		options          []slack.MsgOption
		text, block      string
		edited, metadata bool
	}{
		{"text alone drops the blocks and shows as edited", []slack.MsgOption{slack.MsgOptionText("new", false)}, "new", "", true, true},
		{"blocks with text show no mark", []slack.MsgOption{slack.MsgOptionText("new", false), slack.MsgOptionBlocks(header)}, "new", "header", false, true},
		{"metadata alone leaves text and blocks", []slack.MsgOption{none}, "old", "divider", false, false},
		{"empty blocks take blocks away", []slack.MsgOption{slack.MsgOptionText("new", false), slack.MsgOptionBlocks()}, "new", "", false, true},
	} {
		ts := start()
		_, _, _, err := l.api.UpdateMessage(l.channel, ts, c.options...)
		if !assert.NoError(t, err, c.rule) {
			continue
		}
		m, _ := l.team.Message(l.channel, ts)
		block := ""
		if len(m.Blocks) > 0 {
			block = wire.Str(m.Blocks[0], "type")
		}
		assert.Equal(t, c.text, m.Text, "%s: got text %q, block %q, edited %v, metadata %v", c.rule, m.Text, block, m.Edited, m.Metadata)
		assert.Equal(t, c.block, block, "%s: got text %q, block %q, edited %v, metadata %v", c.rule, m.Text, block, m.Edited, m.Metadata)
		assert.Equal(t, c.edited, (m.Edited != nil), "%s: got text %q, block %q, edited %v, metadata %v", c.rule, m.Text, block, m.Edited, m.Metadata)
		assert.Equal(t, c.metadata, (m.Metadata != nil), "%s: got text %q, block %q, edited %v, metadata %v", c.rule, m.Text, block, m.Edited, m.Metadata)
	}
}

func TestWhatTheBotMayChange(t *testing.T) {
	l := newFixture(t)
	theirs, err := l.team.Client.Say(t.Context(), l.ana, l.channel, "mine", "")
	require.NoError(t, err)
	ephemeral, err := l.api.PostEphemeral(l.channel, l.ana, slack.MsgOptionText("psst", false))
	require.NoError(t, err)
	for _, c := range []struct{ rule, channel, ts, want string }{
		{"an unknown ts", l.channel, "1.000001", "message_not_found"},
		{"an ephemeral message", l.channel, ephemeral, "message_not_found"},
		{"somebody else's message", l.channel, theirs, "cant_update_message"},
		{"a person in place of the conversation", l.ana, theirs, "channel_not_found"},
	} {
		_, _, _, err := l.api.UpdateMessage(c.channel, c.ts, slack.MsgOptionText("x", false))
		wantCode(t, c.rule, err, c.want)
	}
	ts := l.post(slack.MsgOptionText("x", false))
	_, _, _, err = l.api.UpdateMessage(l.channel, ts, slack.MsgOptionDisableLinkUnfurl())
	wantCode(t, "an update that says nothing", err, "no_text")
	require.NoError(t, l.team.ChangeChannel(t.Context(), l.channel, func(c *Channel) []wire.Object { c.Archived = true; return nil }))
	_, _, _, err = l.api.UpdateMessage(l.channel, ts, slack.MsgOptionText("y", false))
	wantCode(t, "update in an archived channel", err, "is_inactive")
}

func TestThreads(t *testing.T) {
	l := newFixture(t)
	parent := l.post(slack.MsgOptionText("parent", false))
	reply := l.post(slack.MsgOptionText("reply", false), slack.MsgOptionTS(parent))
	_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionText("x", false), slack.MsgOptionTS(reply))
	wantCode(t, "a reply to a reply", err, "cannot_reply_to_message")
	// As slack-go says of PostMessageWithResponseContext.
	late := l.post(slack.MsgOptionText("late", false), slack.MsgOptionTS("1.000000"))
	m, _ := l.team.Message(l.channel, late)
	assert.False(t, m.InThread(), "a reply to a parent that is gone: got %+v, want it unthreaded", m)
}

func TestEphemeralMessages(t *testing.T) {
	l := newFixture(t)
	stranger := l.team.AddUser(User{RealName: "Cleo"})
	_, err := l.api.PostEphemeral(l.channel, l.ana, slack.MsgOptionText("only you", false))
	require.NoError(t, err)
	_, err = l.api.PostEphemeral(l.channel, stranger, slack.MsgOptionText("x", false))
	wantCode(t, "to somebody outside", err, "user_not_in_channel")
	got := l.team.Client.Ephemerals(l.channel, l.ana)
	assert.False(t, len(got) != 1 || got[0].Text != "only you" || got[0].EphemeralTo != l.ana, "ana sees %+v", got)
	assert.Empty(t, l.team.Client.Seen(l.channel, l.ben), "ben sees")
	h, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel})
	assert.NoError(t, err, "history: got %v", h)
	assert.Empty(t, h.Messages, "history: got %v", h)
}

func TestPermalinks(t *testing.T) {
	l := newFixture(t)
	parent := l.post(slack.MsgOptionText("parent", false))
	reply := l.post(slack.MsgOptionText("reply", false), slack.MsgOptionTS(parent))
	digits := func(ts string) string { return strings.Replace(ts, ".", "", 1) }
	for _, c := range []struct{ ts, want string }{
		{parent, fmt.Sprintf("https://harbour-lines.example/archives/%s/p%s", l.channel, digits(parent))},
		{reply, fmt.Sprintf("https://harbour-lines.example/archives/%s/p%s?thread_ts=%s&cid=%s", l.channel, digits(reply), parent, l.channel)},
	} {
		got, err := l.api.GetPermalink(&slack.PermalinkParameters{Channel: l.channel, Ts: c.ts})
		assert.NoError(t, err, "permalink")
		assert.Equal(t, c.want, got, "permalink")
	}
	_, err := l.api.GetPermalink(&slack.PermalinkParameters{Channel: l.channel, Ts: "1.000000"})
	wantCode(t, "permalink to nothing", err, "message_not_found")
}

func TestMetadataHasToHaveItsShape(t *testing.T) {
	l := newFixture(t)
	for _, c := range []struct {
		rule     string
		metadata any
		want     any
	}{
		{"an event with a payload", map[string]any{"event_type": "a", "event_payload": map[string]any{"b": 1}}, nil},
		{"no object", "[1]", "invalid_metadata_format"},
		{"no event type", map[string]any{"event_payload": map[string]any{"b": 1}}, "invalid_metadata_schema"},
		{"no payload", map[string]any{"event_type": "a"}, "invalid_metadata_schema"},
	} {
		r := l.raw("chat.postMessage", map[string]any{"channel": l.channel, "text": "x", "metadata": c.metadata})
		assert.True(t, r["error"] == c.want, c.rule)
	}
}

func TestBlocksAndFormsOfTheCall(t *testing.T) {
	l := newFixture(t)
	r := l.raw("chat.postMessage", map[string]any{"channel": l.channel, "blocks": `{"type":"divider"}`})
	assert.True(t, r["error"] == "invalid_blocks_format", "blocks that are no list: got %v", r)
	r = l.raw("chat.postMessage", map[string]any{"channel": l.channel, "blocks": []any{map[string]any{"type": "divider"}}})
	assert.True(t, r["ok"] == true, "blocks in a JSON body: got %v", r)
	r = l.raw("chat.postMessage", map[string]any{"channel": l.channel, "blocks": []any{map[string]any{"type": "header"}}})
	want := map[string]any{
		"ok": false, "error": "invalid_blocks",
		"errors":            []any{"missing required field: text [json-pointer:/blocks/0]"},
		"response_metadata": map[string]any{"messages": []any{"[ERROR] missing required field: text [json-pointer:/blocks/0]"}},
	}
	assert.Equal(t, want, r, "refused blocks")
	for what, v := range map[string]any{"markdown_text": "**x**", "attachments": []any{}} {
		r = l.raw("chat.postMessage", map[string]any{"channel": l.channel, "text": "x", what: v})
		assert.True(t, r["error"] == "invalid_arguments", "%s: got %v", what, r)
	}
}

func TestUnnamedPartsGetNames(t *testing.T) {
	l := newFixture(t)
	ts := l.postBlocks(`[{"type":"divider"},{"type":"actions","elements":[{"type":"button","text":{"type":"plain_text","text":"Go"}}]}]`)
	m, _ := l.team.Message(l.channel, ts)
	assert.False(t, wire.Str(m.Blocks[0], "block_id") == "" || wire.Str(m.Blocks[0], "block_id") == wire.Str(m.Blocks[1], "block_id"), "block ids: got %v", m.Blocks)
	e := blockkit.Elements(m.Blocks)
	assert.False(t, len(e) != 1 || e[0].ActionID == "" || e[0].BlockID == "", "elements: got %+v", e)
}
