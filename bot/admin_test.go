package bot_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/wire"
)

// What an administrator, or whoever may, changes about channels and accounts.
// Source: the reference pages of the events, whose fields these have.

// channelEvent names an event of a channel as the platform does: a private one is a
// group.
func channelEvent(c *fakeslack.Channel, what string) string {
	if c.Private {
		return "group_" + what
	}
	return "channel_" + what
}

// adminChange changes a channel, and lets the bot hear of it if it is in there.
func adminChange(ctx context.Context, t *fakeslack.Team, channelID, what string, how func(c *fakeslack.Channel) wire.Object) error {
	return t.ChangeChannel(ctx, channelID, func(c *fakeslack.Channel) []wire.Object {
		inner := how(c)
		if !c.Has(t.BotUser()) {
			return nil
		}
		inner["type"] = channelEvent(c, what)
		return []wire.Object{inner}
	})
}

// adminArchive closes a channel; nobody can write there until adminUnarchive.
func adminArchive(ctx context.Context, t *fakeslack.Team, channelID, by string) error {
	return adminChange(ctx, t, channelID, "archive", func(c *fakeslack.Channel) wire.Object {
		c.Archived = true
		return wire.Object{"channel": c.ID, "user": by}
	})
}

// adminUnarchive opens an archived channel again, with the members that it had.
func adminUnarchive(ctx context.Context, t *fakeslack.Team, channelID, by string) error {
	return adminChange(ctx, t, channelID, "unarchive", func(c *fakeslack.Channel) wire.Object {
		c.Archived = false
		return wire.Object{"channel": c.ID, "user": by}
	})
}

// adminRename gives a channel another name. Its id stays.
func adminRename(ctx context.Context, t *fakeslack.Team, channelID, name string) error {
	return adminChange(ctx, t, channelID, "rename", func(c *fakeslack.Channel) wire.Object {
		c.Name = name
		return wire.Object{"channel": wire.Object{"id": c.ID, "name": name, "name_normalized": name, "created": 0}}
	})
}

// adminDelete removes a channel with all that was said there.
func adminDelete(ctx context.Context, t *fakeslack.Team, channelID string) error {
	return adminChange(ctx, t, channelID, "deleted", func(c *fakeslack.Channel) wire.Object {
		c.Deleted = true
		return wire.Object{"channel": c.ID}
	})
}

// adminDeactivate closes somebody's account. The bot hears nothing of it: it has
// not subscribed to what changes about people, of which there is much.
func adminDeactivate(t *fakeslack.Team, user string) error {
	u, ok := t.User(user)
	if !ok {
		return fmt.Errorf("deactivate %q: %w", user, fakeslack.ErrUnknown)
	}
	u.Deleted = true
	t.AddUser(u)
	return nil
}

// adminInvite brings users into a channel. by is in it already; empty when they
// joined by themselves. The bot hears of each, itself included, if it is in
// the channel.
func adminInvite(ctx context.Context, t *fakeslack.Team, by, channelID string, users ...string) error {
	for _, id := range users {
		if u, ok := t.User(id); !ok || u.Deleted {
			return fmt.Errorf("invite user %q: %w", id, fakeslack.ErrUnknown)
		}
	}
	return t.ChangeChannel(ctx, channelID, func(c *fakeslack.Channel) []wire.Object {
		var events []wire.Object
		for _, id := range users {
			if c.Has(id) {
				continue
			}
			c.Members = append(c.Members, id)
			if c.Has(t.BotUser()) {
				events = append(events, membership(t, "member_joined_channel", c, id, by))
			}
		}
		return events
	})
}

// adminLeave takes user out of a channel; the bot hears of it if it is in there. When
// it is the bot itself that was taken out, it hears that it has left: of its own
// leaving as a member the platform does not tell it.
func adminLeave(ctx context.Context, t *fakeslack.Team, channelID, user string) error {
	if c, ok := t.Channel(channelID); !ok || !c.Has(user) {
		return fmt.Errorf("leave: user %q in channel %q: %w", user, channelID, fakeslack.ErrUnknown)
	}
	return t.ChangeChannel(ctx, channelID, func(c *fakeslack.Channel) []wire.Object {
		tell := c.Has(t.BotUser())
		c.Members = slices.DeleteFunc(c.Members, func(id string) bool { return id == user })
		switch {
		case !tell:
			return nil
		case user == t.BotUser():
			return []wire.Object{{"type": channelEvent(c, "left"), "channel": c.ID}}
		}
		return []wire.Object{membership(t, "member_left_channel", c, user, "")}
	})
}

func membership(t *fakeslack.Team, kind string, c *fakeslack.Channel, user, by string) wire.Object {
	letter := "C"
	if c.Private {
		letter = "G"
	}
	inner := wire.Object{"type": kind, "user": user, "channel": c.ID, "channel_type": letter, "team": t.TeamID()}
	if by != "" {
		inner["inviter"] = by
	}
	return inner
}

// adminWriteCanvas is somebody making the channel's own canvas, by hand. It fails
// where the channel has one.
func adminWriteCanvas(t *fakeslack.Team, channelID, markdown string) (id string, err error) {
	out, err := callAsAnyApp(t, "conversations.canvases.create", wire.Object{
		"channel_id": channelID, "document_content": wire.Object{"type": "markdown", "markdown": markdown},
	})
	return wire.Str(out, "canvas_id"), err
}

// adminDeleteCanvas is somebody deleting a canvas, by hand.
func adminDeleteCanvas(t *fakeslack.Team, id string) error {
	_, err := callAsAnyApp(t, "canvases.delete", wire.Object{"canvas_id": id})
	return err
}

// callAsAnyApp calls a method as an app with all scopes would.
func callAsAnyApp(t *fakeslack.Team, method string, args wire.Object) (wire.Object, error) {
	r := httptest.NewRequest(http.MethodPost, t.URL()+"/api/"+method, bytes.NewReader(wire.Encode(args)))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer xoxb-by-hand")
	answer := httptest.NewRecorder()
	t.Handler().ServeHTTP(answer, r)
	out, ok := wire.DecodeObject(answer.Body.Bytes())
	if !ok || !wire.Flag(out, "ok") {
		return nil, errors.New(method + ": " + wire.Str(out, "error"))
	}
	return out, nil
}

// A listener stands in for the bot: it takes events and keeps them.
type listener struct {
	mu     sync.Mutex
	events []wire.Object
}

func (l *listener) ServeHTTP(_ http.ResponseWriter, r *http.Request) {
	var body struct{ Event wire.Object }
	_ = json.NewDecoder(r.Body).Decode(&body) // what is none fails the test
	l.mu.Lock()
	defer l.mu.Unlock()
	l.events = append(l.events, body.Event)
}

func (l *listener) all() []wire.Object {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.events
}

func (l *listener) last(t *testing.T) wire.Object {
	t.Helper()
	all := l.all()
	require.NotEmpty(t, all)
	return all[len(all)-1]
}

func TestComingAndGoing(t *testing.T) {
	t.Parallel()
	bot := &listener{}
	server := httptest.NewServer(bot)
	t.Cleanup(server.Close)
	team := fakeslack.NewTeam(fakeslack.Config{BotURL: server.URL})
	ana, cleo := team.AddUser(fakeslack.User{RealName: "Ana"}), team.AddUser(fakeslack.User{RealName: "Cleo"})
	place := team.AddChannel(fakeslack.Channel{Name: "place", Private: true, Members: []string{ana}})

	require.NoError(t, adminInvite(t.Context(), team, ana, place, cleo))
	assert.Empty(t, bot.all(), "where the bot is not")
	require.NoError(t, adminInvite(t.Context(), team, ana, place, team.BotUser()))
	came := bot.last(t)
	assert.Equal(t, []any{"member_joined_channel", team.BotUser(), ana, "G"}, []any{came["type"], came["user"], came["inviter"], came["channel_type"]})
	require.NoError(t, adminInvite(t.Context(), team, ana, place, cleo))
	assert.Len(t, bot.all(), 1, "somebody who is there already")
	require.NoError(t, adminLeave(t.Context(), team, place, cleo))
	assert.Equal(t, "member_left_channel", bot.last(t)["type"])
	require.NoError(t, adminArchive(t.Context(), team, place, ana))
	assert.Equal(t, "group_archive", bot.last(t)["type"])
	require.NoError(t, adminDelete(t.Context(), team, place))
	assert.Equal(t, "group_deleted", bot.last(t)["type"])
	assert.Error(t, adminLeave(t.Context(), team, place, ana), "a channel that is gone")
}
