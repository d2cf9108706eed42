package main

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/slack-go/slack"

	"soundings/bot/chat"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/words"
)

// examineToken asks whose the bot token is; the answer also tells its scopes
// and what time it is there.
func (k *checkup) examineToken(ctx context.Context) identity {
	who, err := k.identify(ctx, k.BotToken)
	if err != nil {
		k.mend("bot token", "%v", err)
		return identity{}
	}
	k.good("bot token", "it is that of %s in %s (%s)", who.user, who.team, who.teamID)
	k.examineScopes(who)
	k.examineClock(who)
	return who
}

func (all *findings) examineScopes(who identity) {
	const item = "scopes"
	if who.scopes == nil {
		all.note(item, "the platform does not say which scopes the token has")
		return
	}
	if missing := who.lacks(manifest.NeededScopes()); len(missing) > 0 {
		all.mend(item, "%s", lackOfScopes(missing))
	} else {
		all.good(item, "all that the bot cannot do without are there")
	}
	for _, scope := range manifest.OptionalScopes() {
		if !slices.Contains(who.scopes, scope.Name) {
			all.note(item, "without %s %s", scope.Name, scope.Without)
		}
	}
}

// mostSkew is how far the clocks may be apart. The platform's signatures are
// taken for five minutes; a minute is seen by people.
const mostSkew = 60 * time.Second

func (all *findings) examineClock(who identity) {
	const item = "clock"
	apart, way := who.ahead.Abs().Round(time.Second), "ahead of"
	if who.ahead < 0 {
		way = "behind"
	}
	switch {
	case !who.timed:
		all.note(item, "the platform does not say what time it is there")
	case who.ahead.Abs() > mostSkew:
		all.mend(item, "the clock of this machine is %v %s the platform's: let a time server set it, else requests are refused and stages close at the wrong moment", apart, way)
	default:
		all.good(item, "it is within %v of the platform's", max(apart, time.Second))
	}
}

// examineWay looks at the way in. It asks for the address of a socket, and
// does not open it.
func (k *checkup) examineWay(ctx context.Context) {
	if !k.socket() {
		k.note("signing secret", "it is set; whether it is right shows when the platform verifies the address of /slack/events")
		return
	}
	const item = "app token"
	_, _, err := k.webAPI(k.BotToken).StartSocketModeContext(ctx)
	answer, answered := errors.AsType[slack.SlackErrorResponse](err)
	switch why := answer.Err; {
	case err == nil:
		k.good(item, "a socket may be opened with it")
	case !answered:
		k.mend(item, "%v", k.outOfReach(err))
	case why == "missing_scope", why == "no_permission":
		k.mend(item, "SLACK_APP_TOKEN lacks the scope connections:write: make another app-level token with it on the page Basic Information of the app")
	case why == "socket_mode_not_enabled", why == "link_disabled":
		k.mend(item, "Socket Mode is switched off for the app (%s): switch it on, on the page Socket Mode of the app", why)
	default:
		k.mend(item, "SLACK_APP_TOKEN is not accepted (%s): copy the app-level token from the page Basic Information of the app", why)
	}
}

// mostChannels bounds how many channels are asked about: the platform takes
// about fifty such questions a minute.
const mostChannels = 20

// examineChannels sees that the bot is in the channels of a team's open
// kickoffs.
func (k *checkup) examineChannels(ctx context.Context, rdb redis.UniversalClient, item, team, token string) {
	channels, err := openChannels(ctx, journal.New(rdb, journal.Options{}), team)
	if err != nil {
		k.mend(item, "%v", err)
		return
	}
	asked := words.FirstOf(channels, mostChannels)
	outside, err := notIn(ctx, chat.New(token, k.apiURL(), nil), asked)
	switch {
	case err != nil:
		k.mend(item, "the platform was asked about the channel of a kickoff: %v", err)
	case len(channels) == 0:
		k.good(item, "no kickoff is open")
	case len(outside) > 0:
		k.mend(item, "the bot is not in %s, where a kickoff is open: invite it there with /invite", strings.Join(outside, ", "))
	case len(asked) < len(channels):
		k.good(item, "the bot is in the channels of the first %d of %d open kickoffs; the others were not looked at", len(asked), len(channels))
	default:
		k.good(item, "the bot is in the channels of all open kickoffs (%d)", len(channels))
	}
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
func notIn(ctx context.Context, client *chat.Client, channels []string) (outside []string, err error) {
	for _, channel := range channels {
		seen, err := client.Inspect(ctx, channel)
		if err != nil {
			return nil, err
		}
		if !seen.Member {
			outside = append(outside, channel)
		}
	}
	return outside, nil
}
