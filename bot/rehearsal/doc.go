// Package rehearsal is a chat workspace in one process: people, channels,
// messages, forms and files, with no account, no token and no network beyond
// loopback. It speaks the platform's Web API to the bot and delivers to it
// what people do, as the platform would: by signed requests, or through the
// sockets that it has open. The bot cannot tell the difference; that is what
// makes its rehearsals worth trusting.
//
// The package owns the platform's side only. It knows nothing of kickoffs:
// the bot is reached over the network alone, and whoever acts here finds
// buttons and fields in the messages and forms that the bot has sent.
//
// Start from
//
//	NewWorkspace       an empty workspace; AddUser and AddChannel fill it
//	Workspace.Handler  the Web API, to be served under the bot's API address
//	Workspace.Press    what a person does; also Type, Submit, Command, Say
//	Faults             what goes wrong on demand, counted; SetFaults at any time
//	Elements, Pings    what a message or form offers, and whom it would notify
//
// Nothing here is random and no clock is read but the one handed in, so the
// same run gives the same bytes. What the platform does is written down
// where it is done, with "from memory" where no public text was found.
package rehearsal
