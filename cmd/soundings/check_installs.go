package main

import (
	"context"
	"errors"

	"github.com/redis/go-redis/v9"

	"soundings/bot/installs"
	"soundings/bot/manifest"
	"soundings/bot/words"
)

// mostInstalls bounds how many workplaces are asked about.
const mostInstalls = 20

// examineInstalls looks at the installs: whether the keys open them, and
// whether the platform takes their tokens.
func (k *checkup) examineInstalls(ctx context.Context, rdb redis.UniversalClient) {
	const item, keyItem = "installs", "token key"
	var usage installs.KeyUsage
	store, err := k.installStore(rdb)
	if err == nil {
		usage, err = store.Count(ctx)
	}
	switch {
	case err != nil:
		k.mend(item, "%v", err)
		return
	case usage.Teams == 0:
		k.note(item, "no workplace has installed the app yet: open %s", k.installPage())
		return
	}
	k.good(item, "the app is installed in %s; a further one installs it at %s",
		words.Count(usage.Teams, "workplace", "workplaces"), k.installPage())
	if len(usage.Unreadable) > 0 {
		k.mend(keyItem, "SOUNDINGS_TOKEN_KEY %s", sealedMend(usage))
	}
	switch {
	case usage.OldKey > 0:
		k.note(keyItem, "%d of %d tokens are sealed with the old key: the next start of serve seals them anew", usage.OldKey, usage.Teams)
	case k.TokenKeyOld != "" && len(usage.Unreadable) == 0:
		k.good(keyItem, "every token is sealed with the new key: SOUNDINGS_TOKEN_KEY_OLD is not needed any more")
	}
	teams, err := store.Teams(ctx)
	if err != nil {
		k.mend(item, "%v", err)
	}
	timed := false
	for _, team := range words.FirstOf(teams, mostInstalls) {
		install, err := store.Get(ctx, team)
		switch {
		case errors.Is(err, installs.ErrDecrypt), errors.Is(err, installs.ErrNotInstalled): // these were told
		case err != nil:
			k.mend(team, "%v", err)
		default:
			who, err := k.examineInstall(ctx, rdb, install)
			if err == nil && !timed { // one clock is enough
				timed = true
				k.examineClock(who)
			}
		}
	}
}

// examineInstall asks the platform about a token, and what it may do.
func (k *checkup) examineInstall(ctx context.Context, rdb redis.UniversalClient, i installs.Install) (identity, error) {
	who, err := k.identify(ctx, i.Token)
	switch {
	case err != nil && !isWrong(err):
		k.mend(i.Team, "%v", err)
	case err != nil:
		k.mend(i.Team, "its token is not taken: let it install the app again at %s", k.installPage())
	case len(who.lacks(manifest.NeededScopes())) > 0:
		k.mend(i.Team, "its token lacks scopes: let it install the app again at %s", k.installPage())
	default:
		k.examineChannels(ctx, rdb, i.Team, i.Team, i.Token)
	}
	return who, err
}
