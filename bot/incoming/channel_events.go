package incoming

import (
	"cmp"
	"context"
	"errors"

	"soundings/bot/chat"
	"soundings/bot/screens"
	"soundings/flows"
)

// entriesBack is how many entries before a report of the platform may still have
// been on their way into the channel.
const entriesBack = 20

// channelClosed stops the kickoff of a channel, if one is open there.
func (e event) channelClosed(ctx context.Context, why flows.UnreachableReason) error {
	return e.channelChanged(ctx, flows.ReportUnreachable{Why: why, Since: max(0, e.kickoff.Version-entriesBack)})
}

func (e event) channelChanged(ctx context.Context, in flows.Intent) error {
	if !e.open {
		return nil
	}
	e.Logger.Info("the channel of a kickoff has changed", "team", e.id, "kickoff", e.key.Kickoff, "event", e.Event.Type)
	return e.do(ctx, in)
}

// channelMoved keeps a kickoff whose channel got another id.
func (e event) channelMoved(ctx context.Context) error {
	if !e.open {
		return nil
	}
	if _, err := e.Journal.Index.Claim(ctx, e.id, e.Event.NewChannelID, e.key.Kickoff); err != nil {
		return err
	}
	if err := e.do(ctx, flows.MoveChannel{To: e.Event.NewChannelID}); err != nil {
		return err
	}
	return e.Journal.Index.Release(ctx, e.id, e.Event.OldChannelID, e.key.Kickoff)
}

// offerToJoin shows somebody who comes into a channel with a kickoff how to
// take part, to them alone. Whether they do is theirs and the lead's to say.
func (e event) offerToJoin(ctx context.Context) error {
	if !e.open || e.kickoff.Takes(e.user) || e.kickoff.Stage == flows.StageEnded {
		return nil
	}
	if err := e.chat.Ephemeral(ctx, e.channel, "", e.user, screens.JoinOffer(e.kickoff)); err != nil { // they still find the way on their home tab
		e.Logger.Info("somebody new was not shown the way in", "team", e.id, "kickoff", e.key.Kickoff, "error", err)
	}
	return nil
}

// left ends somebody's part in the kickoff of a channel they left.
func (e event) left(ctx context.Context) error {
	if !e.open {
		return nil
	}
	self, err := e.chat.Self(ctx)
	if err != nil {
		return err
	}
	if e.user == self {
		return e.channelClosed(ctx, flows.BotRemoved)
	}
	err = e.do(ctx, flows.Left{Person: e.user})
	if isRefusal(err) {
		return nil // the last lead left: the kickoff goes on by its windows
	}
	return err
}

// mentioned answers somebody who mentions the bot, to them alone where that
// can be, or else in a thread.
func (e event) mentioned(ctx context.Context) error {
	if e.user == "" || e.Event.BotID != "" {
		return nil // two apps that answer each other never stop
	}
	p := screens.Page{Kickoff: e.kickoff, Viewer: e.user, Now: e.Clock(), Args: screens.Args{Kickoff: e.key.Kickoff}}
	answer := screens.Mentioned(p, e.Command)
	// An answer in a thread that has not begun would not be seen.
	err := e.chat.Ephemeral(ctx, e.channel, e.Event.ThreadTS, e.user, answer)
	if _, limited := errors.AsType[*chat.RateLimited](err); err != nil && !limited {
		_, err = e.chat.Post(ctx, e.channel, cmp.Or(e.Event.ThreadTS, e.Event.TS), chat.Tag{}, answer)
	}
	if errors.Is(err, chat.ErrForbidden) {
		e.Logger.Warn("a mention was not answered", "team", e.id, "channel", e.channel, "error", err)
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
	if e.user != self {
		return e.offerToJoin(ctx)
	}
	if err := e.channelChanged(ctx, flows.ReportReachable{}); err != nil {
		return err
	}
	first, err := e.Journal.Index.Greet(ctx, e.id, e.channel)
	if err != nil || !first {
		return err
	}
	_, err = e.chat.Post(ctx, e.channel, "", chat.Tag{}, screens.Welcome(e.Command, e.channel, e.nameOf(ctx, e.Event.Inviter)))
	if errors.Is(err, chat.ErrForbidden) {
		e.Logger.Warn("a channel was not greeted", "team", e.id, "channel", e.channel, "error", err)
		return nil
	}
	if err != nil { // the platform reports the invitation again
		return errors.Join(err, e.Journal.Index.Ungreet(ctx, e.id, e.channel))
	}
	return nil
}

// nameOf is how people know somebody; empty when that cannot be found out.
func (t *team) nameOf(ctx context.Context, user string) string {
	if user == "" {
		return ""
	}
	u, err := t.chat.User(ctx, flows.UserID(user))
	if err != nil {
		t.Logger.Info("a name is left out", "user", user, "error", err)
	}
	return u.Name
}
