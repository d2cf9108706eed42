package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"soundings/bot/words"
)

// isTerminal reports whether somebody reads along.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// A progress tells somebody who waits how far long work has come: on one line of
// standard error, which is gone in the end. It is nil, and silent, where nobody reads
// along and with --quiet.
type progress struct {
	w    io.Writer
	last time.Time
}

// progressEvery is how often the line changes at most: no faster than is read.
const progressEvery = 100 * time.Millisecond

func progressOf(c *cobra.Command) *progress {
	if quiet(c) || !isTerminal(c.ErrOrStderr()) || os.Getenv("TERM") == "dumb" {
		return nil
	}
	return &progress{w: c.ErrOrStderr()}
}

// quiet reports whether nothing is wanted on standard error but errors.
func quiet(c *cobra.Command) bool {
	quiet, err := c.Flags().GetBool("quiet")
	return err == nil && quiet
}

// say changes the line.
func (p *progress) say(format string, args ...any) {
	const wholeLine = 70
	if p == nil || time.Since(p.last) < progressEvery {
		return
	}
	p.last = time.Now()
	fmt.Fprintf(p.w, "\r%-*s", wholeLine, words.Clip(words.HarmlessLine(fmt.Sprintf(format, args...)), wholeLine))
}

// end takes the line away.
func (p *progress) end() {
	if p != nil && !p.last.IsZero() {
		fmt.Fprint(p.w, "\r\x1b[K") // go to its beginning, erase to its end: ECMA-48, from memory
	}
}
