package fakeslack

import (
	"context"
	"fmt"
	"slices"
)

// What an administrator, or whoever may, changes about channels and accounts.
// Source: the reference pages of the events, whose fields these have.

// ofKind names an event of a channel as the platform does: a private one is a
// group.
func ofKind(c *channel, what string) string {
	if c.Private {
		return "group_" + what
	}
	return "channel_" + what
}

// change changes a channel, and lets the bot hear of it if it is in there.
func (w *Team) change(ctx context.Context, channelID, what string, how func(c *channel) reply) error {
	w.mu.Lock()
	c, ok := w.channels[channelID]
	if !ok {
		w.mu.Unlock()
		return fmt.Errorf("%s channel %q: %w", what, channelID, ErrUnknown)
	}
	inner := how(c)
	inner["type"], inner["event_ts"] = ofKind(c, what), w.nextTS()
	var events []parcel
	if c.has(w.bot) {
		events = append(events, w.event(inner, c.ExtShared))
	}
	w.mu.Unlock()
	return w.send(ctx, events...)
}

// Archive closes a channel; nobody can write there until Unarchive.
func (w *Team) Archive(ctx context.Context, channelID, by string) error {
	return w.change(ctx, channelID, "archive", func(c *channel) reply {
		c.Archived = true
		return reply{"channel": c.ID, "user": by}
	})
}

// Unarchive opens an archived channel again, with the members that it had.
func (w *Team) Unarchive(ctx context.Context, channelID, by string) error {
	return w.change(ctx, channelID, "unarchive", func(c *channel) reply {
		c.Archived = false
		return reply{"channel": c.ID, "user": by}
	})
}

// Rename gives a channel another name. Its id stays.
func (w *Team) Rename(ctx context.Context, channelID, name string) error {
	return w.change(ctx, channelID, "rename", func(c *channel) reply {
		c.Name = name
		return reply{"channel": reply{"id": c.ID, "name": name, "name_normalized": name, "created": 0}}
	})
}

// Delete removes a channel with all that was said there.
func (w *Team) Delete(ctx context.Context, channelID string) error {
	return w.change(ctx, channelID, "deleted", func(c *channel) reply {
		delete(w.channels, c.ID)
		w.channelIDs = slices.DeleteFunc(w.channelIDs, func(id string) bool { return id == c.ID })
		return reply{"channel": c.ID}
	})
}

// Deactivate closes somebody's account. The bot hears nothing of it: it has
// not subscribed to what changes about people, of which there is much.
func (w *Team) Deactivate(user string) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	u, ok := w.users[user]
	if !ok {
		return fmt.Errorf("deactivate %q: %w", user, ErrUnknown)
	}
	u.Deleted = true
	return nil
}
