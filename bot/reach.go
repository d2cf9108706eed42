package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// What becomes of a kickoff whose channel, or one of whose people, is out of
// reach. The platform reports most of it; of some it says nothing, and the
// next message finds out. So both ways lead to the same intent.

// errShut puts off what needs a channel that is out of reach. It is not marked
// as done, and done when the channel is there again.
var errShut = errors.New("the channel is out of reach")

// needsChannel reports whether an effect is for the eyes of the channel.
func needsChannel(e flows.Effect) bool {
	switch e.Do {
	case flows.ListKickoff, flows.ReleaseChannel, flows.Resume, flows.Wake:
		return false
	}
	return e.Slot.To == ""
}

// shutBy reads from an error of the platform what became of a channel.
func shutBy(err error) (flows.UnreachableReason, bool) {
	switch code := codeOf(err); code {
	case "is_archived", "is_inactive":
		return flows.ChannelArchived, true
	case "not_in_channel", "channel_not_found": // a private channel does not exist for whoever is not in it
		return flows.BotRemoved, true
	}
	return "", false
}

func codeOf(err error) string {
	var answer slack.SlackErrorResponse
	if errors.As(err, &answer) {
		return answer.Err
	}
	return ""
}

// unreached draws the consequence of a message that the platform does not let
// through: the kickoff stands still, or somebody is waited for no more.
func (b *Bot) unreached(ctx context.Context, w work, e flows.Effect, err error) error {
	if !errors.Is(err, ErrClosedDoor) {
		return nil
	}
	if why, shut := shutBy(err); shut && needsChannel(e) {
		return b.do(ctx, w.Key, flows.ReportUnreachable{Why: why, Since: w.Version - 1}, "")
	}
	if e.Slot.To == "" {
		return nil
	}
	_, gone, err := b.Chat.Person(ctx, e.Slot.To)
	if codeOf(err) == "user_not_found" || err == nil && gone {
		return b.do(ctx, w.Key, flows.Left{Person: e.Slot.To}, "")
	}
	return nil // they are there: it is something else, and was logged
}

// lookBack is how many entries before a report of the platform may still have
// been on their way into the channel.
const lookBack = 20

// channelShut stops the kickoff of a channel, if one is open there.
func (b *Bot) channelShut(ctx context.Context, e platformEvent, why flows.UnreachableReason) error {
	return b.ofChannel(ctx, e, func(k flows.Kickoff) flows.Intent {
		return flows.ReportUnreachable{Why: why, Since: max(0, k.Version-lookBack)}
	})
}

// channelBack lets the kickoff of a channel go on.
func (b *Bot) channelBack(ctx context.Context, e platformEvent) error {
	return b.ofChannel(ctx, e, func(flows.Kickoff) flows.Intent { return flows.ReportReachable{} })
}

func (b *Bot) ofChannel(ctx context.Context, e platformEvent, intent func(flows.Kickoff) flows.Intent) error {
	id, err := b.Journal.Index.InChannel(ctx, e.TeamID, idOf(e.Event.Channel))
	if err != nil || id == "" {
		return err
	}
	key := journal.Key{Team: e.TeamID, Kickoff: id}
	k, err := b.load(ctx, key)
	if err != nil {
		return err
	}
	b.Logger.Info("the channel of a kickoff has changed", "team", e.TeamID, "kickoff", id, "event", e.Event.Type)
	return b.do(ctx, key, intent(k), "event/"+e.EventID)
}

// resume does what could not be done while the channel was out of reach, in
// its order and before anything later. What was done before is marked.
func (b *Bot) resume(ctx context.Context, w work, since int64) error {
	entries, err := b.Journal.Read(ctx, w.Key, 0)
	if err != nil {
		return err
	}
	var k flows.Kickoff
	for _, entry := range entries {
		var r flows.Record
		if entry.Version >= w.Version {
			break
		}
		if err := json.Unmarshal(entry.Data, &r); err != nil {
			return fmt.Errorf("read entry %d: %w", entry.Version, err)
		}
		k = flows.Apply(k, entry.Version, r)
		if entry.Version <= since {
			continue
		}
		if err := b.again(ctx, work{Key: w.Key, Version: entry.Version, Effects: flows.React(k, r)}); err != nil {
			return err
		}
	}
	return nil
}

// again does the effects of an earlier entry for the channel.
func (b *Bot) again(ctx context.Context, w work) error {
	var missing []flows.Effect
	for _, e := range w.Effects {
		switch {
		case !needsChannel(e):
		case e.Do == flows.Refresh:
			if err := b.refresh(ctx, work{Key: w.Key, Version: w.Version, Slot: e.Slot}); err != nil && !hopeless(err) {
				return err
			}
		default:
			missing = append(missing, e)
		}
	}
	w.Effects = missing
	return b.all(ctx, w)
}

// offerToJoin shows somebody who comes into a channel with a kickoff how to
// take part, to them alone. Whether they do is theirs and the lead's to say.
func (b *Bot) offerToJoin(ctx context.Context, e platformEvent) error {
	channel, who := idOf(e.Event.Channel), flows.UserID(idOf(e.Event.User))
	id, err := b.Journal.Index.InChannel(ctx, e.TeamID, channel)
	if err != nil || id == "" {
		return err
	}
	k, err := b.load(ctx, journal.Key{Team: e.TeamID, Kickoff: id})
	if err != nil || k.Takes(who) || k.Stage == flows.StageEnded {
		return err
	}
	if err := b.Chat.Aside(ctx, channel, "", who, screens.JoinOffer(k)); err != nil { // they still find the way on their home tab
		b.Logger.Info("somebody new was not shown the way in", "team", e.TeamID, "kickoff", id, "error", err)
	}
	return nil
}
