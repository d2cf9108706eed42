package journal

import (
	"crypto/sha1"
	"encoding/hex"
	"errors"
)

// A Position is an entry up to which a record was read. The zero Position is
// before the first. A number alone does not name an entry for good: where the
// server loses its last entries, as in a failover to a replica that lagged or
// when a backup is restored, others take their numbers.
type Position struct {
	Version int64
	Digest  string // see [Digest]; empty: not known, and not compared
}

// Position is that of an entry.
func (e Entry) Position() Position { return Position{Version: e.Version, Digest: Digest(e.Data)} }

// Digest tells the data of an entry from that of another one. It is what
// redis.sha1hex gives in a script; it protects against accidents, not against
// anybody who may write to the server.
func Digest(data []byte) string {
	sum := sha1.Sum(data)
	return hex.EncodeToString(sum[:])
}

// ErrDiverged says that the entry up to which the record was read is not in it
// any more: the server has lost it, and maybe others before. What was folded
// from it never was: fold anew, from the start.
var ErrDiverged = errors.New("the record has lost entries that were read before")
