package engine

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// The most that a table of ratings may hold: far more than a group can rate,
// and little enough to be scored on any machine.
const (
	mostRaters      = 2_000
	mostAssumptions = 2_000
	mostInCell      = 10_000   // characters
	mostInRow       = 64 << 10 // bytes
)

// A TableError says what is wrong with a table of ratings, where, and what is
// allowed.
type TableError struct {
	File string
	Line int // counted from 1, in the file as it stands
	Msg  string
}

// Error gives the file, the line and the message, on one line.
func (e *TableError) Error() string { return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Msg) }

// ParseTable reads ratings from CSV, whose cells are set apart by commas, by
// semicolons or by tabs, whichever the header shows, one line for each rater and assumption,
// under the header
//
//	rater,assumption,importance,evidence
//
// with statement as a fifth column where the wording of the assumptions is at
// hand. The columns may stand in any order and be written in capitals; further
// columns are ignored, and so are lines without an entry. A rating is a whole number from 1
// to 9; an empty cell means that the rater could not say. Space around a cell
// does not count. Raters and assumptions come in the order of first appearance;
// a pair that has no line is a gap.
//
// The statement of an assumption may be given on one of its lines or on
// several, but the same each time: which of two wordings people rated cannot
// be guessed. A byte order mark and the line ends of Windows are fine.
//
// Anything else is refused with a [*TableError] that names the file, the line
// and what is allowed: a header that lacks a column, a name that is missing, another rating,
// the same pair twice, a broken quote, a line with too few or too many cells,
// text that is not UTF-8 (of UTF-16 it is said what to do), a table without ratings, one of more than 2,000
// raters or 2,000 assumptions, a cell of more than 10,000 characters and a line
// of more than 64 kB. The table is read as far as it is right, so that a file of
// any size takes no more memory than what is kept of it. Name is used in
// messages only. What keeps in from being read comes back as it is.
func ParseTable(name string, in io.Reader) (Table, error) {
	p := newParser(name, in)
	p.parse()
	switch {
	case p.lines.failed != nil:
		return Table{}, p.lines.failed
	case p.err != nil:
		return Table{}, p.err
	}
	return p.table(), nil
}

// A parser is the work on one file. A row is a line of the CSV, which may span
// several lines of the file. Of what is wrong the first is kept in err.
type parser struct {
	file  string
	err   *TableError
	lines *lines
	csv   *csv.Reader
	needs []string // the columns that the header must have
	at    columns  // where the header has them
	cells int      // how many cells a row has

	separator string
	cut       []string // the cells of a plain line
	plain     int      // how many lines of the file were plain, and not seen by csv

	raters, assumptions names
	statements          []string
	statementLines      []int     // where each statement stood first
	ballots             [][]rated // by rater, then by assumption as far as there are any
}

// A rated assumption is what one row holds.
type rated struct {
	line                 int32 // where it stands; 0 where it does not
	importance, evidence Rating
}

func newParser(file string, in io.Reader) *parser {
	p := &parser{file: file, needs: columnsNeeded(), at: noColumns(), lines: newLines(in)}
	p.csv = csv.NewReader(p.lines)
	p.csv.ReuseRecord = true
	p.csv.FieldsPerRecord = -1 // counted here, for the sake of the message
	p.csv.Comma = p.lines.separator()
	p.separator = string(p.csv.Comma)
	return p
}

func (p *parser) parse() {
	p.start()
	for row := p.row(); row != nil; row = p.row() {
		if !empty(row) {
			p.add(row)
		}
	}
	if len(p.ballots) == 0 {
		p.refuse(1, "there is no rating below the header; each line below it is one rater's rating of one assumption")
	}
}

// empty tells of a row without an entry, as spreadsheets save what lies below a table.
func empty(row []string) bool {
	return !slices.ContainsFunc(row, func(cell string) bool { return cell != "" })
}

// start reads what stands above the rows.
func (p *parser) start() {
	if p.lines.utf16() {
		p.refuse(1, "this is UTF-16 text; save the file as CSV in UTF-8, which spreadsheets call “CSV UTF-8”, or turn it: iconv -f UTF-16 -t UTF-8")
	}
	p.header()
}

// refuse says what is wrong, unless something was wrong before.
func (p *parser) refuse(line int, format string, args ...any) {
	if p.err == nil {
		p.err = &TableError{File: p.file, Line: line, Msg: fmt.Sprintf(format, args...)}
	}
}

// row reads the next row: nil at the end, and once something is wrong. The next
// call writes over it.
func (p *parser) row() []string {
	if p.err != nil {
		return nil
	}
	p.lines.row = 0
	row, err := p.read()
	broken := (*csv.ParseError)(nil)
	switch {
	case errors.Is(err, io.EOF):
		return nil
	case errors.Is(err, errNotText):
		p.refuse(p.lines.n, "this is not UTF-8 text; save the file as CSV in UTF-8")
	case errors.Is(err, errLongRow):
		p.refuse(p.lines.began, "what begins here is longer than a line may be; a line has at most %d kB, and a quote that is opened is closed", mostInRow>>10)
	case errors.As(err, &broken):
		p.refuse(p.plain+broken.StartLine, "a quote is broken; a cell in quotes ends with a quote, and a quote inside it is doubled")
	case err != nil:
		p.refuse(1, "%v; expected a CSV file", err)
	}
	for i := range row {
		row[i] = strings.TrimSpace(row[i])
		if len(row[i]) > mostInCell && utf8.RuneCountInString(row[i]) > mostInCell {
			p.refuse(p.line(i), "%s is a cell of more than %d characters; that is the most a cell may have", quoted(row[i]), mostInCell)
		}
	}
	return row
}

// read reads the cells of the next row. A line without a quote is cut where its
// separators are, which is what nearly all lines need; the others are left to csv.
func (p *parser) read() ([]string, error) {
	for p.lines.plain() {
		line := p.lines.take()
		p.plain++
		if line == "" {
			continue // as csv does
		}
		p.cut = p.cut[:0]
		for more := true; more; {
			var cell string
			cell, line, more = strings.Cut(line, p.separator)
			p.cut = append(p.cut, cell)
		}
		return p.cut, nil
	}
	p.cut = nil
	return p.csv.Read()
}

// table lays the rows out as a table.
func (p *parser) table() Table {
	t := Table{Raters: p.raters.list, IDs: p.assumptions.list, Statements: p.statements}
	for _, ballot := range p.ballots {
		importance, evidence := make([]Rating, len(t.IDs)), make([]Rating, len(t.IDs))
		for i, r := range ballot {
			importance[i], evidence[i] = r.importance, r.evidence
		}
		t.Importance, t.Evidence = append(t.Importance, importance), append(t.Evidence, evidence)
	}
	return t
}

// line is where a cell of the current row begins.
func (p *parser) line(cell int) int {
	if p.cut != nil {
		return p.lines.n
	}
	line, _ := p.csv.FieldPos(cell)
	return p.plain + line
}

// names numbers names in the order of first appearance.
type names struct {
	list []string
	at   map[string]int
	last int
}

// place is the number of a name. Tables are sorted, mostly: the name is the last one
// again, or the one that comes after it.
func (n *names) place(name string) int {
	for _, likely := range [...]int{n.last, n.last + 1, 0} {
		if likely < len(n.list) && n.list[likely] == name {
			n.last = likely
			return likely
		}
	}
	at, known := n.at[name]
	if !known {
		if n.at == nil {
			n.at = map[string]int{}
		}
		name, at = strings.Clone(name), len(n.list) // not the whole line that it is cut from
		n.at[name] = at
		n.list = append(n.list, name)
	}
	n.last = at
	return at
}

// allowed says what a header must hold.
func (p *parser) allowed() string {
	if len(p.needs) == 1 {
		return "the first line must name the column assumption, and may name statement, rater and others"
	}
	return "the first line must name the columns rater, assumption, importance and evidence, and may name statement and others"
}

// header reads the names of the columns.
func (p *parser) header() {
	row := p.row()
	for len(row) == 1 && row[0] == "" {
		row = p.row()
	}
	if row == nil {
		p.refuse(1, "the file is empty; %s", p.allowed())
		return
	}
	line := p.line(0)
	p.cells = len(row)
	for i, name := range row {
		at := p.at.named(strings.ToLower(name))
		if at == nil {
			continue // theirs, whatever it is for
		}
		if *at >= 0 {
			p.refuse(line, "the header has the column %s twice; %s", strings.ToLower(name), p.allowed())
		}
		*at = i
	}
	for _, name := range p.needs {
		if *p.at.named(name) < 0 {
			p.refuse(line, "the header lacks the column %s; %s", name, p.allowed())
		}
	}
}

// columns are the places of the columns that are read, each -1 where there is none.
type columns struct{ rater, assumption, importance, evidence, statement int }

func noColumns() columns { return columns{-1, -1, -1, -1, -1} }

// named is the place of the column of that name; nil where it is none that is read.
func (c *columns) named(name string) *int {
	switch name {
	case "rater":
		return &c.rater
	case "assumption":
		return &c.assumption
	case "importance":
		return &c.importance
	case "evidence":
		return &c.evidence
	case "statement":
		return &c.statement
	}
	return nil
}

func columnsNeeded() []string { return []string{"rater", "assumption", "importance", "evidence"} }

// add takes in one row.
func (p *parser) add(row []string) {
	if p.err != nil {
		return
	}
	if len(row) != p.cells {
		p.refuse(p.line(0), "this line has %s; each line has %d, as the header has", cells(len(row)), p.cells)
		return
	}
	rater := p.name(row, p.at.rater, "rater", &p.raters, mostRaters)
	assumption := p.name(row, p.at.assumption, "assumption", &p.assumptions, mostAssumptions)
	r := rated{int32(p.line(0)), p.rating(row, p.at.importance, "importance"), p.rating(row, p.at.evidence, "evidence")}
	if p.err != nil {
		return
	}
	p.once(rater, assumption, r)
	p.statement(row, assumption)
}

// name reads a name and gives its place.
func (p *parser) name(row []string, at int, column string, known *names, most int) int {
	name := row[at]
	if name == "" {
		p.refuse(p.line(at), "the name of the %s is missing; each line names a rater and an assumption", column)
	}
	place := known.place(name)
	if place == most {
		p.refuse(p.line(at), "%s is one %s too many; there may be at most %d", quoted(name), column, most)
	}
	return place
}

// rating reads a rating, 0 for none.
func (p *parser) rating(row []string, at int, column string) Rating {
	cell := row[at]
	switch {
	case cell == "":
		return 0
	case len(cell) == 1 && '1' <= cell[0] && cell[0] <= '9':
		return Rating(cell[0] - '0')
	}
	p.refuse(p.line(at), "%s is %s; a rating is a whole number from 1 to 9, or empty for \"can't say\"", column, quoted(cell))
	return 0
}

// once puts a rating on its ballot, and refuses a pair that has been there before.
func (p *parser) once(rater, assumption int, r rated) {
	if rater == len(p.ballots) {
		p.ballots = append(p.ballots, nil)
	}
	ballot := &p.ballots[rater]
	for assumption >= len(*ballot) {
		*ballot = append(*ballot, rated{})
	}
	if first := (*ballot)[assumption].line; first != 0 {
		p.refuse(int(r.line), "%s has rated %s before, on line %d; each pair of rater and assumption may stand once",
			quoted(p.raters.list[rater]), quoted(p.assumptions.list[assumption]), first)
	}
	(*ballot)[assumption] = r
}

// statement takes in the statement of an assumption, if the row has one.
func (p *parser) statement(row []string, assumption int) {
	if assumption == len(p.statements) {
		p.statements, p.statementLines = append(p.statements, ""), append(p.statementLines, 0)
	}
	column := p.at.statement
	if column < 0 || row[column] == "" {
		return
	}
	text, before := row[column], p.statements[assumption]
	if before != "" && before != text {
		p.refuse(p.line(column), "the statement of %s differs from the one on line %d; an assumption has one statement, the same wherever it stands",
			quoted(p.assumptions.list[assumption]), p.statementLines[assumption])
	}
	if before == "" {
		p.statements[assumption], p.statementLines[assumption] = strings.Clone(text), p.line(column)
	}
}

func cells(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return strconv.Itoa(n) + " cells"
}

// quoted shows what stands in a cell, in quotes, on one line and not at length.
func quoted(cell string) string {
	const most = 40
	if runes := []rune(cell); len(runes) > most {
		cell = string(runes[:most]) + "…"
	}
	return strconv.Quote(cell)
}
