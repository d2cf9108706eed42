package installs

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/redis/go-redis/v9"
)

// ErrNone says that a team has not installed the app, or has taken it away.
var ErrNone = errors.New("the app is not installed there")

// A Store keeps installs in Redis. It holds no state of its own: what one
// process keeps or forgets, the next call of every other one knows. It may be
// used by many goroutines.
//
// Its keys, after the prefix:
//
//	installs       a hash: team -> the sealed install. Written by Keep, Turn,
//	               Get (to seal anew) and Forget
//	install-state:<sha256>  1, set for as long as that state would be good
//	               still. Written by spend, when the state comes back
type Store struct {
	rdb    redis.UniversalClient
	keys   *Keys
	prefix string
}

// New makes a Store on a client, which stays the caller's to close. prefix
// begins every key; empty is snd. Without keys a Store forgets, and neither
// keeps nor gives back.
func New(rdb redis.UniversalClient, keys *Keys, prefix string) *Store {
	if prefix == "" {
		prefix = "snd"
	}
	return &Store{rdb: rdb, keys: keys, prefix: prefix}
}

func (s *Store) installs() string { return s.prefix + ":installs" }

// Keep stores an install, in the place of an earlier one of the team.
func (s *Store) Keep(ctx context.Context, i Install) error {
	if i.Team == "" || i.Token == "" {
		return errors.New("keep an install: it has no team, or no token")
	}
	if s.keys == nil {
		return fmt.Errorf("keep the install of %s: there is no key", i.Team)
	}
	sealed, err := s.keys.sealInstall(i)
	if err != nil {
		return err
	}
	if err := s.rdb.HSet(ctx, s.installs(), i.Team, sealed).Err(); err != nil {
		return fmt.Errorf("keep the install of %s: %w", i.Team, err)
	}
	return nil
}

// Get gives the install of a team: ErrNone where there is none, ErrSealed
// where no key opens it. What an old key opened is sealed anew.
func (s *Store) Get(ctx context.Context, team string) (Install, error) {
	i, sealed, old, err := s.look(ctx, team)
	if err != nil || !old {
		return i, err
	}
	// Sealing anew is a service to the operator; the install is good without.
	_, _ = s.turn(ctx, i, sealed)
	return i, nil
}

// look reads an install, and how it is written down.
func (s *Store) look(ctx context.Context, team string) (i Install, sealed string, old bool, err error) {
	sealed, err = s.rdb.HGet(ctx, s.installs(), team).Result()
	switch {
	case errors.Is(err, redis.Nil):
		return Install{}, "", false, fmt.Errorf("team %s: %w", team, ErrNone)
	case err != nil:
		return Install{}, "", false, fmt.Errorf("read the install of %s: %w", team, err)
	case s.keys == nil:
		return Install{}, "", false, fmt.Errorf("read the install of %s: there is no key", team)
	}
	i, old, err = s.keys.openInstall(team, sealed)
	return i, sealed, old, err
}

// swapScript replaces a field of a hash, or takes it away where ARGV[3] is
// empty, unless it has changed since it was read: what a team has taken away
// must not come back because somebody was about to write it anew.
//
// KEYS: the hash; ARGV: field, what was read, what to write
var swapScript = redis.NewScript(`
if redis.call('HGET', KEYS[1], ARGV[1]) ~= ARGV[2] then
	return 0
end
if ARGV[3] == '' then
	redis.call('HDEL', KEYS[1], ARGV[1])
else
	redis.call('HSET', KEYS[1], ARGV[1], ARGV[3])
end
return 1
`)

func (s *Store) swap(ctx context.Context, team, read, write string) (bool, error) {
	n, err := swapScript.Run(ctx, s.rdb, []string{s.installs()}, team, read, write).Int()
	if err != nil {
		return false, fmt.Errorf("change the install of %s: %w", team, err)
	}
	return n == 1, nil
}

// turn seals an install anew, under the first key.
func (s *Store) turn(ctx context.Context, i Install, read string) (bool, error) {
	sealed, err := s.keys.sealInstall(i)
	if err != nil {
		return false, err
	}
	return s.swap(ctx, i.Team, read, sealed)
}

// Forget removes the install of a team, whatever it holds. Doing so twice is
// fine.
func (s *Store) Forget(ctx context.Context, team string) error {
	if err := s.rdb.HDel(ctx, s.installs(), team).Err(); err != nil {
		return fmt.Errorf("forget the install of %s: %w", team, err)
	}
	return nil
}

// ForgetUntil removes the install of a team unless it was given after a
// moment, and reports whether there is none afterwards: what the platform
// tells late must not end an install that came since. One that no key opens
// is removed.
func (s *Store) ForgetUntil(ctx context.Context, team string, until time.Time) (gone bool, err error) {
	for range 10 { // somebody else may write in between
		i, sealed, _, err := s.look(ctx, team)
		switch {
		case errors.Is(err, ErrNone):
			return true, nil
		case errors.Is(err, ErrSealed):
			return true, s.Forget(ctx, team)
		case err != nil:
			return false, err
		case i.At.After(until):
			return false, nil
		}
		if done, err := s.swap(ctx, team, sealed, ""); done || err != nil {
			return done, err
		}
	}
	return false, fmt.Errorf("forget the install of %s: others were first each time", team)
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

// A Tally says how the keys fit what is stored.
type Tally struct {
	Teams  int      // how many have installed the app
	Old    int      // of these, how many only the old key opens
	Sealed []string // those that no key opens
}

// Count looks at every install, and changes nothing.
func (s *Store) Count(ctx context.Context) (Tally, error) {
	return s.each(ctx, func(Install, string) error { return nil })
}

// Turn seals anew whatever only the old key opens. When it returns without an
// error and the tally names none that is Sealed, the old key is not needed any
// more.
func (s *Store) Turn(ctx context.Context) (Tally, error) {
	return s.each(ctx, func(i Install, sealed string) error {
		_, err := s.turn(ctx, i, sealed) // not done means that it was changed, and so sealed anew, or has gone
		return err
	})
}

func (s *Store) each(ctx context.Context, ofOld func(Install, string) error) (Tally, error) {
	teams, err := s.Teams(ctx)
	if err != nil {
		return Tally{}, err
	}
	t := Tally{Teams: len(teams)}
	for _, team := range teams {
		i, sealed, old, err := s.look(ctx, team)
		switch {
		case errors.Is(err, ErrNone):
			t.Teams--
		case errors.Is(err, ErrSealed):
			t.Sealed = append(t.Sealed, team)
		case err != nil:
			return t, err
		case old:
			t.Old++
			err = ofOld(i, sealed)
		}
		if err != nil && !errors.Is(err, ErrNone) && !errors.Is(err, ErrSealed) {
			return t, err
		}
	}
	return t, nil
}
