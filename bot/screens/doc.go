// Package screens turns a kickoff into what people see: messages, forms,
// pictures and files. And it reads a filled-in form back into intents. It
// decides nothing and sends nothing.
//
// Start from three functions:
//
//	Message  the message of one slot, as the kickoff stands
//	Open     the form behind a button
//	Submit   what a filled-in form means: intents, a next page, or errors
//
// Home draws somebody's home tab, out of all their kickoffs.
//
// Do maps the buttons that need no form to their intent.
//
// What people see of a stage stands in one row of the table in stages.go: its
// title, what it asks, its result, what its lead settles, its nudge, forms and
// buttons. What the row names stands in one file per stage.
//
// Whatever people typed is text. It goes into rich text elements and plain
// text objects, which parse nothing: no mention, no link, no formatting. Only
// words of our own may stand in an object that is parsed. The line that
// phones read aloud, a message's top-level text, is escaped instead.
package screens
