// Package fakeslack is a stand-in for the chat platform in one process:
// people, channels, messages, forms and files, with no account, no token and
// no network beyond loopback. It speaks the platform's Web API to the bot and
// delivers to it what people do, as the platform would: by signed requests, or
// through the sockets that the bot has open. The bot runs the same code against
// it as against the platform.
//
// The package owns the platform's side only, and imports nothing of ours from
// outside its folder. It knows nothing of kickoffs: the bot is reached over
// the network alone, and whoever acts here finds buttons and fields in the
// messages and forms that the bot has sent.
//
// Start from
//
//	NewTeam       a team with nobody in it; AddUser and AddChannel fill it
//	Team.Handler  the Web API, to be served under the bot's API address
//	Client.Press  what a person does; also Type, Submit, Command, Say
//	Faults        what goes wrong on demand, counted; Team.Faults sets them
//
// Nothing here is random and no clock is read but the one handed in, so the
// same run gives the same bytes. What the platform does is written down
// where it is done, with "from memory" where no public text was found.
package fakeslack
