package main

import (
	"context"
	"errors"

	"github.com/redis/go-redis/v9"

	"soundings/bot"
	"soundings/bot/installs"
)

// mostInstalls bounds how many workplaces are asked about.
const mostInstalls = 20

// examineInstalls looks at the installs: whether the keys open them, and
// whether the platform takes their tokens.
func (s settings) examineInstalls(ctx context.Context, rdb redis.UniversalClient) []finding {
	const item = "installs"
	store, err := s.installStore(rdb)
	if err != nil {
		return []finding{found(item, toMend, "%v", err)}
	}
	usage, err := store.Count(ctx)
	switch {
	case err != nil:
		return []finding{found(item, toMend, "%v", err)}
	case usage.Teams == 0:
		return []finding{found(item, isNote, "no workplace has installed the app yet: open %s", s.installPage())}
	}
	all := []finding{found(item, isGood, "the app is installed in %s; a further one installs it at %s", counted(usage.Teams, "workplace"), s.installPage())}
	if len(usage.Unreadable) > 0 {
		all = append(all, found("token key", toMend, "SOUNDINGS_TOKEN_KEY %s", sealedMend(usage)))
	}
	switch {
	case usage.OldKey > 0:
		all = append(all, found("token key", isNote, "%d of %d tokens are sealed with the old key: the next start of serve seals them anew", usage.OldKey, usage.Teams))
	case s.TokenKeyOld != "" && len(usage.Unreadable) == 0:
		all = append(all, found("token key", isGood, "every token is sealed with the new key: SOUNDINGS_TOKEN_KEY_OLD is not needed any more"))
	}
	return append(all, s.examineTeams(ctx, store, rdb)...)
}

// examineTeams asks the platform about each token, and what it may do.
func (s settings) examineTeams(ctx context.Context, store *installs.Store, rdb redis.UniversalClient) []finding {
	teams, err := store.Teams(ctx)
	if err != nil {
		return []finding{found("installs", toMend, "%v", err)}
	}
	var all []finding
	timed := false
	for _, team := range teams[:min(len(teams), mostInstalls)] {
		install, err := store.Get(ctx, team)
		if err != nil {
			if !errors.Is(err, installs.ErrDecrypt) && !errors.Is(err, installs.ErrNotInstalled) { // these were told
				all = append(all, found(team, toMend, "%v", err))
			}
			continue
		}
		s.BotToken = install.Token // s is a copy
		who, err := s.identify(ctx)
		refused := (*wrongError)(nil)
		switch missing := who.lacks(bot.NeededScopes()); {
		case err != nil && !errors.As(err, &refused):
			all = append(all, found(team, toMend, "%v", err))
		case err != nil:
			all = append(all, found(team, toMend, "its token is not taken: let it install the app again at %s", s.installPage()))
		case len(missing) > 0:
			all = append(all, found(team, toMend, "its token lacks scopes: let it install the app again at %s", s.installPage()))
		default:
			all = append(all, s.examineChannels(ctx, rdb, team).of(team))
		}
		if err == nil && !timed { // one clock is enough
			timed, all = true, append(all, examineClock(who))
		}
	}
	return all
}

// of names the team in an item.
func (f finding) of(team string) finding {
	f.Item = team
	return f
}
