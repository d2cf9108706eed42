package incoming

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows/state"
)

// The home tab is drawn when its owner opens it, and after their own presses
// on it. Nobody looks at it otherwise, so no progress of others costs a call.

// homeOpened draws the home tab of somebody who opens it. The platform
// reports the conversation beside it with the same event.
func (e teamEvent) homeOpened(ctx context.Context) error {
	if e.Event.Tab != "home" || e.page.Viewer == "" {
		return nil
	}
	err := e.publishHome(ctx, e.page.Viewer, "")
	if errors.Is(err, chat.ErrForbidden) || errors.Is(err, chat.ErrNotAllowed) {
		e.Logger.Error("a home tab was not drawn", "team", e.id, "error", err)
		return nil // to be told again would not help
	}
	return err
}

// redrawHome brings a home tab up to date after a press on it, or after the
// form that the press opened; said is what came of it. What was done is
// durable by now, so a failure here is not one of the press.
func (r *request) redrawHome(ctx context.Context, said string) error {
	if r.View.Type != slack.VTHomeTab && !r.page.Args.Home {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, redrawTime)
	defer cancel()
	if err := r.publishHome(ctx, r.page.Viewer, said); err != nil {
		r.Logger.Warn("a home tab was not brought up to date", "team", r.key.Team, "error", err)
	}
	return nil
}

// redrawTime is what a press may wait for its home tab; the platform wants its
// acknowledgement within three seconds.
const redrawTime = 1500 * time.Millisecond

// publishHome draws somebody's home tab as things stand, and puts it up.
func (t *team) publishHome(ctx context.Context, who state.UserID, said string) error {
	h := screens.HomePage{Viewer: who, Now: t.Clock(), Command: t.Command, Said: said}
	var err error
	if h.Kickoffs, err = t.ownKickoffs(ctx, who); err != nil {
		return err
	}
	if h.Joinable, err = t.joinable(ctx, who, h.Kickoffs); err != nil {
		return err
	}
	h.Guest = len(h.Kickoffs) == 0 && t.guest(ctx, who)
	return t.chat.PublishHome(ctx, who, screens.Home(h))
}

// What a home tab remembers of kickoffs that have ended: at most as many as it
// can show, and none that ended long ago. Without a bound, each opening would
// read everything that somebody was ever part of.
const (
	endedMost = 10
	endedFor  = 365 * 24 * time.Hour
)

// ownKickoffs loads the kickoffs that somebody takes part in. What a home tab
// will not show any more is no longer listed for them.
func (t *team) ownKickoffs(ctx context.Context, who state.UserID) ([]state.Kickoff, error) {
	ids, err := t.Journal.Index.Of(ctx, t.id, string(who))
	if err != nil {
		return nil, err
	}
	keys := make([]journal.Key, len(ids))
	for i, id := range ids {
		keys[i] = journal.Key{Team: t.id, Kickoff: id}
	}
	all, err := t.Kickoffs.LoadAll(ctx, keys)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(all, func(a, b state.Kickoff) int { return cmp.Or(b.Started.Compare(a.Started), cmp.Compare(a.ID, b.ID)) })
	ended := 0
	own := all[:0]
	for _, k := range all {
		if k.Stage == state.StageEnded {
			ended++
		}
		past := k.Stage == state.StageEnded && (ended > endedMost || t.Clock().Sub(endOf(k)) > endedFor)
		switch {
		case k.ID == "": // purged meanwhile
			continue
		case k.Takes(who) && !past:
			own = append(own, k)
			continue
		}
		if err := t.unlist(ctx, who, journal.Key{Team: t.id, Kickoff: k.ID}, past); err != nil {
			return nil, err
		}
	}
	return own, nil
}

// endOf is when a kickoff ended, by a decision or without one.
func endOf(k state.Kickoff) time.Time {
	if at := k.Underway.Decision.At; !at.IsZero() {
		return at
	}
	return k.Window.Closed
}

// unlist stops listing a kickoff for somebody who has left it, or for whom it
// is past. Whoever joins again meanwhile is listed again.
func (t *team) unlist(ctx context.Context, who state.UserID, key journal.Key, past bool) error {
	if err := t.Journal.Index.Leave(ctx, key, string(who)); err != nil || past {
		return err
	}
	k, err := t.Kickoffs.Load(ctx, key)
	if err == nil && k.Takes(who) {
		err = t.Journal.Index.Join(ctx, key, string(who))
	}
	return err
}

// joinable lists the open kickoffs that somebody is not part of, in channels
// where they are. The platform is asked where they are, and only when there
// is such a kickoff: whether somebody may know of a channel is its to say.
func (t *team) joinable(ctx context.Context, who state.UserID, own []state.Kickoff) ([]state.Kickoff, error) {
	open, err := t.Journal.Index.Channels(ctx, t.id)
	if err != nil {
		return nil, err
	}
	maps.DeleteFunc(open, func(_, id string) bool {
		return slices.ContainsFunc(own, func(k state.Kickoff) bool { return k.ID == id })
	})
	if len(open) == 0 {
		return nil, nil
	}
	channels, err := t.chat.ChannelsOf(ctx, who)
	if err != nil {
		t.Logger.Warn("a home tab is drawn without what could be joined", "team", t.id, "error", err)
		return nil, nil
	}
	var keys []journal.Key
	for _, channel := range channels {
		if id, held := open[channel]; held {
			keys = append(keys, journal.Key{Team: t.id, Kickoff: id})
		}
	}
	slices.SortFunc(keys, func(a, b journal.Key) int { return cmp.Compare(a.Kickoff, b.Kickoff) })
	others, err := t.Kickoffs.LoadAll(ctx, slices.Compact(keys))
	return slices.DeleteFunc(others, func(k state.Kickoff) bool { return k.Takes(who) || !slices.Contains(channels, k.Channel) }), err
}

// guest reports whether somebody who is new here has a guest's account. It
// changes one sentence, so what cannot be found out counts as no.
func (t *team) guest(ctx context.Context, who state.UserID) bool {
	u, err := t.chat.User(ctx, who)
	if err != nil {
		t.Logger.Info("a home tab is drawn without knowing whether it is a guest's", "error", err)
	}
	return u.Guest
}
