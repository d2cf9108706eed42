// Package plaintext draws messages and forms as text, for a terminal, for
// review and for whoever has them read aloud: headings underlined, bullets,
// quotes, buttons as [Label], moments in UTC. Paragraphs are one line each and
// stand apart by an empty line; wrapping is left to the caller. It knows the
// platform's blocks and nothing of a kickoff.
//
// Start from Message and Blocks.
package plaintext
