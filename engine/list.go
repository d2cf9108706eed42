package engine

import "io"

// A List is what is to be rated, and by whom, before anybody has.
type List struct {
	Raters     []string
	IDs        []string
	Statements []string
}

// ParseList reads what is to be rated from CSV as [ParseTable] does, except that
// only the column assumption must be there. Statement and rater may be: a line
// may name an assumption, a rater or both, as often as it likes, so a table of
// ratings is a list, too.
func ParseList(name string, in io.Reader) (List, error) {
	p := newParser(name, in)
	p.needs = []string{"assumption"}
	p.start()
	for row := p.row(); row != nil; row = p.row() {
		if !empty(row) {
			p.listed(row)
		}
	}
	if len(p.assumptions.list) == 0 {
		p.refuse(1, "there is no assumption below the header; each line below it names one")
	}
	switch {
	case p.lines.failed != nil:
		return List{}, p.lines.failed
	case p.err != nil:
		return List{}, p.err
	}
	return List{Raters: p.raters.list, IDs: p.assumptions.list, Statements: p.statements}, nil
}

// listed takes in one row of a list.
func (p *parser) listed(row []string) {
	if len(row) != p.cells {
		p.refuse(p.line(0), "this line has %s; each line has %d, as the header has", cells(len(row)), p.cells)
	}
	if p.err != nil {
		return
	}
	if p.at.rater >= 0 && row[p.at.rater] != "" {
		p.name(row, p.at.rater, "rater", &p.raters, mostRaters)
		if row[p.at.assumption] == "" {
			return
		}
	}
	assumption := p.name(row, p.at.assumption, "assumption", &p.assumptions, mostAssumptions)
	if p.err == nil {
		p.statement(row, assumption)
	}
}
