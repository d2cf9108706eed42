package incoming

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// The home tab is drawn when its owner opens it, and after their own presses
// on it. Nobody looks at it otherwise, so no progress of others costs a call.

// homeOpened draws the home tab of somebody who opens it. The platform
// reports the conversation beside it with the same event.
func (e event) homeOpened(ctx context.Context) error {
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
func (t *team) publishHome(ctx context.Context, who flows.UserID, said string) error {
	h := screens.HomePage{Viewer: who, Now: t.Clock(), Command: t.Command, Said: said}
	own, err := t.Journal.Index.Of(ctx, t.id, string(who))
	if err != nil {
		return err
	}
	for _, id := range own {
		k, err := t.Kickoffs.Load(ctx, journal.Key{Team: t.id, Kickoff: id})
		if err != nil {
			return err
		}
		h.Kickoffs = append(h.Kickoffs, k)
	}
	if h.Joinable, err = t.joinable(ctx, who); err != nil {
		return err
	}
	h.Guest = len(own) == 0 && t.guest(ctx, who)
	return t.chat.PublishHome(ctx, who, screens.Home(h))
}

// joinable lists the open kickoffs that somebody is not part of, in channels
// where they are. The platform is asked where they are, and only when there
// is such a kickoff: whether somebody may know of a channel is its to say.
func (t *team) joinable(ctx context.Context, who flows.UserID) ([]flows.Kickoff, error) {
	keys, err := t.Journal.Index.Open(ctx)
	if err != nil {
		return nil, err
	}
	var others []flows.Kickoff
	for _, key := range keys {
		if key.Team != t.id {
			continue
		}
		k, err := t.Kickoffs.Load(ctx, key)
		if err != nil {
			return nil, err
		}
		if !k.Takes(who) {
			others = append(others, k)
		}
	}
	if len(others) == 0 {
		return nil, nil
	}
	channels, err := t.chat.ChannelsOf(ctx, who)
	if err != nil {
		t.Logger.Warn("a home tab is drawn without what could be joined", "team", t.id, "error", err)
		return nil, nil
	}
	return slices.DeleteFunc(others, func(k flows.Kickoff) bool { return !slices.Contains(channels, k.Channel) }), nil
}

// guest reports whether somebody who is new here has a guest's account. It
// changes one sentence, so what cannot be found out counts as no.
func (t *team) guest(ctx context.Context, who flows.UserID) bool {
	u, err := t.chat.User(ctx, who)
	if err != nil {
		t.Logger.Info("a home tab is drawn without knowing whether it is a guest's", "error", err)
	}
	return u.Guest
}
