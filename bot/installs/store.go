package installs

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"soundings/bot/journal"

	"github.com/redis/go-redis/v9"
)

// An Install is what a workplace gave the app.
type Install struct {
	Team    string // the id of the team
	Name    string // as the team calls itself
	Token   string `json:"-"` // the bot token; a secret
	BotUser string // the bot's own account there
	Scopes  []string
	At      time.Time // when it was given
}

// Format and LogValue name the team alone: an install printed by mistake must
// not give its token away.
func (i Install) Format(f fmt.State, _ rune) { fmt.Fprintf(f, "the install of %s", i.Team) }

// LogValue is for log/slog.
func (i Install) LogValue() slog.Value { return slog.StringValue("the install of " + i.Team) }

// A record is an install as it is sealed, for its team. Fields are added, never
// renamed: the records of every release open for ever.
type record struct {
	Team    string    `json:"-"`
	Name    string    `json:"name,omitempty"`
	Token   string    `json:"token"`
	BotUser string    `json:"bot_user,omitempty"`
	Scopes  []string  `json:"scopes,omitempty"`
	At      time.Time `json:"at"`
}

func (k *Keys) sealInstall(i Install) (string, error) {
	plain, err := json.Marshal(record(i))
	if err != nil {
		return "", fmt.Errorf("write the install of %s: %w", i.Team, err)
	}
	return k.installs.seal(i.Team, plain), nil
}

func (k *Keys) openInstall(team, sealed string) (i Install, old bool, err error) {
	plain, old, err := k.installs.open(team, sealed)
	r := record{Team: team}
	if err != nil || json.Unmarshal(plain, &r) != nil || r.Token == "" { // its error may quote what it read
		return Install{}, false, fmt.Errorf("open the install of %s: %w", team, ErrDecrypt)
	}
	return Install(r), old, nil
}

// ErrNotInstalled says that a team has not installed the app, or has
// uninstalled it.
var ErrNotInstalled = errors.New("the app is not installed there")

// A Store keeps installs in Redis. It has no state of its own, so every process
// sees at its next call what another one saved or deleted. It may be used by
// many goroutines.
//
// Its keys:
//
//	snd:installs   a hash: team -> the sealed install. Written by Save, Rotate,
//	               Get (to seal anew) and Delete
//	snd:install-state:<sha256>  1, of the cookie of a state, set for as long as it
//	               would be good still. Written by markUsed, when the state comes back
type Store struct {
	rdb  redis.UniversalClient
	keys *Keys
}

const installsKey = "snd:installs"

// New makes a Store on a client, which stays the caller's to close. Without
// keys a Store can only list and delete.
func New(rdb redis.UniversalClient, keys *Keys) *Store { return &Store{rdb, keys} }

// Save stores an install, in the place of an earlier one of the team.
func (s *Store) Save(ctx context.Context, i Install) error {
	if i.Team == "" || i.Token == "" || s.keys == nil {
		return fmt.Errorf("save the install of %q: there is no team, no token or no key", i.Team)
	}
	sealed, err := s.keys.sealInstall(i)
	if err != nil {
		return err
	}
	if err := s.rdb.HSet(ctx, installsKey, i.Team, sealed).Err(); err != nil {
		return fmt.Errorf("save the install of %s: %w", i.Team, err)
	}
	return nil
}

// Get returns the install of a team, ErrNotInstalled where there is none, or
// ErrDecrypt where no key opens it. What only the old key opens is sealed again.
func (s *Store) Get(ctx context.Context, team string) (Install, error) {
	r, err := s.read(ctx, team)
	if err == nil && r.old {
		_, _ = s.reseal(ctx, r) // a failure is harmless: the old key still opens the install
	}
	return r.Install, err
}

// Peek is Get for those who only look: it writes nothing.
func (s *Store) Peek(ctx context.Context, team string) (Install, error) {
	r, err := s.read(ctx, team)
	return r.Install, err
}

// A stored install is one that was read, with its sealed form.
type stored struct {
	Install
	sealed string
	old    bool // it has to be sealed anew
}

func (s *Store) read(ctx context.Context, team string) (r stored, err error) {
	r.sealed, err = s.rdb.HGet(ctx, installsKey, team).Result()
	switch {
	case errors.Is(err, redis.Nil):
		return r, fmt.Errorf("team %s: %w", team, ErrNotInstalled)
	case err != nil:
		return r, fmt.Errorf("read the install of %s: %w", team, err)
	case s.keys == nil:
		return r, fmt.Errorf("read the install of %s: there is no key", team)
	}
	r.Install, r.old, err = s.keys.openInstall(team, r.sealed)
	return r, err
}

// swap replaces an install, or removes it where write is empty, unless it has changed
// since it was read. So sealing it again cannot restore one that was deleted
// meanwhile.
func (s *Store) swap(ctx context.Context, r stored, write string) (bool, error) {
	done, err := journal.Swap(ctx, s.rdb, installsKey, r.Team, r.sealed, write)
	if err != nil {
		return false, fmt.Errorf("change the install of %s: %w", r.Team, err)
	}
	return done, nil
}

// reseal seals an install again, under the keys as they are.
func (s *Store) reseal(ctx context.Context, r stored) (bool, error) {
	sealed, err := s.keys.sealInstall(r.Install)
	if err != nil {
		return false, err
	}
	return s.swap(ctx, r, sealed)
}

// Delete removes the install of a team, if there is one.
func (s *Store) Delete(ctx context.Context, team string) error {
	if err := s.rdb.HDel(ctx, installsKey, team).Err(); err != nil {
		return fmt.Errorf("delete the install of %s: %w", team, err)
	}
	return nil
}

// DeleteUntil removes the install of a team unless it is newer than until, and
// reports whether there is none afterwards: a late message of the platform must
// not end a later install. One that no key opens is removed.
func (s *Store) DeleteUntil(ctx context.Context, team string, until time.Time) (gone bool, err error) {
	for range 10 { // somebody else may write in between
		r, err := s.read(ctx, team)
		switch {
		case errors.Is(err, ErrNotInstalled):
			return true, nil
		case errors.Is(err, ErrDecrypt):
			return true, s.Delete(ctx, team)
		case err != nil:
			return false, err
		case r.At.After(until):
			return false, nil
		}
		if done, err := s.swap(ctx, r, ""); done || err != nil {
			return done, err
		}
	}
	return false, fmt.Errorf("delete the install of %s: others were first each time", team)
}

// Teams lists the teams that have installed the app, in a stable order.
func (s *Store) Teams(ctx context.Context) ([]string, error) {
	teams, err := s.rdb.HKeys(ctx, installsKey).Result()
	if err != nil {
		return nil, fmt.Errorf("list the installs: %w", err)
	}
	slices.Sort(teams)
	return teams, nil
}

// markUsed accepts a valid state once, known by the cookie that it was sealed for:
// a state itself can be written in several ways. It is remembered for longer than
// it would be good.
func (s *Store) markUsed(ctx context.Context, cookie string, left time.Duration) error {
	sum := sha256.Sum256([]byte(cookie))
	key := "snd:install-state:" + hex.EncodeToString(sum[:])
	first, err := s.rdb.SetNX(ctx, key, 1, left+stateSkew).Result()
	if err != nil {
		return fmt.Errorf("note that a state was used: %w", err)
	}
	if !first {
		return errUsed
	}
	return nil
}

// KeyUsage says which keys open the stored installs.
type KeyUsage struct {
	Teams      int      // how many have installed the app
	OldKey     int      // of these, how many have to be sealed anew
	Unreadable []string // those that no key opens
}

// Count reads every install and changes nothing.
func (s *Store) Count(ctx context.Context) (KeyUsage, error) { return s.usage(ctx, false) }

// Rotate seals again what is not sealed under the keys as they are. After that the
// old key is not needed any more once every bot has the first one, unless some
// installs are Unreadable.
func (s *Store) Rotate(ctx context.Context) (KeyUsage, error) { return s.usage(ctx, true) }

func (s *Store) usage(ctx context.Context, rotate bool) (KeyUsage, error) {
	teams, err := s.Teams(ctx)
	if err != nil {
		return KeyUsage{}, err
	}
	usage := KeyUsage{Teams: len(teams)}
	for _, team := range teams {
		r, err := s.read(ctx, team)
		switch {
		case errors.Is(err, ErrNotInstalled):
			usage.Teams--
			continue
		case errors.Is(err, ErrDecrypt):
			usage.Unreadable = append(usage.Unreadable, team)
			continue
		case err == nil && r.old:
			usage.OldKey++
			if rotate {
				_, err = s.reseal(ctx, r) // not done means that it was saved again meanwhile, or deleted
			}
		}
		if err != nil {
			return usage, err
		}
	}
	return usage, nil
}
