// Package installs lets teams install the app by themselves, and keeps
// the bot token that each of them gave.
//
// [Flow] is the way in: a person opens /slack/install, is sent to the platform
// with a state that is signed, short-lived, good for once and bound to a
// cookie of their browser, says yes there, and comes back to /slack/oauth,
// where the code they bring is exchanged for the token. Plain pages say what
// came of it and what to do.
//
// [Store] keeps the tokens in Redis, sealed with AES-256-GCM under a key that
// that is not in Redis ([NewKeys]): whoever reads Redis or its backups learns
// which teams have the app and when they installed it, and no token. The team
// is authenticated with each record, so that a record moved to another team
// does not open. A rotation takes two keys: the first seals, either opens, and
// what only the old one opens is sealed again.
//
// Left to others: what a token is used for, and what ends with an install
// (bot). Start with [NewKeys], [New] and [NewFlow].
package installs
