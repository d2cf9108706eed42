// Package rehearsal plays a kickoff without anybody: scripted people act in a
// team of package fakeslack, the real bot answers, and a page lets a person
// look at what they see or take part. It runs the bot itself, so it imports
// the bot's packages; the platform's side is fakeslack's.
//
// Start from ParseScenario, NewPlay and NewPage.
package rehearsal
