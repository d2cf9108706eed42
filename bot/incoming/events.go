package incoming

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"soundings/bot/chat"
	"soundings/bot/screens"
	"soundings/bot/teams"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// A platformEvent is what we read of the events that we subscribe to.
type platformEvent struct {
	TeamID  string `json:"team_id"`
	EventID string `json:"event_id"`
	Time    int64  `json:"event_time"` // in seconds

	// Authorizations name the install that hears of it: of what happens in a
	// channel shared by two teams, not always the team where it happened.
	Authorizations []struct {
		TeamID string `json:"team_id"`
	} `json:"authorizations"`

	Event struct {
		Type         string          `json:"type"`
		User         json.RawMessage `json:"user"` // an id, or a whole person
		Channel      json.RawMessage `json:"channel"`
		OldChannelID string          `json:"old_channel_id"`
		NewChannelID string          `json:"new_channel_id"`
		Tab          string          `json:"tab"`
		TS           string          `json:"ts"`
		ThreadTS     string          `json:"thread_ts"`
		BotID        string          `json:"bot_id"`
		Inviter      string          `json:"inviter"`
		IsExtShared  bool            `json:"is_ext_shared"` // of a channel that is shared with one company less
		Tokens       struct {
			Bot []string `json:"bot"`
		} `json:"tokens"`
	} `json:"event"`
}

// idOf reads an id that stands alone or within an object.
func idOf(raw json.RawMessage) string {
	var id string
	if json.Unmarshal(raw, &id) == nil {
		return id
	}
	var object struct {
		ID string `json:"id"`
	}
	if json.Unmarshal(raw, &object) == nil {
		return object.ID
	}
	return ""
}

// A teamEvent is what the platform reports to one team, about a channel in which a
// kickoff may be open.
type teamEvent struct {
	*request
	platformEvent
	channel string
}

// Event handles what the platform reports by itself. Events of other kinds
// are taken note of by doing nothing.
func (v *Receiver) Event(ctx context.Context, body []byte) (err error) {
	defer v.count("event", time.Now(), &err)
	var told platformEvent
	if err := json.Unmarshal(body, &told); err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	if len(told.Authorizations) > 0 {
		told.TeamID = v.Teams.Receiver(told.TeamID, told.Authorizations[0].TeamID)
	}
	switch kind := told.Event.Type; {
	case kind == "tokens_revoked" && len(told.Event.Tokens.Bot) == 0: // people's own tokens are none of ours
		return nil
	case kind == "app_uninstalled", kind == "tokens_revoked":
		return v.Teams.Uninstall(ctx, told.TeamID, kind, v.happened(told.Time))
	}
	t, err := v.forTeam(ctx, told.TeamID)
	if errors.Is(err, teams.ErrUninstalled) {
		return nil // nobody is there to whom it matters
	}
	if err != nil {
		return err
	}
	e := teamEvent{platformEvent: told, channel: idOf(told.Event.Channel)}
	e.request, err = t.inChannel(ctx, cmp.Or(told.Event.OldChannelID, e.channel), idOf(told.Event.User), "event/"+told.EventID)
	if err != nil {
		return err
	}
	return e.handle(ctx)
}

// happened is when the platform says that something happened: the end of that
// second, or now where it says nothing that can be.
func (v *Receiver) happened(unix int64) time.Time {
	now, then := v.Clock(), time.Unix(unix+1, 0).Add(-time.Nanosecond)
	if unix <= 0 || then.After(now.Add(time.Minute)) {
		return now
	}
	return then
}

func (e teamEvent) handle(ctx context.Context) error {
	switch e.Event.Type {
	case "app_home_opened":
		return e.homeOpened(ctx)
	case "app_mention":
		return e.mentioned(ctx)
	case "member_joined_channel":
		return e.joined(ctx)
	}
	if e.key.Kickoff == "" { // the others are about the channel of a kickoff
		return nil
	}
	if why := closings[e.Event.Type]; why != "" {
		return e.channelClosed(ctx, why)
	}
	switch e.Event.Type {
	case "member_left_channel":
		return e.left(ctx)
	case "channel_id_changed":
		return e.channelMoved(ctx)
	case "channel_unarchive", "group_unarchive":
		return e.channelChanged(ctx, flows.ReportReachable{})
	case "channel_shared", "channel_unshared":
		outside := e.Event.Type == "channel_shared" || e.Event.IsExtShared
		return e.channelChanged(ctx, flows.Report{News: event.ChannelSeen{Outside: outside, Canvas: e.page.Kickoff.Seen.Canvas}})
	}
	return nil
}

// closings are the events after which nothing reaches a channel.
var closings = map[string]state.UnreachableReason{
	"channel_archive": state.ChannelArchived, "group_archive": state.ChannelArchived,
	"channel_left": state.BotRemoved, "group_left": state.BotRemoved, // of the bot itself
	"channel_deleted": state.ChannelDeleted, "group_deleted": state.ChannelDeleted,
}

// entriesBack is how many entries before a report of the platform may still have
// been on their way into the channel.
const entriesBack = 20

// channelClosed stops the kickoff of a channel.
func (e teamEvent) channelClosed(ctx context.Context, why state.UnreachableReason) error {
	return e.channelChanged(ctx, flows.ReportUnreachable{Why: why, Since: max(0, e.page.Kickoff.Version-entriesBack)})
}

func (e teamEvent) channelChanged(ctx context.Context, in flows.Intent) error {
	e.Logger.Info("the channel of a kickoff has changed", "team", e.id, "kickoff", e.key.Kickoff, "event", e.Event.Type)
	return e.do(ctx, in)
}

// channelMoved keeps a kickoff whose channel got another id.
func (e teamEvent) channelMoved(ctx context.Context) error {
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
func (e teamEvent) offerToJoin(ctx context.Context) error {
	if e.key.Kickoff == "" || e.page.Kickoff.Takes(e.page.Viewer) || e.page.Kickoff.Stage == state.StageEnded {
		return nil
	}
	if err := e.chat.Ephemeral(ctx, e.channel, "", e.page.Viewer, screens.JoinOffer(e.page.Kickoff)); err != nil { // they still find the way on their home tab
		e.Logger.Info("somebody new was not shown the way in", "team", e.id, "kickoff", e.key.Kickoff, "error", err)
	}
	return nil
}

// left ends somebody's part in the kickoff of a channel they left.
func (e teamEvent) left(ctx context.Context) error {
	self, err := e.chat.Self(ctx)
	if err != nil {
		return err
	}
	if e.page.Viewer == self {
		return e.channelClosed(ctx, state.BotRemoved)
	}
	err = e.do(ctx, flows.Left{Person: e.page.Viewer})
	if errors.As(err, new(*flows.Refusal)) {
		return nil // the last lead left: the kickoff goes on by its windows
	}
	return err
}

// mentioned answers somebody who mentions the bot, to them alone where that
// can be, or else in a thread.
func (e teamEvent) mentioned(ctx context.Context) error {
	if e.page.Viewer == "" || e.Event.BotID != "" {
		return nil // two apps that answer each other never stop
	}
	answer := screens.Mentioned(e.page, e.Command)
	// An answer in a thread that has not begun would not be seen.
	err := e.chat.Ephemeral(ctx, e.channel, e.Event.ThreadTS, e.page.Viewer, answer)
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
func (e teamEvent) joined(ctx context.Context) error {
	self, err := e.chat.Self(ctx)
	if err != nil {
		return err
	}
	if e.page.Viewer != self {
		return e.offerToJoin(ctx)
	}
	if e.key.Kickoff != "" {
		if err := e.channelChanged(ctx, flows.ReportReachable{}); err != nil {
			return err
		}
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
	u, err := t.chat.User(ctx, state.UserID(user))
	if err != nil {
		t.Logger.Info("a name is left out", "user", user, "error", err)
	}
	return u.Name
}
