package engine

import (
	"slices"
	"strconv"
)

const headerAllowed = "the first line must be rater,assumption,importance,evidence and may have statement as a fifth column"

// header reads the names of the columns.
func (p *parser) header() *TableError {
	row, err := p.row()
	if err != nil {
		return err
	}
	line := p.line(0)
	p.at, p.cells = map[string]int{}, len(row)
	for i, name := range row {
		if !slices.Contains(append(columnsNeeded(), "statement"), name) {
			return wrong(line, "the header has a column %s; %s", quoted(name), headerAllowed)
		}
		if _, twice := p.at[name]; twice {
			return wrong(line, "the header has the column %s twice; %s", name, headerAllowed)
		}
		p.at[name] = i
	}
	for _, name := range columnsNeeded() {
		if _, found := p.at[name]; !found {
			return wrong(line, "the header lacks the column %s; %s", name, headerAllowed)
		}
	}
	return nil
}

func columnsNeeded() []string { return []string{"rater", "assumption", "importance", "evidence"} }

// add takes in one row.
func (p *parser) add(row []string) *TableError {
	if len(row) != p.cells {
		return wrong(p.line(0), "this line has %s; each line has %d, as the header has", cells(len(row)), p.cells)
	}
	rater, err := p.name(row, "rater", &p.raters, mostRaters)
	if err != nil {
		return err
	}
	assumption, err := p.name(row, "assumption", &p.assumptions, mostAssumptions)
	if err != nil {
		return err
	}
	r := rated{pair: pair{rater, assumption}}
	if r.importance, err = p.rating(row, "importance"); err != nil {
		return err
	}
	if r.evidence, err = p.rating(row, "evidence"); err != nil {
		return err
	}
	if err := p.once(r.pair); err != nil {
		return err
	}
	p.ratings = append(p.ratings, r)
	return p.statement(row, assumption)
}

// name reads a name and gives its place.
func (p *parser) name(row []string, column string, known *names, most int) (int, *TableError) {
	name := row[p.at[column]]
	if name == "" {
		return 0, wrong(p.line(p.at[column]), "the name of the %s is missing; each line names a rater and an assumption", column)
	}
	place := known.place(name)
	if place == most {
		return 0, wrong(p.line(p.at[column]), "%s is one %s too many; there may be at most %d", quoted(name), column, most)
	}
	return place, nil
}

// rating reads a rating, 0 for none.
func (p *parser) rating(row []string, column string) (Rating, *TableError) {
	cell := row[p.at[column]]
	switch {
	case cell == "":
		return 0, nil
	case len(cell) == 1 && '1' <= cell[0] && cell[0] <= '9':
		return Rating(cell[0] - '0'), nil
	}
	return 0, wrong(p.line(p.at[column]), "%s is %s; a rating is a whole number from 1 to 9, or empty for \"can't say\"", column, quoted(cell))
}

// once refuses a pair that has been there before.
func (p *parser) once(of pair) *TableError {
	line := p.line(0)
	if first, twice := p.pairs[of]; twice {
		return wrong(line, "%s has rated %s before, on line %d; each pair of rater and assumption may stand once",
			quoted(p.raters.list[of.rater]), quoted(p.assumptions.list[of.assumption]), first)
	}
	p.pairs[of] = line
	return nil
}

// statement takes in the statement of an assumption, if the row has one.
func (p *parser) statement(row []string, assumption int) *TableError {
	if assumption == len(p.statements) {
		p.statements, p.statementLines = append(p.statements, ""), append(p.statementLines, 0)
	}
	column, has := p.at["statement"]
	if !has || row[column] == "" {
		return nil
	}
	text, before := row[column], p.statements[assumption]
	if before != "" && before != text {
		return wrong(p.line(column), "the statement of %s differs from the one on line %d; an assumption has one statement, the same wherever it stands",
			quoted(p.assumptions.list[assumption]), p.statementLines[assumption])
	}
	if before == "" {
		p.statements[assumption], p.statementLines[assumption] = text, p.line(column)
	}
	return nil
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
