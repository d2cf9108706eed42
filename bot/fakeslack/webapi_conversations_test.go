package fakeslack

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/fakeslack/wire"
)

func TestMembersComeInPages(t *testing.T) {
	l := newLab(t)
	members := []string{l.ws.BotUser()}
	for i := range 240 {
		members = append(members, l.ws.AddUser(User{RealName: fmt.Sprint("Member ", i)}))
	}
	big := l.ws.AddChannel(Channel{Name: "big", Members: members})
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
			if err != nil {
				t.Fatalf("%s: %v", c.rule, err)
			}
			got, pages, cursor = append(got, page...), append(pages, len(page)), next
			if next == "" {
				break
			}
		}
		if !slices.Equal(pages, c.pages) || !slices.Equal(got, members) {
			t.Errorf("%s: pages %v, want %v", c.rule, pages, c.pages)
		}
	}
	_, _, err := l.api.GetUsersInConversation(&slack.GetUsersInConversationParameters{ChannelID: big, Cursor: "nonsense"})
	wantCode(t, "a made-up cursor", err, "invalid_cursor")
	_, _, err = l.api.GetUsersInConversation(&slack.GetUsersInConversationParameters{ChannelID: big, Limit: 1001})
	wantCode(t, "too large a page", err, "invalid_limit")
}

func TestConversationsInfo(t *testing.T) {
	l := newLab(t)
	shared := l.ws.AddChannel(Channel{Name: "shared", Private: true, ExtShared: true, Topic: "boats", Members: []string{l.ws.BotUser()}})
	c, err := l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: shared})
	if err != nil {
		t.Fatal(err)
	}
	if !c.IsPrivate || !c.IsExtShared || c.Name != "shared" || c.Topic.Value != "boats" || !c.IsMember {
		t.Errorf("info: got %+v", c)
	}
	_, err = l.api.GetConversationInfo(&slack.GetConversationInfoInput{ChannelID: "C99999999"})
	wantCode(t, "an unknown channel", err, "channel_not_found")
}

func TestConversationsOpen(t *testing.T) {
	l := newLab(t)
	gone := l.ws.AddUser(User{Deleted: true})
	open := func(users ...string) (*slack.Channel, bool, error) {
		c, _, already, err := l.api.OpenConversation(&slack.OpenConversationParameters{Users: users, ReturnIM: true})
		return c, already, err
	}
	c, already, err := open(l.ana)
	if err != nil || already || c.ID != l.ws.DM(l.ana) || c.User != l.ana || !c.IsIM {
		t.Errorf("with one person: got %+v, %v, %v", c, already, err)
	}
	if _, already, _ := open(l.ana); !already {
		t.Error("opened again: it was not open already")
	}
	group, _, err := open(l.ana, l.ben)
	if err != nil || !group.IsMpIM {
		t.Errorf("with two: got %+v, %v", group, err)
	}
	if same, _, _ := open(l.ben, l.ana); same.ID != group.ID {
		t.Errorf("the same two in another order: got %s, want %s", same.ID, group.ID)
	}
	for want, users := range map[string][]string{
		"users_list_not_supplied": nil, "user_not_found": {"U99999999"},
		"user_disabled": {gone}, "cannot_dm_bot": {l.ws.BotUser()},
	} {
		_, _, err := open(users...)
		wantCode(t, want, err, want)
	}
}

func TestConversationsJoinAndList(t *testing.T) {
	l := newLab(t)
	public := l.ws.AddChannel(Channel{Name: "public"})
	l.ws.AddChannel(Channel{Name: "hidden", Private: true})
	l.ws.AddChannel(Channel{Name: "old", Archived: true})
	if _, _, _, err := l.api.JoinConversation(public); err != nil {
		t.Fatal(err)
	}
	if c, _ := l.ws.Channel(public); !slices.Contains(c.Members, l.ws.BotUser()) {
		t.Error("the bot did not join")
	}
	if _, warning, _, err := l.api.JoinConversation(public); err != nil || warning != "already_in_channel" {
		t.Errorf("joined twice: got %q, %v", warning, err)
	}
	list, _, err := l.api.GetConversations(&slack.GetConversationsParameters{ExcludeArchived: true})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, c := range list {
		names = append(names, c.Name)
	}
	if !slices.Equal(names, []string{"ferry", "public"}) {
		t.Errorf("open channels: got %v", names)
	}
}

func TestHistoryAndReplies(t *testing.T) {
	l := newLab(t)
	meta := slack.MsgOptionMetadata(slack.SlackMetadata{EventType: "slot", EventPayload: map[string]any{"name": "brief"}})
	first := l.post(slack.MsgOptionText("first", false), meta)
	reply := l.post(slack.MsgOptionText("reply", false), slack.MsgOptionTS(first))
	loud := l.post(slack.MsgOptionText("loud", false), slack.MsgOptionTS(first), slack.MsgOptionBroadcast())
	last := l.post(slack.MsgOptionText("last", false))

	ts := func(in []slack.Message) (out []string) {
		for _, m := range in {
			out = append(out, m.Timestamp)
		}
		return out
	}
	h, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel, IncludeAllMetadata: true})
	if err != nil || !slices.Equal(ts(h.Messages), []string{last, loud, first}) {
		t.Errorf("history, newest first without quiet replies: got %v, %v", ts(h.Messages), err)
	}
	if m := h.Messages[2]; m.Metadata.EventType != "slot" || m.ReplyCount != 2 || m.LatestReply != loud {
		t.Errorf("the parent: got %+v", m)
	}
	h, err = l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel})
	if err != nil || h.Messages[2].Metadata.EventType != "" {
		t.Errorf("metadata that was not asked for: got %+v, %v", h.Messages[2].Metadata, err)
	}
	replies, _, _, err := l.api.GetConversationReplies(&slack.GetConversationRepliesParameters{ChannelID: l.channel, Timestamp: first})
	if err != nil || !slices.Equal(ts(replies), []string{first, reply, loud}) {
		t.Errorf("replies: got %v, %v", ts(replies), err)
	}
	span := slack.GetConversationHistoryParameters{ChannelID: l.channel, Oldest: first, Latest: last}
	for inclusive, want := range map[bool][]string{false: {loud}, true: {last, loud, first}} {
		span.Inclusive = inclusive
		h, err := l.api.GetConversationHistory(&span)
		if err != nil || !slices.Equal(ts(h.Messages), want) {
			t.Errorf("between first and last, inclusive %v: got %v, %v, want %v", inclusive, ts(h.Messages), err, want)
		}
	}
	page, err := l.api.GetConversationHistory(&slack.GetConversationHistoryParameters{ChannelID: l.channel, Limit: 2})
	if err != nil || !page.HasMore || page.ResponseMetaData.NextCursor == "" {
		t.Errorf("first page: got %+v, %v", page, err)
	}
	_, _, _, err = l.api.GetConversationReplies(&slack.GetConversationRepliesParameters{ChannelID: l.channel, Timestamp: "1.000000"})
	wantCode(t, "replies to nothing", err, "thread_not_found")
}

// Offsets from the IANA time zone database: Lisbon leaves winter time at
// 01:00 UTC on 28 March 2027; Kolkata is at +5:30 all year.
func TestProfilesShowTheZoneAsOfNow(t *testing.T) {
	l := newLab(t)
	l.clock.mu.Lock()
	l.clock.now = time.Date(2027, 3, 28, 0, 59, 59, 0, time.UTC)
	l.clock.mu.Unlock()
	offset := func(user string) int {
		u, err := l.api.GetUserInfo(user)
		if err != nil {
			t.Fatal(err)
		}
		return u.TZOffset
	}
	if got := offset(l.ana); got != 0 {
		t.Errorf("Lisbon before the change: got %d, want 0", got)
	}
	l.clock.add(time.Second)
	if got := offset(l.ana); got != 3600 {
		t.Errorf("Lisbon after the change: got %d, want 3600", got)
	}
	if got := offset(l.ben); got != 19800 {
		t.Errorf("Kolkata: got %d, want 19800", got)
	}
}

func TestProfilesOfAllKinds(t *testing.T) {
	l := newLab(t)
	guest := l.ws.AddUser(User{SingleChannelGuest: true})
	gone := l.ws.AddUser(User{Deleted: true})
	stranger := l.ws.AddUser(User{Stranger: true, Team: "T99999999"})
	if u, err := l.api.GetUserInfo(guest); err != nil || !u.IsRestricted || !u.IsUltraRestricted || u.TZ != "" {
		t.Errorf("a guest without a zone: got %+v, %v", u, err)
	}
	if u, err := l.api.GetUserInfo(gone); err != nil || !u.Deleted {
		t.Errorf("a deactivated account: got %+v, %v", u, err)
	}
	if u, err := l.api.GetUserInfo(l.ws.BotUser()); err != nil || !u.IsBot {
		t.Errorf("the bot: got %+v, %v", u, err)
	}
	_, err := l.api.GetUserInfo("U99999999")
	wantCode(t, "nobody", err, "user_not_found")
	_, err = l.api.GetUserInfo(stranger)
	wantCode(t, "a stranger who shares no channel", err, "user_not_visible")
	if err := l.ws.ChangeChannel(t.Context(), l.channel, func(c *Channel) []wire.Object { c.Members = append(c.Members, stranger); return nil }); err != nil {
		t.Fatal(err)
	}
	if u, err := l.api.GetUserInfo(stranger); err != nil || u.TeamID != "T99999999" || !u.IsStranger {
		t.Errorf("a stranger in a shared channel: got %+v, %v", u, err)
	}
	users, err := l.api.GetUsers()
	if err != nil || len(users) != 5 {
		t.Errorf("users.list: got %d, %v, want the five of this workspace", len(users), err)
	}
}
