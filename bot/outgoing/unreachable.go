package outgoing

import (
	"context"
	"errors"

	"soundings/bot/chat"
	"soundings/bot/kickoffs"
	"soundings/flows"
	"soundings/flows/state"
)

// What becomes of a kickoff whose channel, or one of whose people, is out of
// reach. The platform reports most of it; of some it says nothing, and the
// next message finds out. So both ways lead to the same intent.

// errUnreachable puts off what needs a channel that is out of reach. It is not
// marked as done, and done when the channel is there again.
var errUnreachable = errors.New("the channel is out of reach")

// needsChannel reports whether an effect is for the eyes of the channel.
func needsChannel(e flows.Effect) bool {
	switch e.Do {
	case flows.ListKickoff, flows.ReleaseChannel, flows.Resume, flows.Redraw, flows.Wake, flows.LookUpPeople, flows.DestroyKeys:
		return false
	}
	return e.Slot.To == ""
}

// unreachableBy reads from an error of the platform what became of a channel.
func unreachableBy(err error) (state.UnreachableReason, bool) {
	switch {
	case chat.Refused(err, "is_archived", "is_inactive"):
		return state.ChannelArchived, true
	case chat.Refused(err, "not_in_channel", "channel_not_found"): // a private channel does not exist for whoever is not in it
		return state.BotRemoved, true
	}
	return "", false
}

// unreached draws the consequence of a message that the platform does not let
// through: the kickoff stands still, or somebody is waited for no more.
func (r *run) unreached(ctx context.Context, e flows.Effect, err error) error {
	if !errors.Is(err, chat.ErrForbidden) {
		return nil
	}
	if why, is := unreachableBy(err); is && needsChannel(e) {
		return r.report(ctx, flows.ReportUnreachable{Why: why, Since: r.Version - 1})
	}
	if e.Slot.To == "" {
		return nil
	}
	user, err := r.chat.User(ctx, e.Slot.To)
	if chat.Refused(err, "user_not_found") || user.Absent {
		return r.report(ctx, flows.Left{Person: e.Slot.To})
	}
	return nil // they are there: it is something else, and was logged
}

// resume does what could not be done while the channel was out of reach, in
// its order and before anything later. What was done before is marked.
func (r *run) resume(ctx context.Context, since int64) error {
	return r.Kickoffs.Replay(ctx, r.Key, since, r.Version, func(e kickoffs.Entry, effects []flows.Effect) error {
		earlier := &run{Worker: r.Worker, payload: payload{Key: r.Key, Version: e.Version, Digest: e.Digest, Effects: effects}, chat: r.chat}
		return earlier.again(ctx)
	})
}

// again does the effects of an earlier entry for the channel.
func (r *run) again(ctx context.Context) error {
	var missing []flows.Effect
	for _, e := range r.Effects {
		switch {
		case !needsChannel(e):
		case e.Do == flows.Refresh:
			r.Slot = e.Slot
			if err := r.refresh(ctx); err != nil && !permanent(err) {
				return err
			}
		default:
			missing = append(missing, e)
		}
	}
	r.Effects = missing
	return r.effects(ctx)
}
