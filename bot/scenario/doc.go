// Package scenario reads a kickoff that is written down beforehand: who takes
// part, what they answer in each stage, and what they find out afterwards. It
// says nothing about what the bot makes of it; package rehearsal plays it.
//
// A scenario is a YAML file. Reading is strict: whatever is wrong is refused
// with its line, its path and what is allowed there.
//
// Start from
//
//	Parse     a file into a Scenario, or a *Fault
//	Scenario  the data
//	Ferry     the built-in scenario
package scenario
