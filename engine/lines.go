package engine

import (
	"bufio"
	"bytes"
	"errors"
	"io"
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
	err    error  // what kept the next line from being read
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
			if known := (&columns{}).named(strings.Trim(cell, " \"\r")); known != nil {
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
	if !l.ahead() {
		return 0, l.err
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

// ahead reports whether there is something to be read, of a line that has begun or
// of the next one.
func (l *lines) ahead() bool {
	if len(l.rest) == 0 && l.err == nil {
		l.err = l.next()
	}
	return l.err == nil
}

// plain reports whether what comes is a line of which nothing is quoted, and so a row.
func (l *lines) plain() bool { return l.ahead() && bytes.IndexByte(l.rest, '"') < 0 }

// take reads the current line whole, without its end.
func (l *lines) take() string {
	line := bytes.TrimSuffix(bytes.TrimSuffix(l.rest, []byte("\n")), []byte("\r"))
	l.rest = nil
	return string(line)
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
