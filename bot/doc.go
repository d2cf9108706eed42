// Package bot is the shell around flows: the chat platform comes in, and the
// chat platform goes out. It verifies and parses what arrives, lets flows
// decide, appends the outcome to the journal, and only then acknowledges;
// what should follow is queued, and done by workers that may be interrupted
// and repeated at any point.
//
// The way of the data through the files:
//
//	server.go        an HTTP request arrives and is held to its signature
//	interactions.go  a button, a choice or a form becomes an intent
//	commands.go      so does a slash command
//	kickoffs.go      Decide, append, fold: the only place that writes
//	effects.go       a job comes due and its effects are done, in order
//	chat.go          the one way to the Web API
//	drafting.go      a lead asks a model for wordings, and nobody waits for it
//
// The bot decides nothing. Any number of processes may run against one Redis.
package bot
