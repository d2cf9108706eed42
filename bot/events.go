package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"soundings/bot/journal"
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

// Event handles what the platform reports by itself. Events of other kinds
// are taken note of by doing nothing.
func (b *Bot) Event(ctx context.Context, body []byte) (err error) {
	began := time.Now()
	defer func() { b.Metrics.request("event", began, time.Now(), err) }()
	var e platformEvent
	if err := json.Unmarshal(body, &e); err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	if b.Installs != nil && len(e.Authorizations) > 0 && e.Authorizations[0].TeamID != "" {
		e.TeamID = e.Authorizations[0].TeamID
	}
	switch e.Event.Type {
	case "app_uninstalled":
		return b.stop(ctx, e.TeamID, e.Event.Type, b.happened(e.Time))
	case "tokens_revoked":
		if len(e.Event.Tokens.Bot) == 0 { // people's own tokens are none of ours
			return nil
		}
		return b.stop(ctx, e.TeamID, e.Event.Type, b.happened(e.Time))
	}
	if b, err = b.at(ctx, e.TeamID); errors.Is(err, errAway) {
		return nil // nobody is there to whom it matters
	} else if err != nil {
		return err
	}
	switch e.Event.Type {
	case "app_home_opened":
		return b.homeOpened(ctx, e)
	case "app_mention":
		return b.mentioned(ctx, e)
	case "member_joined_channel":
		return b.joined(ctx, e)
	case "member_left_channel":
		return b.left(ctx, e, idOf(e.Event.Channel))
	case "channel_id_changed":
		return b.channelMoved(ctx, e)
	case "channel_archive", "group_archive":
		return b.channelShut(ctx, e, flows.ChannelArchived)
	case "channel_left", "group_left": // of the bot itself
		return b.channelShut(ctx, e, flows.BotRemoved)
	case "channel_deleted", "group_deleted":
		return b.channelShut(ctx, e, flows.ChannelDeleted)
	case "channel_unarchive", "group_unarchive":
		return b.channelBack(ctx, e)
	case "channel_shared":
		return b.channelShared(ctx, e, true)
	case "channel_unshared":
		return b.channelShared(ctx, e, e.Event.IsExtShared)
	}
	return nil
}

// channelShared notes whether people of another company read a kickoff's
// channel.
func (b *Bot) channelShared(ctx context.Context, e platformEvent, outside bool) error {
	return b.ofChannel(ctx, e, func(k flows.Kickoff) flows.Intent {
		return flows.SeeChannel{Outside: outside, Canvas: k.Seen.Canvas}
	})
}

// left ends somebody's part in the kickoff of a channel they left.
func (b *Bot) left(ctx context.Context, e platformEvent, channel string) error {
	id, err := b.Journal.Index.InChannel(ctx, e.TeamID, channel)
	if err != nil || id == "" {
		return err
	}
	self, err := b.Chat.Self(ctx)
	if err != nil {
		return err
	}
	if flows.UserID(idOf(e.Event.User)) == self {
		return b.channelShut(ctx, e, flows.BotRemoved)
	}
	key := journal.Key{Team: e.TeamID, Kickoff: id}
	err = b.do(ctx, key, flows.Left{Person: flows.UserID(idOf(e.Event.User))}, "event/"+e.EventID)
	if isRefusal(err) {
		return nil // the last lead left: the kickoff goes on by its windows
	}
	return err
}

// channelMoved keeps a kickoff whose channel got another id.
func (b *Bot) channelMoved(ctx context.Context, e platformEvent) error {
	from, to := e.Event.OldChannelID, e.Event.NewChannelID
	id, err := b.Journal.Index.InChannel(ctx, e.TeamID, from)
	if err != nil || id == "" {
		return err
	}
	if _, err := b.Journal.Index.Claim(ctx, e.TeamID, to, id); err != nil {
		return err
	}
	key := journal.Key{Team: e.TeamID, Kickoff: id}
	if err := b.do(ctx, key, flows.MoveChannel{To: to}, "event/"+e.EventID); err != nil {
		return err
	}
	return b.Journal.Index.Release(ctx, e.TeamID, from, id)
}
