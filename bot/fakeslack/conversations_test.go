package fakeslack

import (
	"fmt"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
)

func TestMembersComeInPages(t *testing.T) {
	l := newFixture(t)
	members := []string{l.team.BotUser()}
	for i := range 240 {
		members = append(members, l.team.AddUser(User{RealName: fmt.Sprint("Member ", i)}))
	}
	big := l.team.AddChannel(Channel{Name: "big", Members: members})
	for _, c := range []struct {
		rule  string
		limit int
		pages []int
	}{
		{"a hundred when not told otherwise", 0, []int{100, 100, 41}},
		{"as many as asked for", 200, []int{200, 41}},
		{"all at once", 999, []int{241}},
	} {
		var got []string
		var pages []int
		for cursor := ""; ; {
			page, next, err := l.api.GetUsersInConversation(&slack.GetUsersInConversationParameters{ChannelID: big, Limit: c.limit, Cursor: cursor})
			require.NoError(t, err, c.rule)
			got, pages, cursor = append(got, page...), append(pages, len(page)), next
			if next == "" {
				break
			}
		}
		assert.Equal(t, c.pages, pages, "%s: pages", c.rule)
		assert.Equal(t, members, got, "%s: pages", c.rule)
	}
	_, _, err := l.api.GetUsersInConversation(&slack.GetUsersInConversationParameters{ChannelID: big, Cursor: "nonsense"})
	wantCode(t, "a made-up cursor", err, "invalid_cursor")
	_, _, err = l.api.GetUsersInConversation(&slack.GetUsersInConversationParameters{ChannelID: big, Limit: 1001})
	wantCode(t, "too large a page", err, "invalid_limit")
}

func TestConversationsInfo(t *testing.T) {
	l := newFixture(t)
	shared := l.team.AddChannel(Channel{Name: "shared", Private: true, ExtShared: true, Topic: "boats", Members: []string{l.team.BotUser()}})
	c, err := l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: shared})
	require.NoError(t, err)
	assert.True(t, c.IsPrivate, "info: got %+v", c)
	assert.True(t, c.IsExtShared, "info: got %+v", c)
	assert.Equal(t, "shared", c.Name, "info: got %+v", c)
	assert.Equal(t, "boats", c.Topic.Value, "info: got %+v", c)
	assert.True(t, c.IsMember, "info: got %+v", c)
	_, err = l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: "C99999999"})
	wantCode(t, "an unknown channel", err, "channel_not_found")
}

func TestHistoryAndReplies(t *testing.T) {
	l := newFixture(t)
	meta := slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "slot", EventPayload: map[string]any{"name": "brief"}})
	first := l.post(slack.MsgOptionText("first", false), meta)
	reply := l.post(slack.MsgOptionText("reply", false), slack.MsgOptionTS(first))
	second := l.post(slack.MsgOptionText("second", false), slack.MsgOptionTS(first))
	_, _, err := l.api.PostMessage(l.channel, slack.MsgOptionText("loud", false), slack.MsgOptionTS(first), slack.MsgOptionBroadcast())
	wantCode(t, "a reply to the channel", err, "invalid_arguments")
	middle := l.post(slack.MsgOptionText("middle", false))
	last := l.post(slack.MsgOptionText("last", false))

	ts := func(in []slack.Message) (out []string) {
		for _, m := range in {
			out = append(out, m.Timestamp)
		}
		return out
	}
	h, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel, IncludeAllMetadata: true})
	assert.NoError(t, err, "history, newest first without replies")
	assert.Equal(t, []string{last, middle, first}, ts(h.Messages), "history, newest first without replies")
	m := h.Messages[2]
	assert.Equal(t, "slot", m.Metadata.EventType, "the parent: got %+v", m)
	assert.Equal(t, 2, m.ReplyCount, "the parent: got %+v", m)
	assert.Equal(t, second, m.LatestReply, "the parent: got %+v", m)
	h, err = l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel})
	assert.False(t, err != nil || h.Messages[2].Metadata.EventType != "", "metadata that was not asked for: got %+v, %v", h.Messages[2].Metadata, err)
	replies, _, _, err := l.api.GetConversationReplies(&slack.GetConversationRepliesParameters{ChannelID: l.channel, Timestamp: first})
	assert.NoError(t, err, "replies")
	assert.Equal(t, []string{first, reply, second}, ts(replies), "replies")
	span := slack.GetConversationHistoryParameters{ChannelID: l.channel, Oldest: first, Latest: last}
	for inclusive, want := range map[bool][]string{false: {middle}, true: {last, middle, first}} {
		span.Inclusive = inclusive
		h, err := l.api.GetConversationHistory(&span)
		assert.NoError(t, err, "between first and last, inclusive %v", inclusive)
		assert.Equal(t, want, ts(h.Messages), "between first and last, inclusive %v", inclusive)
	}
	page, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel, Limit: 2})
	assert.NoError(t, err, "first page: got %+v", page)
	assert.True(t, page.HasMore, "first page: got %+v", page)
	assert.NotEqual(t, "", page.ResponseMetaData.NextCursor, "first page: got %+v", page)
	_, _, _, err = l.api.GetConversationReplies(&slack.GetConversationRepliesParameters{ChannelID: l.channel, Timestamp: "1.000000"})
	wantCode(t, "replies to nothing", err, "thread_not_found")
}

// Offsets from the IANA time zone database: Lisbon leaves winter time at
// 01:00 UTC on 28 March 2027; Kolkata is at +5:30 all year.
func TestProfilesShowTheZoneAsOfNow(t *testing.T) {
	l := newFixture(t)
	l.clock.mu.Lock()
	l.clock.now = time.Date(2027, 3, 28, 0, 59, 59, 0, time.UTC)
	l.clock.mu.Unlock()
	offset := func(user string) int {
		u, err := l.api.GetUserInfo(user)
		require.NoError(t, err)
		return u.TZOffset
	}
	assert.Equal(t, 0, offset(l.ana), "Lisbon before the change")
	l.clock.add(time.Second)
	assert.Equal(t, 3600, offset(l.ana), "Lisbon after the change")
	assert.Equal(t, 19800, offset(l.ben), "Kolkata")
}

func TestProfilesOfAllKinds(t *testing.T) {
	l := newFixture(t)
	guest := l.team.AddUser(User{SingleChannelGuest: true})
	gone := l.team.AddUser(User{Deleted: true})
	stranger := l.team.AddUser(User{Stranger: true, Team: "T99999999"})
	u, err := l.api.GetUserInfo(guest)
	require.NoError(t, err)
	assert.True(t, u.IsRestricted && u.IsUltraRestricted, "a guest: %+v", u)
	assert.Empty(t, u.TZ, "a guest without a zone")
	u, err = l.api.GetUserInfo(gone)
	require.NoError(t, err)
	assert.True(t, u.Deleted, "a deactivated account: %+v", u)
	u, err = l.api.GetUserInfo(l.team.BotUser())
	require.NoError(t, err)
	assert.True(t, u.IsBot, "the bot: %+v", u)
	_, err = l.api.GetUserInfo("U99999999")
	wantCode(t, "nobody", err, "user_not_found")
	_, err = l.api.GetUserInfo(stranger)
	wantCode(t, "a stranger who shares no channel", err, "user_not_visible")
	require.NoError(t, l.team.ChangeChannel(t.Context(), l.channel, func(c *Channel) []wire.Object { c.Members = append(c.Members, stranger); return nil }))
	u, err = l.api.GetUserInfo(stranger)
	assert.NoError(t, err, "a stranger in a shared channel: got %+v", u)
	assert.Equal(t, "T99999999", u.TeamID, "a stranger in a shared channel: got %+v", u)
	assert.True(t, u.IsStranger, "a stranger in a shared channel: got %+v", u)
	users, err := l.api.GetUsers()
	assert.NoError(t, err, "users.list: got %d", len(users))
	assert.Len(t, users, 5, "users.list: got %d", len(users))
}
