package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/slack-go/slack"

	"soundings/bot/chat"
	"soundings/bot/installs"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/words"
)

// examineToken asks whose the bot token is; the answer also tells its scopes
// and what time it is there.
func (k *checkup) examineToken(ctx context.Context) identity {
	who, err := k.identify(ctx, k.BotToken)
	if err != nil {
		k.mend("bot token", err)
		return identity{}
	}
	k.add("bot token", isGood, fmt.Sprintf("it is that of %s in %s (%s)", who.user, who.team, who.teamID))
	k.examineScopes(who)
	k.examineClock(who)
	return who
}

func (all *findings) examineScopes(who identity) {
	const item = "scopes"
	missing := who.lacks(manifest.NeededScopes())
	all.first(item,
		row{who.scopes == nil, isNote, "the platform does not say which scopes the token has"},
		row{len(missing) > 0, toMend, lackOfScopes(missing)},
		row{true, isGood, "all that the bot cannot do without are there"})
	for _, scope := range manifest.OptionalScopes() {
		if who.scopes != nil && !slices.Contains(who.scopes, scope.Name) {
			all.add(item, isNote, "without "+scope.Name+" "+scope.Without)
		}
	}
}

// mostSkew is how far the clocks may be apart. The platform's signatures are
// taken for five minutes; a minute is seen by people.
const mostSkew = 60 * time.Second

func (all *findings) examineClock(who identity) {
	apart, way := who.ahead.Abs().Round(time.Second), "ahead of"
	if who.ahead < 0 {
		way = "behind"
	}
	all.first("clock",
		row{!who.timed, isNote, "the platform does not say what time it is there"},
		row{who.ahead.Abs() > mostSkew, toMend, fmt.Sprintf("the clock of this machine is %v %s the platform's: let a time server set it, else requests are refused and stages close at the wrong moment", apart, way)},
		row{true, isGood, fmt.Sprintf("it is within %v of the platform's", max(apart, time.Second))})
}

// examineWay looks at the way in. It asks for the address of a socket, and
// does not open it.
func (k *checkup) examineWay(ctx context.Context) {
	if !k.socket() {
		k.add("signing secret", isNote, "it is set; whether it is right shows when the platform verifies the address of /slack/events")
		return
	}
	_, _, err := k.webAPI(k.BotToken).StartSocketModeContext(ctx)
	answer, answered := errors.AsType[slack.SlackErrorResponse](err)
	why := answer.Err
	k.first("app token",
		row{err == nil, isGood, "a socket may be opened with it"},
		row{!answered, toMend, fmt.Sprint(k.outOfReach(err))},
		row{why == "missing_scope" || why == "no_permission", toMend, "SLACK_APP_TOKEN lacks the scope connections:write: make another app-level token with it on the page Basic Information of the app"},
		row{why == "socket_mode_not_enabled" || why == "link_disabled", toMend, "Socket Mode is switched off for the app (" + why + "): switch it on, on the page Socket Mode of the app"},
		row{true, toMend, "SLACK_APP_TOKEN is not accepted (" + why + "): copy the app-level token from the page Basic Information of the app"})
}

// mostChannels bounds how many channels are asked about: the platform takes
// about fifty such questions a minute.
const mostChannels = 20

// examineChannels sees that the bot is in the channels of a team's open
// kickoffs.
func (k *checkup) examineChannels(ctx context.Context, rdb redis.UniversalClient, item, team, token string) {
	channels, err := openChannels(ctx, journal.New(rdb, journal.Options{}), team)
	if err != nil {
		k.mend(item, err)
		return
	}
	asked := words.FirstOf(channels, mostChannels)
	outside, err := notIn(ctx, chat.New(token, k.apiURL(), nil), asked)
	k.first(item,
		row{err != nil, toMend, fmt.Sprintf("the platform was asked about the channel of a kickoff: %v", err)},
		row{len(channels) == 0, isGood, "no kickoff is open"},
		row{len(outside) > 0, toMend, "the bot is not in " + strings.Join(outside, ", ") + ", where a kickoff is open: invite it there with /invite"},
		row{len(asked) < len(channels), isGood, fmt.Sprintf("the bot is in the channels of the first %d of %d open kickoffs; the others were not looked at", len(asked), len(channels))},
		row{true, isGood, fmt.Sprintf("the bot is in the channels of all open kickoffs (%d)", len(channels))})
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

// mostInstalls bounds how many workplaces are asked about.
const mostInstalls = 20

// examineInstalls looks at the installs: whether the keys open them, and
// whether the platform takes their tokens.
func (k *checkup) examineInstalls(ctx context.Context, rdb redis.UniversalClient) {
	const item = "installs"
	var usage installs.KeyUsage
	store, err := k.installStore(rdb)
	if err == nil {
		usage, err = store.Count(ctx)
	}
	page := k.installPage()
	k.first(item,
		row{err != nil, toMend, fmt.Sprint(err)},
		row{usage.Teams == 0, isNote, "no workplace has installed the app yet: open " + page},
		row{true, isGood, "the app is installed in " + words.Count(usage.Teams, "workplace", "workplaces") + "; a further one installs it at " + page})
	if err != nil || usage.Teams == 0 {
		return
	}
	k.first("token key", row{len(usage.Unreadable) > 0, toMend, "SOUNDINGS_TOKEN_KEY " + sealedMend(usage)})
	k.first("token key",
		row{usage.OldKey > 0, isNote, fmt.Sprintf("%d of %d tokens are sealed with the old key: the next start of serve seals them anew", usage.OldKey, usage.Teams)},
		row{k.TokenKeyOld != "" && len(usage.Unreadable) == 0, isGood, "every token is sealed with both keys: SOUNDINGS_TOKEN_KEY_OLD is not needed any more once every bot has been started with the new key"})
	teams, err := store.Teams(ctx)
	if err != nil {
		k.mend(item, err)
	}
	timed := false
	for _, team := range words.FirstOf(teams, mostInstalls) {
		install, err := store.Peek(ctx, team)
		switch {
		case errors.Is(err, installs.ErrDecrypt), errors.Is(err, installs.ErrNotInstalled): // these were told
		case err != nil:
			k.mend(team, err)
		default:
			who, err := k.examineInstall(ctx, rdb, install)
			if err == nil && !timed { // one clock is enough
				timed = true
				k.examineClock(who)
			}
		}
	}
}

// examineUninstalls names the workplaces that have taken the app away, of which
// something is kept until it is purged.
func (k *checkup) examineUninstalls(ctx context.Context, rdb redis.UniversalClient) {
	const item = "purge"
	all, err := journal.New(rdb, journal.Options{}).Uninstalls.All(ctx)
	if err != nil {
		k.mend(item, err)
		return
	}
	grace, err := k.purgeAfter()
	if err != nil {
		return // it is a fault of the settings, which were checked
	}
	for _, team := range slices.Sorted(maps.Keys(all)) {
		h, err := holdingsOf(ctx, rdb, team)
		if err != nil {
			k.mend(item, err)
			return
		}
		u := all[team]
		k.first(item,
			row{u.Purging, isNote, fmt.Sprintf("a purge of team %s has begun and waits to be finished: serve goes on with it, or soundings purge --team %s --yes", team, team)},
			row{true, isNote, fmt.Sprintf("team %s has taken the app away on %s: its %s and what people entered are removed on %s, while serve runs; soundings purge --team %s does it now",
				team, u.Since.Format("2 January 2006"), words.Count(h.kickoffs, "kickoff", "kickoffs"), u.Since.Add(grace).Format("2 January 2006"), team)})
	}
}

// examineInstall asks the platform about a token, and what it may do.
func (k *checkup) examineInstall(ctx context.Context, rdb redis.UniversalClient, i installs.Install) (identity, error) {
	who, err := k.identify(ctx, i.Token)
	lacking := len(who.lacks(manifest.NeededScopes())) > 0
	const again = ": let it install the app again at "
	k.first(i.Team,
		row{err != nil && !isWrong(err), toMend, fmt.Sprint(err)},
		row{err != nil, toMend, "its token is not taken" + again + k.installPage()},
		row{lacking, toMend, "its token lacks scopes" + again + k.installPage()})
	if err == nil && !lacking {
		k.examineChannels(ctx, rdb, i.Team, i.Team, i.Token)
	}
	return who, err
}
