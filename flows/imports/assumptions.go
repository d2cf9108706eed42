package imports

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"soundings/flows"
)

// Assumptions reads assumptions from a table of text: one row each, with
// the columns text and because, and optionally id, a reference of their own.
// A first row that names these columns puts them in any order. Cells are
// parted by commas, or by tabs as when rows are pasted from a spreadsheet, or
// by semicolons where the first row names its columns so. Empty rows are passed
// over.
//
// What is wrong comes back as a *Refusal that names the row, the first
// assumption being row 1.
func Assumptions(csvText string) ([]flows.AddAssumption, error) {
	rows, err := readRows(unixLines(csvText))
	if err != nil {
		return nil, err
	}
	columns := []string{"text", "because"}
	if len(rows) > 0 {
		if named, ok := columnNames(rows[0]); ok {
			columns = named
		}
	}
	var out []flows.AddAssumption
	for i, row := range withoutNames(rows) {
		a, fault := assumptionFrom(row, columns)
		if fault != "" {
			return nil, refuse("csv", "Row %d: %s", i+1, fault)
		}
		out = append(out, a)
	}
	if len(out) == 0 {
		return nil, refuse("csv", "There is no row with an assumption. Write one a line.")
	}
	return out, nil
}

// readRows reads the cells of the rows that have any.
func readRows(text string) ([][]string, error) {
	rows, err := rowsOf(text, false)
	if errors.Is(err, csv.ErrBareQuote) { // in the middle of a cell, which is how people write
		rows, err = rowsOf(text, true)
	}
	if err != nil {
		return nil, refuse("csv", "Row %d: a quotation mark is left open. Close it, or double it where it is part of the text.",
			len(withoutNames(rows))+1)
	}
	return rows, nil
}

// withoutNames leaves out a first row that only names the columns.
func withoutNames(rows [][]string) [][]string {
	if len(rows) > 0 {
		if _, ok := columnNames(rows[0]); ok {
			return rows[1:]
		}
	}
	return rows
}

func rowsOf(text string, lazy bool) ([][]string, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord = separatorOf(text), lazy, -1
	var rows [][]string
	for {
		row, err := r.Read()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			return rows, err
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		if slices.ContainsFunc(row, func(cell string) bool { return cell != "" }) {
			rows = append(rows, row)
		}
	}
}

func separatorOf(text string) rune {
	first, _, _ := strings.Cut(strings.TrimLeft(text, "\n "), "\n")
	switch _, named := columnNames(strings.Split(first, ";")); {
	case strings.Contains(text, "\t"):
		return '\t'
	case named && strings.Contains(first, ";"):
		return ';'
	}
	return ','
}

// columnNames reads a row as the names of columns. It is one only when every
// cell is a name known here, and one of them is the text.
func columnNames(row []string) ([]string, bool) {
	known := map[string]string{
		"text": "text", "assumption": "text", "statement": "text", "belief": "text",
		"because": "because", "reason": "because",
		"id": "id", "reference": "id",
	}
	names := make([]string, len(row))
	for i, cell := range row {
		name, ok := known[strings.ToLower(strings.TrimSpace(cell))]
		if !ok || slices.Contains(names[:i], name) {
			return nil, false
		}
		names[i] = name
	}
	return names, slices.Contains(names, "text")
}

// assumptionFrom reads one row, or says in a sentence what is wrong with it.
func assumptionFrom(row, columns []string) (a flows.AddAssumption, fault string) {
	if len(row) > len(columns) {
		return a, fmt.Sprintf("it has %d parts, and %d fit (%s). Put \"quotation marks\" around a text that has commas in it.",
			len(row), len(columns), strings.Join(columns, ", "))
	}
	for i, cell := range row {
		switch columns[i] {
		case "text":
			a.Text = cell
		case "because":
			a.Because = cell
		case "id":
			a.ID = cell
		}
	}
	if a.Text == "" {
		return a, "the assumption itself is missing."
	}
	return a, ""
}
