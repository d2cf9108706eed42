// Package journal keeps the ordered record of kickoffs in Redis, and the few
// marks that help to act on it once.
//
// A kickoff's record is one Redis Stream. Each entry holds one decision as
// bytes that this package never reads, under a version: 1, 2, 3 and so on,
// without gaps. [Journal.Append] is one atomic step: it adds an entry, or
// refuses a delivery that was written before ([ErrDuplicate]) or a decision
// made on an older version ([ErrConflict]). [Journal.Read] returns the entries
// in order. Whatever else is stored can be lost without losing a decision:
// snapshots, and the [Marks] of what was shown, done and queued.
//
// Beside the records stand an [Index] by team, of which kickoff is open in a
// channel and which kickoffs a person takes part in, and the [Uninstalls], the
// teams that have taken the app away.
//
// The package owns every key it writes; keys.go lists them with their shape
// and writer. All keys of one kickoff share a hash tag, and so one slot of a
// Redis Cluster; the index of a team shares another one. No key relies on
// expiry by Redis, and no time is taken from this process: where time counts,
// scripts ask the server. So a single server, Sentinel, Cluster and the
// embedded store of rehearsals behave alike.
//
// An append that returned is as durable as the server was told to make it:
// set appendfsync in Redis to what you are ready to lose.
//
// Left to others: what an entry means (flows), how it is encoded and when it
// is written (bot), timers and outgoing work (jobs). Start with [Open], [New]
// and [Journal.Append].
package journal
