// Package score tells a table of ratings as a text for a terminal: the
// assumptions in test order, where to talk, what hangs on who rated. What
// people typed cannot act on the terminal.
//
// Start from Text; Map draws the same table as a picture.
package score
