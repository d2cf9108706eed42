// Package installs lets workplaces install the app by themselves, and keeps
// the bot token that each of them gave.
//
// [Flow] is the way in: a person opens /slack/install, is sent to the platform
// with a state that is signed, short-lived, good for once and bound to a
// cookie of their browser, says yes there, and comes back to /slack/oauth,
// where the code they bring is exchanged for the token. Plain pages say what
// came of it, each with the mend.
//
// [Store] keeps the tokens in Redis, sealed with AES-256-GCM under a key that
// is not there ([NewKeys]): whoever reads Redis or its backups learns which
// teams have the app and when they took it, and no token. The team is bound
// into each seal, so that a record moved to another team does not open. Two
// keys make a rotation: the first seals, either opens, and what the old one
// opened is sealed anew.
//
// Left to others: what a token is used for, and what ends with an install
// (bot). Start with [NewKeys], [New] and [NewFlow].
package installs
