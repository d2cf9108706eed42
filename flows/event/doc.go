// Package event is what has happened in a kickoff: the facts, how they stand in
// its journal, and how they fold into its state.
//
// Two rules keep the journal readable for ever. An event's name and fields
// are never renamed or given another meaning. And Apply only writes down what
// the event says: whatever had to be computed or chosen was so when it was
// decided (package flows), and stands in the event.
package event
