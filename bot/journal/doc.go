// Package journal keeps the ordered record of kickoffs in Redis, and the few
// marks that help to act on it once.
//
// A kickoff's record is one Redis Stream. Each entry holds one decision as
// bytes that this package never reads, under a version: 1, 2, 3 and so on,
// without gaps. [Journal.Append] is one atomic step: it refuses a delivery
// that was seen before, refuses a write whose reader was overtaken, and else
// adds. [Journal.Read] and [Journal.Follow] hand the entries back in order.
// Whatever else is stored can be lost without losing a decision: snapshots,
// what was shown and done, and how far effects were queued.
//
// Beside the records stands an index by team: which kickoff is open in a
// channel ([Journal.Claim]), and which kickoffs a person takes part in
// ([Journal.Join]).
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
