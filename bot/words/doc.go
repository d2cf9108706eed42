// Package words says what a kickoff holds in short sentences and figures, for
// every form in which people read it: messages, forms, pages, files, a
// terminal. It knows no chat platform, no markup and no layout; those belong
// to screens and report.
//
// Start from three functions:
//
//	Number  a figure, as short as it is exact
//	Clip    a text cut to what a line can hold
//	Count   a number with its noun
//
// What people typed comes back as they typed it, at most clipped. [Harmless]
// makes text safe for a terminal.
package words
