package main

import (
	"io"
	"os"
)

// wantsColour reports whether w is a terminal whose owner has nothing against
// colour: see no-color.org.
func wantsColour(w io.Writer) bool {
	f, isFile := w.(*os.File)
	if !isFile || os.Getenv("NO_COLOR") != "" || os.Getenv("TERM") == "dumb" {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
