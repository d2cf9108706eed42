package incoming

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/teams"
	"soundings/flows"
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

// An event is what the platform reports to one team, about a channel in which a
// kickoff may be open.
type event struct {
	*team
	platformEvent
	channel string
	user    flows.UserID
	open    bool
	key     journal.Key
	kickoff flows.Kickoff
}

// Event handles what the platform reports by itself. Events of other kinds
// are taken note of by doing nothing.
func (v *Receiver) Event(ctx context.Context, body []byte) (err error) {
	began := time.Now()
	defer func() { v.count("event", began, err) }()
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
	e := event{team: t, platformEvent: told, channel: idOf(told.Event.Channel), user: flows.UserID(idOf(told.Event.User))}
	if e.key, e.kickoff, e.open, err = t.Kickoffs.InChannel(ctx, t.id, cmp.Or(told.Event.OldChannelID, e.channel)); err != nil {
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

func (e event) handle(ctx context.Context) error {
	switch e.Event.Type {
	case "app_home_opened":
		return e.homeOpened(ctx)
	case "app_mention":
		return e.mentioned(ctx)
	case "member_joined_channel":
		return e.joined(ctx)
	case "member_left_channel":
		return e.left(ctx)
	case "channel_id_changed":
		return e.channelMoved(ctx)
	case "channel_archive", "group_archive":
		return e.channelClosed(ctx, flows.ChannelArchived)
	case "channel_left", "group_left": // of the bot itself
		return e.channelClosed(ctx, flows.BotRemoved)
	case "channel_deleted", "group_deleted":
		return e.channelClosed(ctx, flows.ChannelDeleted)
	case "channel_unarchive", "group_unarchive":
		return e.channelChanged(ctx, flows.ReportReachable{})
	case "channel_shared":
		return e.channelChanged(ctx, flows.Report{News: flows.ChannelSeen{Outside: true, Canvas: e.kickoff.Seen.Canvas}})
	case "channel_unshared":
		return e.channelChanged(ctx, flows.Report{News: flows.ChannelSeen{Outside: e.Event.IsExtShared, Canvas: e.kickoff.Seen.Canvas}})
	}
	return nil
}

// do has an intent that follows from the event decided, and written down.
func (e event) do(ctx context.Context, in flows.Intent) error {
	return e.Kickoffs.Do(ctx, e.key, in, kickoffs.Origin{Delivery: "event/" + e.EventID})
}
