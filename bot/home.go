package bot

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// The home tab is drawn when its owner opens it, and after their own presses
// on it. Nobody looks at it otherwise, so no progress of others costs a call.

// homeOpened draws the home tab of somebody who opens it. The platform
// reports the conversation beside it with the same event.
func (b *Bot) homeOpened(ctx context.Context, e platformEvent) error {
	who := flows.UserID(idOf(e.Event.User))
	if e.Event.Tab != "home" || who == "" {
		return nil
	}
	err := b.publishHome(ctx, e.TeamID, who, "")
	if hopeless(err) || errors.Is(err, ErrNotAllowed) {
		b.Logger.Error("a home tab was not drawn", "team", e.TeamID, "error", err)
		return nil // to be told again would not help
	}
	return err
}

// redrawHome brings a home tab up to date after a press on it, or after the
// form that the press opened; said is what came of it. What was done is
// durable by now, so a failure here is not one of the press.
func (b *Bot) redrawHome(ctx context.Context, v visit, said string) error {
	if v.surface != slack.VTHomeTab && !v.page.Args.Home {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, redrawTime)
	defer cancel()
	if err := b.publishHome(ctx, v.key.Team, v.page.Viewer, said); err != nil {
		b.Logger.Warn("a home tab was not brought up to date", "team", v.key.Team, "error", err)
	}
	return nil
}

// redrawTime is what a press may wait for its home tab; the platform wants its
// acknowledgement within three seconds.
const redrawTime = 1500 * time.Millisecond

// publishHome draws somebody's home tab as things stand, and puts it up.
func (b *Bot) publishHome(ctx context.Context, team string, who flows.UserID, said string) error {
	h := screens.HomePage{Viewer: who, Now: b.Clock(), Command: b.Command, Said: said}
	own, err := b.Journal.Index.Of(ctx, team, string(who))
	if err != nil {
		return err
	}
	if h.Kickoffs, err = b.loadAll(ctx, team, own); err != nil {
		return err
	}
	if h.Joinable, err = b.doors(ctx, team, who); err != nil {
		return err
	}
	h.Guest = len(own) == 0 && b.guest(ctx, who)
	return b.Chat.PublishHome(ctx, who, screens.Home(h))
}

func (b *Bot) loadAll(ctx context.Context, team string, ids []string) ([]flows.Kickoff, error) {
	all := make([]flows.Kickoff, len(ids))
	for i, id := range ids {
		k, err := b.load(ctx, journal.Key{Team: team, Kickoff: id})
		if err != nil {
			return nil, err
		}
		all[i] = k
	}
	return all, nil
}

// doors lists the open kickoffs that somebody is not part of, in channels
// where they are. The platform is asked where they are, and only when there
// is such a kickoff: whether somebody may know of a channel is its to say.
func (b *Bot) doors(ctx context.Context, team string, who flows.UserID) ([]flows.Kickoff, error) {
	keys, err := b.Journal.Index.Open(ctx)
	if err != nil {
		return nil, err
	}
	var others []flows.Kickoff
	for _, key := range keys {
		if key.Team != team {
			continue
		}
		k, err := b.load(ctx, key)
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
	channels, err := b.Chat.ChannelsOf(ctx, who)
	if err != nil {
		b.Logger.Warn("a home tab is drawn without what could be joined", "team", team, "error", err)
		return nil, nil
	}
	return slices.DeleteFunc(others, func(k flows.Kickoff) bool { return !slices.Contains(channels, k.Channel) }), nil
}

// guest reports whether somebody who is new here has a guest's account. It
// changes one sentence, so what cannot be found out counts as no.
func (b *Bot) guest(ctx context.Context, who flows.UserID) bool {
	guest, err := b.Chat.Guest(ctx, who)
	if err != nil {
		b.Logger.Info("a home tab is drawn without knowing whether it is a guest's", "error", err)
	}
	return guest
}

// mentioned answers somebody who mentions the bot, to them alone where that
// can be, or else in a thread.
func (b *Bot) mentioned(ctx context.Context, e platformEvent) error {
	channel, who := idOf(e.Event.Channel), flows.UserID(idOf(e.Event.User))
	if who == "" || e.Event.BotID != "" {
		return nil // two apps that answer each other never stop
	}
	id, err := b.Journal.Index.InChannel(ctx, e.TeamID, channel)
	if err != nil {
		return err
	}
	p := screens.Page{Viewer: who, Now: b.Clock(), Args: screens.Args{Kickoff: id}}
	if id != "" {
		if p.Kickoff, err = b.load(ctx, journal.Key{Team: e.TeamID, Kickoff: id}); err != nil {
			return err
		}
	}
	answer := screens.Mentioned(p, b.Command)
	// An answer in a thread that has not begun would not be seen.
	err = b.Chat.Aside(ctx, channel, e.Event.ThreadTS, who, answer)
	var limited *RateLimited
	if err != nil && !errors.As(err, &limited) {
		thread := e.Event.ThreadTS
		if thread == "" {
			thread = e.Event.TS
		}
		err = b.Chat.Say(ctx, channel, thread, answer)
	}
	if hopeless(err) {
		b.Logger.Warn("a mention was not answered", "team", e.TeamID, "channel", channel, "error", err)
		return nil
	}
	return err
}

// joined greets a channel into which the bot was invited, or goes on there.
// People who come are shown the way in, if there is something to join.
func (b *Bot) joined(ctx context.Context, e platformEvent) error {
	self, err := b.Chat.Self(ctx)
	if err != nil {
		return err
	}
	if flows.UserID(idOf(e.Event.User)) != self {
		return b.offerToJoin(ctx, e)
	}
	if err := b.channelBack(ctx, e); err != nil {
		return err
	}
	channel := idOf(e.Event.Channel)
	first, err := b.Journal.Index.Greet(ctx, e.TeamID, channel)
	if err != nil || !first {
		return err
	}
	err = b.Chat.Say(ctx, channel, "", screens.Welcome(b.Command, channel, b.nameOf(ctx, e.Event.Inviter)))
	if hopeless(err) {
		b.Logger.Warn("a channel was not greeted", "team", e.TeamID, "channel", channel, "error", err)
		return nil
	}
	if err != nil { // the platform reports the invitation again
		return errors.Join(err, b.Journal.Index.Ungreet(ctx, e.TeamID, channel))
	}
	return nil
}

// nameOf is how people know somebody; empty when that cannot be found out.
func (b *Bot) nameOf(ctx context.Context, user string) string {
	if user == "" {
		return ""
	}
	person, _, err := b.Chat.Person(ctx, flows.UserID(user))
	if err != nil {
		b.Logger.Info("a name is left out", "user", user, "error", err)
		return ""
	}
	return person.Name
}
