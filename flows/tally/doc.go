// Package tally works out what people's answers come to: ballots become a map, tests a
// plan with a proposed time box, new ratings at a check-in moves on the map. It lays the
// state before package engine and reads what comes back; it decides nothing. Start with
// [Round], [Schedule] and [Moves].
package tally
