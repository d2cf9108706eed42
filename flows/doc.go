// Package flows is the kickoff: what may happen in it, what has happened,
// and what the world should do about it. It is pure. It reads no clock, sends
// nothing, stores nothing and knows no chat platform; whoever calls it passes
// the time in.
//
// Three functions carry everything, and data goes one way through them:
//
//	Decide(kickoff, intent, now)  what somebody wants, or the clock brings,
//	                              becomes events, or a Refusal that says why not
//	Fold(kickoff, after, records) events become the next state; nothing is
//	                              refused, so every old journal loads
//	React(kickoff, record)        events become Effects: messages to show,
//	                              files to share, a time to wake
//
// The state is a plain value in package state, what happened a list of facts in
// package event. Start with the table of stages in stages.go: a row says everything
// in which a stage differs from the others. The functions of a row stand in the
// file of the stage: brief, framing, roles, assumptions, rating, backlog, timebox,
// close and underway, with its decision. There an intent has its rules in decide,
// and after… says what the world should do about the events; the file of the same
// name in package event has the facts. What all stages share, the window that opens
// and closes at a fair moment, is in window.go; the lead's powers are in lead.go;
// who takes part in joining.go; reminders in reminders.go. testdata/flows tells all
// of it, stage by stage, in plain words.
//
// Working hours and dates are reckoned in package workdays, figures in
// package engine. What can be read off a kickoff without a rule is in package
// state; what a rule is needed for is a function here; what screens show and no
// rule decides by is in package views.
package flows
