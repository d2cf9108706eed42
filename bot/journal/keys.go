package journal

import (
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/redis/go-redis/v9"
)

// The keys of one kickoff begin with snd:{team/kickoff}: and end as below. The
// part in braces is what Redis Cluster hashes, so all of them live in one slot
// and one script may touch them together.
const (
	// A stream. Entry <version>-0 has the fields data and, where a delivery
	// asked for it, delivery. Written by Append.
	keyEntries = "entries"

	// A hash: version and digest of the last entry, and data, all entries as one
	// value. It stands in the place of the stream. Written by Pack.
	keyPacked = "packed"

	// A hash: delivery -> "<version> <attempt>", and last -> "<version> <digest>"
	// of the last entry. Written by Append, which also forgets what is past its
	// time.
	keySeen = "seen"

	// A sorted set: delivery, scored by the server's time in ms until which it
	// is remembered. Written by Append.
	keySeenUntil = "seen-until"

	// A hash: version, digest, data. Written by SaveSnapshot.
	keySnapshot = "snapshot"

	// A hash: slot -> version last rendered there. Written by Marks.SetShown.
	keyShown = "shown"

	// A set of effects that were done. Written by Marks.SetDone.
	keyDone = "done"

	// A hash: what was begun -> unix milliseconds at which it first was. Written
	// by Marks.Begin. Older releases kept it in the set of what was done.
	keyBegun = "begun"

	// A hash: file -> its id on the platform, until it is shared. Written by
	// Marks.SetUploaded and Marks.ForgetUploads.
	keyUploads = "uploads"

	// A hash: queued -> version up to which effects were queued, written by
	// Marks.SetQueued and Marks.ResetQueued; and replicated -> 1, which says
	// nothing and is written where replicas are waited for; and rewritten -> 1
	// where entries were, written by Rewrite.
	keyCursors = "cursors"

	// A hash: box of ballots -> the key with which they are sealed; empty once it
	// was destroyed. Written by Boxes.
	keyBoxKeys = "box-keys"

	// A set of the people whose index names this kickoff, so that Purge finds
	// them. Written by Index.Join and Index.Leave.
	keyPeople = "people"
)

// kickoffKeys are all of them, for Purge.
var kickoffKeys = []string{keyEntries, keyPacked, keySeen, keySeenUntil, keySnapshot, keyShown, keyDone, keyBegun, keyUploads, keyCursors, keyBoxKeys, keyPeople}

// The keys of one team's index begin with snd:{team}: and share a slot of their
// own.
const (
	// A hash: channel -> "<unix seconds> <kickoff>", the kickoff that holds it
	// and since when. Written by Claim, Release and
	// PurgeTeam.
	keyChannels = "channels"

	// A set of all kickoffs of the team, ended ones too. Written by Claim, Join
	// and Purge.
	keyKickoffs = "kickoffs"

	// A hash: kickoff -> the stage that an open one has come to. Written by
	// SetStage, Purge and PurgeTeam.
	keyStages = "stages"

	// A sorted set of the kickoffs that have ended, by when in unix milliseconds.
	// Written by End and Purge.
	keyEnded = "ended"

	// Before a user, a set of the kickoffs a person takes part in. Written by
	// Join, Leave, ForgetPerson and Purge.
	keyPerson = "person:"

	// A set of the channels that were greeted. Written by Greet, Ungreet and
	// PurgeTeam.
	keyGreeted = "greeted"

	// A hash: day -> the day on which it was begun, user -> what is known of
	// them. It lasts until the next day. Written by Profiles.Save and PurgeTeam.
	keyProfiles = "profiles"
)

// errNameless refuses an empty part of a key: two different things would
// share one key.
var errNameless = errors.New("a name in the key is empty")

// kickoff is how the keys of a kickoff begin.
func (s store) kickoff(key Key) (string, error) {
	if key.Team == "" || key.Kickoff == "" {
		return "", fmt.Errorf("kickoff %q of team %q: %w", key.Kickoff, key.Team, errNameless)
	}
	return plain(s.opts.Prefix) + ":{" + plain(key.Team) + "/" + plain(key.Kickoff) + "}:", nil
}

// team is how the keys of a team's index begin.
func (s store) team(team string) (string, error) {
	if team == "" {
		return "", fmt.Errorf("team: %w", errNameless)
	}
	return plain(s.opts.Prefix) + ":{" + plain(team) + "}:", nil
}

// teams is snd:teams, a set of the teams that have an index. Written by
// Claim, Join, Greet and PurgeTeam, before the index grows and after it is gone.
func (s store) teams() string { return plain(s.opts.Prefix) + ":teams" }

// ready is snd:ready, a hash that holds nothing of anybody. Written by Writable.
func (s store) ready() string { return plain(s.opts.Prefix) + ":ready" }

// uninstalled is snd:away, a hash: team -> since when it is without the app, and
// whether it is being purged; see Uninstall.mark. Written by Uninstalls.
func (s store) uninstalled() string { return plain(s.opts.Prefix) + ":away" }

// plain writes a name so that it can neither end the hash tag nor run into
// the next part: bytes other than letters, digits and -._~ become %XX.
// Different names stay different.
func plain(name string) string {
	return strings.ReplaceAll(url.QueryEscape(name), "+", "%20")
}

// onKickoff does something with the keys of a kickoff, given how they begin,
// and says in an error what it was. What is not there is the zero value.
func onKickoff[T any](s store, key Key, what string, do func(k string) (T, error)) (T, error) {
	k, err := s.kickoff(key)
	return onKeys(k, err, what+", of kickoff "+key.Kickoff, do)
}

// onTeam does for the keys of a team's index what onKickoff does for those of
// a kickoff.
func onTeam[T any](s store, team, what string, do func(t string) (T, error)) (T, error) {
	t, err := s.team(team)
	return onKeys(t, err, what+", of team "+team, do)
}

func onKeys[T any](keys string, err error, what string, do func(keys string) (T, error)) (result T, _ error) {
	if err == nil {
		result, err = do(keys)
	}
	if err != nil && !errors.Is(err, redis.Nil) {
		return result, fmt.Errorf("%s: %w", what, err)
	}
	return result, nil
}
