package journal

import (
	"fmt"
	"strings"
)

// The keys of one kickoff. The part in braces is what Redis Cluster hashes,
// so all of them live in one slot and one script may touch them together.
type kickoffKeys struct {
	// snd:{team/kickoff}:entries, a stream. Entry <version>-0 has the fields
	// data and, where a delivery asked for it, delivery. Written by Append.
	entries string

	// snd:{team/kickoff}:seen, a hash: delivery -> "<version> <attempt>".
	// Written by Append, which also forgets what is past its time.
	seen string

	// snd:{team/kickoff}:seen-until, a sorted set: delivery, scored by the
	// server's time in ms until which it is remembered. Written by Append.
	seenUntil string

	// snd:{team/kickoff}:snapshot, a hash: version, data. Written by
	// SaveSnapshot.
	snapshot string

	// snd:{team/kickoff}:shown, a hash: slot -> version last rendered there.
	// Written by Marks.SetShown.
	shown string

	// snd:{team/kickoff}:done, a set of effects that were done. Written by
	// Marks.SetDone.
	done string

	// snd:{team/kickoff}:uploads, a hash: file -> its id on the platform, until
	// it is shared. Written by Marks.SetUploaded and Marks.ForgetUploads.
	uploads string

	// snd:{team/kickoff}:cursors, a hash: queued -> version up to which
	// effects were queued. Written by Marks.SetQueued and Marks.ResetQueued.
	cursors string

	// snd:{team/kickoff}:people, a set of the people whose index names this
	// kickoff, so that Purge finds them. Written by Index.Join.
	people string
}

// all lists every key, for Purge.
func (k kickoffKeys) all() []string {
	return []string{k.entries, k.seen, k.seenUntil, k.snapshot, k.shown, k.done, k.uploads, k.cursors, k.people}
}

// keys builds the keys of a kickoff.
func (s store) keys(key Key) (kickoffKeys, error) {
	if key.Team == "" || key.Kickoff == "" {
		return kickoffKeys{}, fmt.Errorf("kickoff %q of team %q: %w", key.Kickoff, key.Team, errNameless)
	}
	tag := fmt.Sprintf("%s:{%s/%s}:", plain(s.opts.Prefix), plain(key.Team), plain(key.Kickoff))
	return kickoffKeys{
		entries:   tag + "entries",
		seen:      tag + "seen",
		seenUntil: tag + "seen-until",
		snapshot:  tag + "snapshot",
		shown:     tag + "shown",
		done:      tag + "done",
		uploads:   tag + "uploads",
		cursors:   tag + "cursors",
		people:    tag + "people",
	}, nil
}

// The keys of one team's index, which share a slot of their own.
type teamKeys struct {
	// snd:{team}:channels, a hash: channel -> "<unix seconds> <kickoff>", the
	// kickoff that holds it and since when. Written by Claim and Release.
	channels string

	// snd:{team}:kickoffs, a set of all kickoffs of the team, ended ones too.
	// Written by Claim, Join and Purge.
	kickoffs string

	// snd:{team}:person:<user>, a set of the kickoffs a person takes part
	// in. Written by Join and Purge. This is its beginning.
	person string

	// snd:{team}:greeted, a set of the channels that were greeted. Written by
	// Greet, Ungreet and PurgeTeam.
	greeted string
}

// team builds the keys of a team's index.
func (s store) team(team string) (teamKeys, error) {
	if team == "" {
		return teamKeys{}, fmt.Errorf("team: %w", errNameless)
	}
	tag := fmt.Sprintf("%s:{%s}:", plain(s.opts.Prefix), plain(team))
	return teamKeys{channels: tag + "channels", kickoffs: tag + "kickoffs", person: tag + "person:", greeted: tag + "greeted"}, nil
}

// teams is snd:teams, a set of the teams that have an index. Written by
// Claim, Join, Greet and PurgeTeam, before the index grows and after it is gone.
func (s store) teams() string { return plain(s.opts.Prefix) + ":teams" }

// uninstalled is snd:away, a hash: team -> since when it is without the app, and
// whether it is being purged; see Uninstall.mark. Written by Uninstalls.
func (s store) uninstalled() string { return plain(s.opts.Prefix) + ":away" }

// plain writes a name so that it can neither end the hash tag nor run into
// the next part: bytes other than letters, digits and -._~ become %XX, as in
// a URL. Different names stay different.
func plain(name string) string {
	const hex = "0123456789ABCDEF"
	var b strings.Builder
	for i := range len(name) {
		c := name[i]
		if isPlain(c) {
			b.WriteByte(c)
			continue
		}
		b.Write([]byte{'%', hex[c>>4], hex[c&15]})
	}
	return b.String()
}

func isPlain(c byte) bool {
	switch {
	case 'a' <= c && c <= 'z', 'A' <= c && c <= 'Z', '0' <= c && c <= '9':
		return true
	}
	return strings.IndexByte("-._~", c) >= 0
}

// bothKeys builds the keys of a kickoff and those of its team's index.
func (s store) bothKeys(key Key) (kickoffKeys, teamKeys, error) {
	keys, err := s.keys(key)
	if err != nil {
		return kickoffKeys{}, teamKeys{}, err
	}
	index, err := s.team(key.Team)
	return keys, index, err
}
