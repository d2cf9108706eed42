// Package state is the state of a kickoff: a plain value, the fold of its
// journal, and what can be read off it without a rule. Which events there are
// and what they change is in package flows, above; figures come from package
// engine, hours and dates from package workdays.
//
// Start with [Kickoff]; its parts stand in the file of what they are about:
// stage, people, problem, ratings, plan, underway, channel. A later state shares
// its maps and lists with the earlier ones, so an event changes them by the
// functions of sharing.go alone, and what cached.go has worked out holds for
// as long as they are the same.
package state
