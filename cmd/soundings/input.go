package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"soundings/bot/words"
)

// mostInput is the largest input that is read, in bytes: well above any that
// makes sense, so that a wrong file is refused before memory runs out.
const mostInput = 256 << 20

// readInput reads a file whole, or standard input for "-", and gives the name
// by which messages call it. What cannot be read is the caller's mistake.
func readInput(path string, stdin io.Reader) (name string, data []byte, err error) {
	name, in := "standard input", stdin
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return "", nil, wrong(fileError(path, err))
		}
		defer f.Close()
		name, in = words.HarmlessLine(path), f
	}
	data, err = io.ReadAll(io.LimitReader(in, mostInput+1))
	if err != nil {
		return "", nil, wrong(fileError(name, err))
	}
	if len(data) > mostInput {
		return "", nil, wrongf("%s: it is larger than %d MB; is it the right file?", name, mostInput>>20)
	}
	return name, data, nil
}

// fileError says what is wrong with a file in the words of the system, and
// names it once.
func fileError(path string, err error) error {
	if inPath := (*fs.PathError)(nil); errors.As(err, &inPath) {
		err = inPath.Err
	}
	return fmt.Errorf("%s: %w", words.HarmlessLine(path), err)
}
