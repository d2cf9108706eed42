package engine

import (
	"io"
	"strings"
)

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
		if strings.Join(row, "") != "" {
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
	rater, has := p.at["rater"]
	if has && row[rater] != "" {
		p.name(row, "rater", &p.raters, mostRaters)
		if row[p.at["assumption"]] == "" {
			return
		}
	}
	assumption := p.name(row, "assumption", &p.assumptions, mostAssumptions)
	if p.err == nil {
		p.statement(row, assumption)
	}
}

// Deal gives each of so many people a share of the assumptions to rate: the
// places of at most each of them, in order. The same numbers give the same
// deal. No assumption is rated by more than one person more than another, and
// assumptions meet on as many different ballots as that allows, so that none is
// only ever compared with the same few.
//
// It deals to one person after the other: of the assumptions that the fewest
// have so far, the one that has met those on the ballot least often; of equals
// the one that comes next behind the last that was dealt.
func Deal(assumptions, people, each int) [][]int {
	each = min(each, assumptions)
	dealt := make([][]int, people)
	if each <= 0 {
		return dealt
	}
	times := make([]int, assumptions)   // on how many ballots each is
	met := make([][]int32, assumptions) // how often two are on one ballot
	for i := range met {
		met[i] = make([]int32, assumptions)
	}
	last := assumptions - 1
	for person := range dealt {
		onBallot := make([]bool, assumptions)
		known := make([]int, assumptions) // how often each has met those on this ballot
		for range each {
			best := -1
			for step := 1; step <= assumptions; step++ {
				a := (last + step) % assumptions
				if onBallot[a] {
					continue
				}
				if best < 0 || times[a] < times[best] || times[a] == times[best] && known[a] < known[best] {
					best = a
				}
			}
			for a := range onBallot {
				if onBallot[a] {
					met[a][best]++
					met[best][a]++
				}
				known[a] += int(met[a][best])
			}
			onBallot[best] = true
			times[best]++
			last = best
		}
		for a, on := range onBallot {
			if on {
				dealt[person] = append(dealt[person], a)
			}
		}
	}
	return dealt
}
