// Package report says what a kickoff leaves behind: the parts of its summary
// in the thread, the pages that keep it whole, and the files that are shared
// with it. It knows no chat platform; screens draws the parts as messages.
//
// Start from three functions:
//
//	Files   everything to keep: Markdown, CSV, JSON, ICS, the map
//	Thread  a part of the summary, as it stands in the thread
//	Canvas  the summary as a page of the channel
//
// What a kickoff holds is gathered once, in facts.go. The JSON is the facts as
// they stand; summary.md.tmpl and canvas.md.tmpl are the pages; a spreadsheet
// takes the assumptions. A thread is read live, in the reader's own time zone,
// so its parts are made of the kickoff: a row of parts.go and a function each.
// The pictures are drawn in chart.
package report
