package slacktest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/wire"
)

// What an administrator, or whoever may, changes about channels and accounts.
// Source: the reference pages of the events, whose fields these have.

// ofKind names an event of a channel as the platform does: a private one is a
// group.
func ofKind(c *fakeslack.Channel, what string) string {
	if c.Private {
		return "group_" + what
	}
	return "channel_" + what
}

// change changes a channel, and lets the bot hear of it if it is in there.
func change(ctx context.Context, t *fakeslack.Team, channelID, what string, how func(c *fakeslack.Channel) wire.Object) error {
	return t.ChangeChannel(ctx, channelID, func(c *fakeslack.Channel) []wire.Object {
		inner := how(c)
		if !c.Has(t.BotUser()) {
			return nil
		}
		inner["type"] = ofKind(c, what)
		return []wire.Object{inner}
	})
}

// Archive closes a channel; nobody can write there until Unarchive.
func Archive(ctx context.Context, t *fakeslack.Team, channelID, by string) error {
	return change(ctx, t, channelID, "archive", func(c *fakeslack.Channel) wire.Object {
		c.Archived = true
		return wire.Object{"channel": c.ID, "user": by}
	})
}

// Unarchive opens an archived channel again, with the members that it had.
func Unarchive(ctx context.Context, t *fakeslack.Team, channelID, by string) error {
	return change(ctx, t, channelID, "unarchive", func(c *fakeslack.Channel) wire.Object {
		c.Archived = false
		return wire.Object{"channel": c.ID, "user": by}
	})
}

// Rename gives a channel another name. Its id stays.
func Rename(ctx context.Context, t *fakeslack.Team, channelID, name string) error {
	return change(ctx, t, channelID, "rename", func(c *fakeslack.Channel) wire.Object {
		c.Name = name
		return wire.Object{"channel": wire.Object{"id": c.ID, "name": name, "name_normalized": name, "created": 0}}
	})
}

// Delete removes a channel with all that was said there.
func Delete(ctx context.Context, t *fakeslack.Team, channelID string) error {
	return change(ctx, t, channelID, "deleted", func(c *fakeslack.Channel) wire.Object {
		c.Deleted = true
		return wire.Object{"channel": c.ID}
	})
}

// Deactivate closes somebody's account. The bot hears nothing of it: it has
// not subscribed to what changes about people, of which there is much.
func Deactivate(t *fakeslack.Team, user string) error {
	u, ok := t.User(user)
	if !ok {
		return fmt.Errorf("deactivate %q: %w", user, fakeslack.ErrUnknown)
	}
	u.Deleted = true
	t.AddUser(u)
	return nil
}

// Invite brings users into a channel. by is in it already; empty when they
// joined by themselves. The bot hears of each, itself included, if it is in
// the channel.
func Invite(ctx context.Context, t *fakeslack.Team, by, channelID string, users ...string) error {
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

// Leave takes user out of a channel; the bot hears of it if it is in there. When
// it is the bot itself that was taken out, it hears that it has left: of its own
// leaving as a member the platform does not tell it.
func Leave(ctx context.Context, t *fakeslack.Team, channelID, user string) error {
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
			return []wire.Object{{"type": ofKind(c, "left"), "channel": c.ID}}
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

// WriteCanvas is somebody making the channel's own canvas, by hand. It fails
// where the channel has one.
func WriteCanvas(t *fakeslack.Team, channelID, markdown string) (id string, err error) {
	out, err := call(t, "conversations.canvases.create", wire.Object{
		"channel_id": channelID, "document_content": wire.Object{"type": "markdown", "markdown": markdown},
	})
	return wire.Str(out, "canvas_id"), err
}

// DeleteCanvas is somebody deleting a canvas, by hand.
func DeleteCanvas(t *fakeslack.Team, id string) error {
	_, err := call(t, "canvases.delete", wire.Object{"canvas_id": id})
	return err
}

// call calls a method as an app with all scopes would.
func call(t *fakeslack.Team, method string, args wire.Object) (wire.Object, error) {
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
