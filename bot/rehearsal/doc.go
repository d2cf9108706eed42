// Package rehearsal plays a kickoff with scripted people: it runs our bot and a
// stand-in for the platform (package fakeslack) on loopback, and has the people
// of a scenario notice the bot's messages, press its buttons and fill in its
// forms, in their own working hours. The clock leaps from one thing that
// happens to the next, so weeks pass in seconds, and every run gives the same
// bytes.
//
// People go by what they see: by words, buttons and fields. The package knows
// which button of a stage asks for which answer of a script; what the bot makes
// of the answers it does not know. Package scenario reads scripts, and package
// page draws a Room for a browser.
//
// Start from
//
//	Play    a script, played to its end without anybody's help
//	Room    a play in which a person takes part
//	scene   what somebody does with a button; byStage has a row per stage
package rehearsal
