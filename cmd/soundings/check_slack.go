package main

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/words"
)

// examineToken asks whose the bot token is; the answer also tells its scopes
// and what time it is there.
func (s settings) examineToken(ctx context.Context) (identity, []finding) {
	who, err := s.identify(ctx)
	if err != nil {
		return identity{}, []finding{found("bot token", toMend, "%v", err)}
	}
	return who, append([]finding{found("bot token", isGood, "it is that of %s in %s (%s)", who.user, who.team, who.teamID)},
		append(examineScopes(who), examineClock(who))...)
}

func examineScopes(who identity) []finding {
	if who.scopes == nil {
		return []finding{found("scopes", isNote, "the platform does not say which scopes the token has")}
	}
	needed := found("scopes", isGood, "all that the bot cannot do without are there")
	if missing := who.lacks(manifest.NeededScopes()); len(missing) > 0 {
		needed = found("scopes", toMend, "%s", lackOfScopes(missing))
	}
	all := []finding{needed}
	for _, scope := range manifest.OptionalScopes() {
		if !slices.Contains(who.scopes, scope.Name) {
			all = append(all, found("scopes", isNote, "without %s %s", scope.Name, scope.Without))
		}
	}
	return all
}

// mostSkew is how far the clocks may be apart. The platform's signatures are
// taken for five minutes; a minute is seen by people.
const mostSkew = 60 * time.Second

func examineClock(who identity) finding {
	if !who.timed {
		return found("clock", isNote, "the platform does not say what time it is there")
	}
	apart, way := who.ahead.Abs().Round(time.Second), "ahead of"
	if who.ahead < 0 {
		way = "behind"
	}
	if who.ahead.Abs() > mostSkew {
		return found("clock", toMend, "the clock of this machine is %v %s the platform's: let a time server set it, else requests are refused and stages close at the wrong moment", apart, way)
	}
	return found("clock", isGood, "it is within %v of the platform's", max(apart, time.Second))
}

// examineWay looks at the way in.
func (s settings) examineWay(ctx context.Context) finding {
	if !s.socket() {
		return found("signing secret", isNote, "it is set; whether it is right shows when the platform verifies the address of /slack/events")
	}
	if err := s.plug(ctx); err != nil {
		return found("app token", toMend, "%v", err)
	}
	return found("app token", isGood, "a socket may be opened with it")
}

// mostChannels bounds how many channels are asked about: the platform takes
// about fifty such questions a minute.
const mostChannels = 20

// examineChannels sees that the bot is in the channels of its open kickoffs.
func (s settings) examineChannels(ctx context.Context, rdb redis.UniversalClient, team string) finding {
	const item = "channels"
	channels, err := openChannels(ctx, journal.New(rdb, journal.Options{}), team)
	if err != nil {
		return found(item, toMend, "%v", err)
	}
	if len(channels) == 0 {
		return found(item, isGood, "no kickoff is open")
	}
	asked := channels[:min(len(channels), mostChannels)]
	outside, err := s.notIn(ctx, asked)
	switch {
	case err != nil:
		return found(item, toMend, "the platform was asked about the channel of a kickoff: %v", err)
	case len(outside) > 0:
		return found(item, toMend, "the bot is not in %s, where a kickoff is open: invite it there with /invite", strings.Join(outside, ", "))
	case len(asked) < len(channels):
		return found(item, isGood, "the bot is in the channels of the first %d of %d open kickoffs; the others were not looked at", len(asked), len(channels))
	}
	return found(item, isGood, "the bot is in the channels of all open kickoffs (%d)", len(channels))
}

// openChannels lists the channels of a team's open kickoffs.
func openChannels(ctx context.Context, j *journal.Journal, team string) ([]string, error) {
	keys, err := j.Index.Open(ctx)
	if err != nil {
		return nil, err
	}
	var channels []string
	for _, key := range keys {
		if key.Team != team {
			continue
		}
		k, err := readKickoff(ctx, j, key)
		if err != nil {
			return nil, err
		}
		if k.Channel != "" {
			channels = append(channels, k.Channel)
		}
	}
	return channels, nil
}

// notIn lists those of the channels in which the bot is not.
func (s settings) notIn(ctx context.Context, channels []string) (outside []string, err error) {
	chat := chat.New(s.BotToken, s.apiURL(), nil)
	for _, channel := range channels {
		seen, err := chat.Inspect(ctx, channel)
		if err != nil {
			return nil, err
		}
		if !seen.Member {
			outside = append(outside, channel)
		}
	}
	return outside, nil
}

// oneLine makes text fit a line of a table.
func oneLine(text string) string {
	return words.HarmlessLine(strings.ReplaceAll(text, "\t", " "))
}
