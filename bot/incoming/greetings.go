package incoming

import (
	"context"
	"errors"

	"soundings/bot/chat"
	"soundings/bot/screens"
	"soundings/flows"
)

// mentioned answers somebody who mentions the bot, to them alone where that
// can be, or else in a thread.
func (e event) mentioned(ctx context.Context) error {
	channel, who := idOf(e.Event.Channel), flows.UserID(idOf(e.Event.User))
	if who == "" || e.Event.BotID != "" {
		return nil // two apps that answer each other never stop
	}
	key, open, err := e.Kickoffs.InChannel(ctx, e.id, channel)
	if err != nil {
		return err
	}
	p := screens.Page{Viewer: who, Now: e.Clock(), Args: screens.Args{Kickoff: key.Kickoff}}
	if open {
		if p.Kickoff, err = e.Kickoffs.Load(ctx, key); err != nil {
			return err
		}
	}
	answer := screens.Mentioned(p, e.Command)
	// An answer in a thread that has not begun would not be seen.
	err = e.chat.Ephemeral(ctx, channel, e.Event.ThreadTS, who, answer)
	var limited *chat.RateLimited
	if err != nil && !errors.As(err, &limited) {
		thread := e.Event.ThreadTS
		if thread == "" {
			thread = e.Event.TS
		}
		err = e.chat.Say(ctx, channel, thread, answer)
	}
	if errors.Is(err, chat.ErrForbidden) {
		e.Logger.Warn("a mention was not answered", "team", e.id, "channel", channel, "error", err)
		return nil
	}
	return err
}

// joined greets a channel into which the bot was invited, or goes on there.
// People who come are shown the way in, if there is something to join.
func (e event) joined(ctx context.Context) error {
	self, err := e.chat.Self(ctx)
	if err != nil {
		return err
	}
	if flows.UserID(idOf(e.Event.User)) != self {
		return e.offerToJoin(ctx)
	}
	if err := e.channelOpened(ctx); err != nil {
		return err
	}
	channel := idOf(e.Event.Channel)
	first, err := e.Journal.Index.Greet(ctx, e.id, channel)
	if err != nil || !first {
		return err
	}
	err = e.chat.Say(ctx, channel, "", screens.Welcome(e.Command, channel, e.nameOf(ctx, e.Event.Inviter)))
	if errors.Is(err, chat.ErrForbidden) {
		e.Logger.Warn("a channel was not greeted", "team", e.id, "channel", channel, "error", err)
		return nil
	}
	if err != nil { // the platform reports the invitation again
		return errors.Join(err, e.Journal.Index.Ungreet(ctx, e.id, channel))
	}
	return nil
}

// nameOf is how people know somebody; empty when that cannot be found out.
func (t *team) nameOf(ctx context.Context, user string) string {
	if user == "" {
		return ""
	}
	person, _, err := t.chat.Person(ctx, flows.UserID(user))
	if err != nil {
		t.Logger.Info("a name is left out", "user", user, "error", err)
		return ""
	}
	return person.Name
}
