package incoming

import (
	"context"

	"soundings/bot/screens"
	"soundings/flows"
)

// entriesBack is how many entries before a report of the platform may still have
// been on their way into the channel.
const entriesBack = 20

// channelClosed stops the kickoff of a channel, if one is open there.
func (e event) channelClosed(ctx context.Context, why flows.UnreachableReason) error {
	return e.ofChannel(ctx, func(k flows.Kickoff) flows.Intent {
		return flows.ReportUnreachable{Why: why, Since: max(0, k.Version-entriesBack)}
	})
}

// channelOpened lets the kickoff of a channel go on.
func (e event) channelOpened(ctx context.Context) error {
	return e.ofChannel(ctx, func(flows.Kickoff) flows.Intent { return flows.ReportReachable{} })
}

func (e event) ofChannel(ctx context.Context, intent func(flows.Kickoff) flows.Intent) error {
	key, open, err := e.Kickoffs.InChannel(ctx, e.id, idOf(e.Event.Channel))
	if err != nil || !open {
		return err
	}
	k, err := e.Kickoffs.Load(ctx, key)
	if err != nil {
		return err
	}
	e.Logger.Info("the channel of a kickoff has changed", "team", e.id, "kickoff", key.Kickoff, "event", e.Event.Type)
	return e.do(ctx, key, intent(k))
}

// offerToJoin shows somebody who comes into a channel with a kickoff how to
// take part, to them alone. Whether they do is theirs and the lead's to say.
func (e event) offerToJoin(ctx context.Context) error {
	channel, who := idOf(e.Event.Channel), flows.UserID(idOf(e.Event.User))
	key, open, err := e.Kickoffs.InChannel(ctx, e.id, channel)
	if err != nil || !open {
		return err
	}
	k, err := e.Kickoffs.Load(ctx, key)
	if err != nil || k.Takes(who) || k.Stage == flows.StageEnded {
		return err
	}
	if err := e.chat.Ephemeral(ctx, channel, "", who, screens.JoinOffer(k)); err != nil { // they still find the way on their home tab
		e.Logger.Info("somebody new was not shown the way in", "team", e.id, "kickoff", key.Kickoff, "error", err)
	}
	return nil
}

// channelShared notes whether people of another company read a kickoff's
// channel.
func (e event) channelShared(ctx context.Context, outside bool) error {
	return e.ofChannel(ctx, func(k flows.Kickoff) flows.Intent {
		return flows.SeeChannel{Outside: outside, Canvas: k.Seen.Canvas}
	})
}

// left ends somebody's part in the kickoff of a channel they left.
func (e event) left(ctx context.Context) error {
	key, open, err := e.Kickoffs.InChannel(ctx, e.id, idOf(e.Event.Channel))
	if err != nil || !open {
		return err
	}
	self, err := e.chat.Self(ctx)
	if err != nil {
		return err
	}
	if flows.UserID(idOf(e.Event.User)) == self {
		return e.channelClosed(ctx, flows.BotRemoved)
	}
	err = e.do(ctx, key, flows.Left{Person: flows.UserID(idOf(e.Event.User))})
	if isRefusal(err) {
		return nil // the last lead left: the kickoff goes on by its windows
	}
	return err
}

// channelMoved keeps a kickoff whose channel got another id.
func (e event) channelMoved(ctx context.Context) error {
	from, to := e.Event.OldChannelID, e.Event.NewChannelID
	key, open, err := e.Kickoffs.InChannel(ctx, e.id, from)
	if err != nil || !open {
		return err
	}
	if _, err := e.Journal.Index.Claim(ctx, e.id, to, key.Kickoff); err != nil {
		return err
	}
	if err := e.do(ctx, key, flows.MoveChannel{To: to}); err != nil {
		return err
	}
	return e.Journal.Index.Release(ctx, e.id, from, key.Kickoff)
}
