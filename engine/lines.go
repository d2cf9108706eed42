package engine

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

var (
	errNotText = errors.New("not UTF-8 text")
	errLongRow = errors.New("longer than a line may be")
)

// lines hands a file on line by line, each only when it is asked for. So what
// reads the rows sees no more of a file than it needs, and can be stopped at a
// line that is too long before the line is in memory.
type lines struct {
	in     *bufio.Reader
	rest   []byte // of the current line
	n      int    // the number of the current line
	row    int    // bytes of the current row; whoever begins a row sets it to nought
	began  int    // the line on which the row began
	failed error  // why in could not be read, if so
}

func newLines(in io.Reader) *lines { return &lines{in: bufio.NewReaderSize(in, mostInRow+1)} }

// separator is what sets the cells of the header apart: the one with which it
// names most columns, and of equals the comma.
func (l *lines) separator() rune {
	ahead, _ := l.in.Peek(mostInRow)
	header, _, _ := bytes.Cut(bytes.TrimSpace(bytes.TrimPrefix(ahead, []byte("\ufeff"))), []byte("\n"))
	best, most := ',', 0
	for _, separator := range []rune{',', ';', '\t'} {
		named := 0
		for cell := range strings.SplitSeq(strings.ToLower(string(header)), string(separator)) {
			if slices.Contains(columnsKnown(), strings.Trim(cell, " \"\r")) {
				named++
			}
		}
		if named > most {
			best, most = separator, named
		}
	}
	return best
}

// utf16 reports whether the file begins as UTF-16 does: with its mark, or with
// a letter of which half is empty.
func (l *lines) utf16() bool {
	ahead, _ := l.in.Peek(2)
	return len(ahead) == 2 && (ahead[0] == 0xff && ahead[1] == 0xfe || ahead[0] == 0xfe && ahead[1] == 0xff || ahead[0] == 0 || ahead[1] == 0)
}

func (l *lines) Read(p []byte) (int, error) {
	if len(l.rest) == 0 {
		if err := l.next(); err != nil {
			return 0, err
		}
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

// next goes to the next line, and refuses one that is no text or makes the row
// too long.
func (l *lines) next() error {
	line, err := l.in.ReadSlice('\n')
	switch {
	case err == nil, err == io.EOF && len(line) > 0, errors.Is(err, bufio.ErrBufferFull):
	case err == io.EOF:
		return io.EOF
	default:
		l.failed = err
		return err
	}
	if l.n++; l.n == 1 {
		line = bytes.TrimPrefix(line, []byte("\ufeff"))
	}
	if l.row == 0 {
		l.began = l.n
	}
	if l.row > 0 || err != nil || len(bytes.TrimSpace(line)) > 0 { // empty lines belong to no row
		l.row += len(line)
	}
	switch {
	case l.row > mostInRow:
		return errLongRow
	case !utf8.Valid(line):
		return errNotText
	}
	l.rest = line
	return nil
}
