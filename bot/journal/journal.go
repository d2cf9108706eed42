package journal

import (
	"cmp"
	"time"

	"github.com/redis/go-redis/v9"
)

// Key names a kickoff: the team (workspace) it belongs to, and its id within
// that team. Both are needed; any bytes will do.
type Key struct{ Team, Kickoff string }

// An Entry is one decision, as it was written.
type Entry struct {
	Version  int64  // its place in the record: 1 for the first
	Delivery string // the delivery that asked for it; may be empty
	Data     []byte
}

// Options change how a Journal behaves. The zero value is good.
type Options struct {
	// Prefix begins every key, so that several programs can share a server.
	// Default: snd.
	Prefix string

	// SeenFor is how long a delivery is remembered. It must outlast the
	// platform's own retries. Default: 24 h.
	SeenFor time.Duration

	// Page is how many entries are asked for at once. Default: 200.
	Page int64
}

// A Journal reads and writes the records of kickoffs. It holds no state of
// its own: any number of processes may use one Redis. It is safe for use by
// many goroutines.
type Journal struct {
	store
	Marks      Marks
	Index      Index
	Uninstalls Uninstalls
}

// A store is what a Journal and its parts share: the client and the names of
// keys.
type store struct {
	rdb  redis.UniversalClient
	opts Options
}

// New makes a Journal on a client, which stays the caller's to close.
func New(rdb redis.UniversalClient, o Options) *Journal {
	o.Prefix = cmp.Or(o.Prefix, "snd")
	o.SeenFor = cmp.Or(o.SeenFor, 24*time.Hour)
	o.Page = cmp.Or(o.Page, 200)
	s := store{rdb: rdb, opts: o}
	return &Journal{store: s, Marks: Marks{s}, Index: Index{s}, Uninstalls: Uninstalls{s}}
}
