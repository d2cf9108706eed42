// Package report says what a kickoff leaves behind: the parts of its summary,
// and the files that are shared with it. It knows no chat platform; screens
// draws the parts as messages.
//
// Start from three functions:
//
//	Files   everything to keep: Markdown, CSV, JSON, ICS, the map
//	Thread  a part of the summary, as it stands in the thread
//	Canvas  the summary as a page of the channel
//
// Each part of the summary is one row of a table in parts.go and one file,
// with what it says in each of the three forms side by side: in the thread, on
// the canvas, in the file. The pictures are drawn in chart.
package report
