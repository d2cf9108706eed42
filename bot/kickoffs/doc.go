// Package kickoffs reads and writes kickoffs. It is the one writer: it loads a
// kickoff, lets flows decide on an intent, appends the outcome to the journal,
// and hands what should follow to a [Follower]. When [Store.Do] returns
// without an error the outcome is durable, and may be acknowledged.
//
// How an effect is done is the Follower's business, and so is trying again.
// What an effect finds out comes back as an intent of its own. An effect that
// was never handed on, as when a process died before it could be, is found by
// [Store.Sweep]. Start with [New] and [Store.Do].
package kickoffs
