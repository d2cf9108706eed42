package installs

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"soundings/bot/journal"

	"github.com/redis/go-redis/v9"
)

// ErrNotInstalled says that a team has not installed the app, or has
// uninstalled it.
var ErrNotInstalled = errors.New("the app is not installed there")

// A Store keeps installs in Redis. It has no state of its own, so every process
// sees at its next call what another one saved or deleted. It may be used by
// many goroutines.
//
// Its keys, after the prefix:
//
//	installs       a hash: team -> the sealed install. Written by Save, Rotate,
//	               Get (to seal anew) and Delete
//	install-state:<sha256>  1, set for as long as that state would be good
//	               still. Written by markUsed, when the state comes back
type Store struct {
	rdb    redis.UniversalClient
	keys   *Keys
	prefix string
}

// New makes a Store on a client, which stays the caller's to close. prefix
// begins every key; empty is snd. Without keys a Store can only list and delete.
func New(rdb redis.UniversalClient, keys *Keys, prefix string) *Store {
	if prefix == "" {
		prefix = "snd"
	}
	return &Store{rdb: rdb, keys: keys, prefix: prefix}
}

func (s *Store) installs() string { return s.prefix + ":installs" }

// Save stores an install, in the place of an earlier one of the team.
func (s *Store) Save(ctx context.Context, i Install) error {
	if i.Team == "" || i.Token == "" {
		return errors.New("save an install: it has no team, or no token")
	}
	if s.keys == nil {
		return fmt.Errorf("save the install of %s: there is no key", i.Team)
	}
	sealed, err := s.keys.sealInstall(i)
	if err != nil {
		return err
	}
	if err := s.rdb.HSet(ctx, s.installs(), i.Team, sealed).Err(); err != nil {
		return fmt.Errorf("save the install of %s: %w", i.Team, err)
	}
	return nil
}

// Get returns the install of a team, ErrNotInstalled where there is none, or
// ErrDecrypt where no key opens it. What only the old key opens is sealed again.
func (s *Store) Get(ctx context.Context, team string) (Install, error) {
	i, sealed, old, err := s.read(ctx, team)
	if err != nil || !old {
		return i, err
	}
	// A failure to seal again is harmless: the old key still opens the install.
	_, _ = s.reseal(ctx, i, sealed)
	return i, nil
}

// read returns an install, its sealed form, and whether only the old key
// opened it.
func (s *Store) read(ctx context.Context, team string) (i Install, sealed string, old bool, err error) {
	sealed, err = s.rdb.HGet(ctx, s.installs(), team).Result()
	switch {
	case errors.Is(err, redis.Nil):
		return Install{}, "", false, fmt.Errorf("team %s: %w", team, ErrNotInstalled)
	case err != nil:
		return Install{}, "", false, fmt.Errorf("read the install of %s: %w", team, err)
	case s.keys == nil:
		return Install{}, "", false, fmt.Errorf("read the install of %s: there is no key", team)
	}
	i, old, err = s.keys.openInstall(team, sealed)
	return i, sealed, old, err
}

// swap replaces an install, or removes it where write is empty, unless it has changed
// since it was read. So sealing it again cannot restore one that was deleted
// meanwhile.
func (s *Store) swap(ctx context.Context, team, read, write string) (bool, error) {
	done, err := journal.Swap(ctx, s.rdb, s.installs(), team, read, write)
	if err != nil {
		return false, fmt.Errorf("change the install of %s: %w", team, err)
	}
	return done, nil
}

// reseal seals an install again, under the first key.
func (s *Store) reseal(ctx context.Context, i Install, read string) (bool, error) {
	sealed, err := s.keys.sealInstall(i)
	if err != nil {
		return false, err
	}
	return s.swap(ctx, i.Team, read, sealed)
}

// Delete removes the install of a team, if there is one.
func (s *Store) Delete(ctx context.Context, team string) error {
	if err := s.rdb.HDel(ctx, s.installs(), team).Err(); err != nil {
		return fmt.Errorf("delete the install of %s: %w", team, err)
	}
	return nil
}

// DeleteUntil removes the install of a team unless it is newer than until, and
// reports whether there is none afterwards: a late message of the platform must
// not end a later install. One that no key opens is removed.
func (s *Store) DeleteUntil(ctx context.Context, team string, until time.Time) (gone bool, err error) {
	for range 10 { // somebody else may write in between
		i, sealed, _, err := s.read(ctx, team)
		switch {
		case errors.Is(err, ErrNotInstalled):
			return true, nil
		case errors.Is(err, ErrDecrypt):
			return true, s.Delete(ctx, team)
		case err != nil:
			return false, err
		case i.At.After(until):
			return false, nil
		}
		if done, err := s.swap(ctx, team, sealed, ""); done || err != nil {
			return done, err
		}
	}
	return false, fmt.Errorf("delete the install of %s: others were first each time", team)
}

// Teams lists the teams that have installed the app, in a stable order.
func (s *Store) Teams(ctx context.Context) ([]string, error) {
	teams, err := s.rdb.HKeys(ctx, s.installs()).Result()
	if err != nil {
		return nil, fmt.Errorf("list the installs: %w", err)
	}
	slices.Sort(teams)
	return teams, nil
}

// KeyUsage says which keys open the stored installs.
type KeyUsage struct {
	Teams      int      // how many have installed the app
	OldKey     int      // of these, how many only the old key opens
	Unreadable []string // those that no key opens
}

// Count reads every install and changes nothing.
func (s *Store) Count(ctx context.Context) (KeyUsage, error) {
	return s.each(ctx, func(Install, string) error { return nil })
}

// Rotate seals again whatever only the old key opens. After that the old key is
// not needed any more, unless some installs are Unreadable.
func (s *Store) Rotate(ctx context.Context) (KeyUsage, error) {
	return s.each(ctx, func(i Install, sealed string) error {
		_, err := s.reseal(ctx, i, sealed) // not done means that it was saved again meanwhile, or deleted
		return err
	})
}

func (s *Store) each(ctx context.Context, ofOld func(Install, string) error) (KeyUsage, error) {
	teams, err := s.Teams(ctx)
	if err != nil {
		return KeyUsage{}, err
	}
	usage := KeyUsage{Teams: len(teams)}
	for _, team := range teams {
		i, sealed, old, err := s.read(ctx, team)
		switch {
		case errors.Is(err, ErrNotInstalled):
			usage.Teams--
		case errors.Is(err, ErrDecrypt):
			usage.Unreadable = append(usage.Unreadable, team)
		case err != nil:
			return usage, err
		case old:
			usage.OldKey++
			err = ofOld(i, sealed)
		}
		if err != nil && !errors.Is(err, ErrNotInstalled) && !errors.Is(err, ErrDecrypt) {
			return usage, err
		}
	}
	return usage, nil
}
