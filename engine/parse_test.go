package engine

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const header = "rater,assumption,importance,evidence\n"

func TestParseTable(t *testing.T) {
	small := Table{
		Raters: []string{"ana", "bo"}, IDs: []string{"A2", "A1"}, Statements: []string{"", ""},
		Importance: [][]Rating{{7, 0}, {0, 9}}, Evidence: [][]Rating{{2, 0}, {0, 0}},
	}
	stated := small
	stated.Statements = []string{"Boats, and more", "Two\nlines"}
	for rule, test := range map[string]struct {
		csv  string
		want Table
	}{
		"a pair without a line is a gap, an empty cell is can't say": {header + "ana,A2,7,2\nbo,A1,9,\n", small},
		"semicolons":                                     {strings.ReplaceAll(header+"ana,A2,7,2\nbo,A1,9,\n", ",", ";"), small},
		"tabs":                                           {strings.ReplaceAll(header+"ana,A2,7,2\nbo,A1,9,\n", ",", "\t"), small},
		"semicolons, quoted, with commas inside":         {"\"rater\";\"assumption\";\"importance\";\"evidence\";\"a,b\"\nana;A2;7;2;\"1,5\"\nbo;A1;9;;\n", small},
		"capitals and another order":                     {"Evidence,IMPORTANCE,Assumption,Rater\n2,7,A2,ana\n,9,A1,bo\n", small},
		"further columns are ignored":                    {"when,rater,assumption,importance,evidence,when\n1,ana,A2,7,2,x\n2,bo,A1,9,,y\n", small},
		"lines without an entry are ignored":             {header + "ana,A2,7,2\n,,,\nbo,A1,9,\n,,,\n", small},
		"the last line may end without a line end":       {header + "ana,A2,7,2\nbo,A1,9,", small},
		"a byte order mark and the line ends of Windows": {"\ufeff" + strings.ReplaceAll(header+"ana,A2,7,2\nbo,A1,9,\n", "\n", "\r\n"), small},
		"space around cells and empty lines":             {" rater, assumption ,importance,evidence\n\n ana ,A2, 7,2 \n\nbo,A1,9,\t\n", small},
		"columns in another order":                       {"evidence,rater,importance,assumption\n2,ana,7,A2\n,bo,9,A1\n", small},
		"a statement on one line of several, in quotes":  {"rater,assumption,importance,evidence,statement\nana,A2,7,2,\"Boats, and more\"\nbo,A1,9,,\"Two\r\nlines\"\nbo,A2,,,\nana,A1,,,\"Two\nlines\"\n", stated},
		"quotes around everything":                       {"\"rater\",\"assumption\",\"importance\",\"evidence\"\n\"ana\",\"A2\",\"7\",\"2\"\n\"bo\",\"A1\",\"9\",\"\"\n", small},
	} {
		got, err := ParseTable("small.csv", strings.NewReader(test.csv))
		if !assert.NoError(t, err, rule) {
			continue
		}
		assert.Equal(t, test.want, got, "%s:\n got %+v\nwant", rule, got)
	}
}

func TestParseTableRefuses(t *testing.T) {
	const utf16Rule = "this is UTF-16 text; save the file as CSV in UTF-8, which spreadsheets call “CSV UTF-8”, or turn it: iconv -f UTF-16 -t UTF-8"
	const headerRule = `the first line must name the columns rater, assumption, importance and evidence, and may name statement and others`
	const ratingRule = `a rating is a whole number from 1 to 9, or empty for "can't say"`
	const quoteRule = `a quote is broken; a cell in quotes ends with a quote, and a quote inside it is doubled`
	const nameRule = `each line names a rater and an assumption`
	for _, test := range []struct{ rule, csv, want string }{
		{"no file to speak of", "", "1: the file is empty; " + headerRule},
		{"nothing but a mark and space", "\ufeff \r\n\n", "1: the file is empty; " + headerRule},
		{"nothing below the header", header, "1: there is no rating below the header; each line below it is one rater's rating of one assumption"},
		{"a column too few", "rater,assumption,importance\nana,A1,7\n", "1: the header lacks the column evidence; " + headerRule},
		{"a column of another name", "rater,assumption,importance,certainty\n", "1: the header lacks the column evidence; " + headerRule},
		{"UTF-16 with a mark", "\xff\xfer\x00a\x00", "1: " + utf16Rule},
		{"UTF-16, the other way round", "\xfe\xff\x00r\x00a", "1: " + utf16Rule},
		{"UTF-16 without a mark", "r\x00a\x00t\x00", "1: " + utf16Rule},
		{"a column twice", "rater,assumption,importance,evidence,rater\n", "1: the header has the column rater twice; " + headerRule},
		{"another separator", "rater|assumption|importance|evidence\nana|A1|7|2\n", "1: the header lacks the column rater; " + headerRule},
		{"no header", "ana,A1,7,2\n", "1: the header lacks the column rater; " + headerRule},
		{"a header that comes late", "\n\n" + "who,what\n", "3: the header lacks the column rater; " + headerRule},
		{"a rating of ten", header + "ana,A1,10,2\n", `2: importance is "10"; ` + ratingRule},
		{"a rating of nought", header + "ana,A1,7,2\nana,A2,7,0\n", `3: evidence is "0"; ` + ratingRule},
		{"a rating between two", header + "ana,A1,7.5,2\n", `2: importance is "7.5"; ` + ratingRule},
		{"a rating in words", header + "ana,A1,seven,2\n", `2: importance is "seven"; ` + ratingRule},
		{"a digit of another script", header + "ana,A1,٧,2\n", `2: importance is "٧"; ` + ratingRule},
		{"no rater", header + " ,A1,7,2\n", "2: the name of the rater is missing; " + nameRule},
		{"no assumption", header + "ana,,7,2\n", "2: the name of the assumption is missing; " + nameRule},
		{"a pair twice", header + "ana,A1,7,2\nbo,A1,7,2\nana, A1,7,2\n", `4: "ana" has rated "A1" before, on line 2; each pair of rater and assumption may stand once`},
		{"a cell too few", header + "ana,A1,7\n", "2: this line has 3 cells; each line has 4, as the header has"},
		{"a cell too many", header + "ana,A1,7,2,\n", "2: this line has 5 cells; each line has 4, as the header has"},
		{"a quote inside a plain cell", header + "ana,A\"1,7,2\n", "2: " + quoteRule},
		{"text after a quote", header + "ana,\"A1\"x,7,2\n", "2: " + quoteRule},
		{"a quote that is never closed is named where it began", header + "ana,\"A1,7,2\nbo,A1,7,2\n", "2: " + quoteRule},
		{"bytes that are no text", header + "ana,A1,7,2\nb\xffo,A1,7,2\n", "3: this is not UTF-8 text; save the file as CSV in UTF-8"},
		{"two statements", "rater,assumption,importance,evidence,statement\nana,A1,7,2,Yes\nbo,A1,7,2,No\n", `3: the statement of "A1" differs from the one on line 2; an assumption has one statement, the same wherever it stands`},
		{"a long cell is cut short", header + "ana,A1,\"" + strings.Repeat("ä", 50) + "\",2\n", `2: importance is "` + strings.Repeat("ä", 40) + `…"; ` + ratingRule},
		{"a cell of two lines stays on one", header + "ana,A1,\"7\n8\",2\n", `2: importance is "7\n8"; ` + ratingRule},
		{"marks that turn text round are shown", header + "ana,A1,\u202e7,2\n", `2: importance is "\u202e7"; ` + ratingRule},
	} {
		got, err := ParseTable("file.csv", strings.NewReader(test.csv))
		if !assert.Error(t, err, "%s: no error", test.rule) {
			continue
		}
		assert.Equal(t, "file.csv:"+test.want, err.Error(), "%s:\n got %s\nwant file.csv:%s", test.rule, err, test.want)
		assert.Empty(t, got.Raters, "%s: a table beside the error: %+v", test.rule, got)
		assert.Empty(t, got.IDs, "%s: a table beside the error: %+v", test.rule, got)
	}
}

// Lines are those of the file, also below cells that span several.
func TestParseTableCountsLinesOfTheFile(t *testing.T) {
	const top = "rater,assumption,importance,evidence,statement\nana,A1,7,2,\"One\ntwo\nthree\"\n"
	for rule, test := range map[string]struct {
		csv  string
		line int
	}{
		"the line after such a cell":         {top + "bo,A1,7,x,\n", 5},
		"the cell before, in the same row":   {top + "bo,\"A\n2\",7,x,\n", 6},
		"a row is named by its first line":   {top + "bo,\"A\n2\",7\n", 5},
		"a pair twice, by its second line":   {top + "\nana,A1,7,2,\"One\ntwo\nthree\"\n", 6},
		"a statement that differs":           {top + "bo,\"A\n2\",1,1,\nbo,A1,1,1,One\n", 7},
		"the quote of a row that began late": {top + "bo,\"A\n2,7\n", 5},
	} {
		_, err := ParseTable("f", strings.NewReader(test.csv))
		var wrong *TableError
		if !assert.ErrorAs(t, err, &wrong, "%s: error %v, want a TableError", rule, err) {
			continue
		}
		assert.Equal(t, test.line, wrong.Line, "%s: %v, want line", rule, err)
		assert.Equal(t, "f", wrong.File, "%s: %v, want line", rule, err)
	}
}

func TestParseTableRefusesMoreThanCanBeScored(t *testing.T) {
	for column, most := range map[string]int{"rater": mostRaters, "assumption": mostAssumptions} {
		var b bytes.Buffer
		b.WriteString(header)
		for i := range most + 1 {
			names := map[string]int{column: i}
			fmt.Fprintf(&b, "r%d,A%d,5,5\n", names["rater"], names["assumption"])
		}
		_, err := ParseTable("big.csv", bytes.NewReader(b.Bytes()))
		var wrong *TableError
		assert.ErrorAs(t, err, &wrong, "%d of %s: %v, want a refusal on line", most+1, column, err)
		assert.Equal(t, most+2, wrong.Line, "%d of %s: %v, want a refusal on line", most+1, column, err)
		assert.Contains(t, wrong.Msg, fmt.Sprintf("at most %d", most), "%d of %s: %v, want a refusal on line", most+1, column, err)
		_, err = ParseTable("big.csv", bytes.NewReader(bytes.Join(bytes.SplitAfter(b.Bytes(), []byte("\n"))[:most+1], nil)))
		assert.NoError(t, err, "%d of %s", most, column)
	}
}

// A file that is no table is refused where it goes wrong: what a line, a cell or
// a quote that is never closed may hold is bounded, and so is the memory.
func TestParseTableStopsAtWhatIsTooLong(t *testing.T) {
	const endless = 256 << 20
	long := strings.Repeat("ä", mostInCell)
	for rule, test := range map[string]struct {
		start, again string
		want         string
	}{
		"a header of commas":       {"", ",", "1: what begins here is longer than a line may be; a line has at most 64 kB, and a quote that is opened is closed"},
		"a line of space":          {"\n", " ", "2: what begins here is longer than a line may be; a line has at most 64 kB, and a quote that is opened is closed"},
		"one huge cell":            {header + "ana,", "x", "2: what begins here is longer than a line may be; a line has at most 64 kB, and a quote that is opened is closed"},
		"a quote without an end":   {header + "ana,A1,7,2\nana,\"A", "x\n", "3: what begins here is longer than a line may be; a line has at most 64 kB, and a quote that is opened is closed"},
		"a cell of a letter more":  {header + "ana," + long + "ä,7,2\n", "ana,A1,7,2\n", "2: \"" + strings.Repeat("ä", 40) + "…\" is a cell of more than 10000 characters; that is the most a cell may have"},
		"and one that may just be": {header + "ana," + long + ",7,2\nana,A1,10,2\n", "ana,A1,7,2\n", `3: importance is "10"; a rating is a whole number from 1 to 9, or empty for "can't say"`},
	} {
		in := &counted{Reader: io.LimitReader(io.MultiReader(strings.NewReader(test.start), &repeated{text: test.again}), endless)}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := ParseTable("f", in)
		runtime.ReadMemStats(&after)
		assert.EqualError(t, err, "f:"+test.want, rule)
		assert.Less(t, in.n, 1<<20, "%s: bytes read of an endless file", rule)
		assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(32<<20), "%s: memory", rule)
	}
}

// Empty lines, however many, belong to no row; what comes first in a file is
// what is refused.
func TestParseTableReadsOn(t *testing.T) {
	table, err := ParseTable("f", strings.NewReader(header+strings.Repeat("\n", 2*mostInRow)+"ana,A1,7,2\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"A1"}, table.IDs)
	_, err = ParseTable("f", strings.NewReader(header+"ana,A1,10,2\n\xff\n"))
	assert.ErrorContains(t, err, `f:2: importance is "10"`)
	_, err = ParseTable("f", iotest.ErrReader(io.ErrClosedPipe))
	assert.Equal(t, io.ErrClosedPipe, err)
}

// repeated is a text again and again, without end.
type repeated struct {
	text string
	at   int
}

func (r *repeated) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = r.text[r.at]
		r.at = (r.at + 1) % len(r.text)
	}
	return len(p), nil
}

// counted counts what is read.
type counted struct {
	io.Reader
	n int
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n += n
	return n, err
}

// toCSV writes a table as a spreadsheet would, gaps included.
func toCSV(t Table) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write([]string{"rater", "assumption", "importance", "evidence", "statement"})
	for i, rater := range t.Raters {
		for j, id := range t.IDs {
			w.Write([]string{rater, id, cell(t.Importance[i][j]), cell(t.Evidence[i][j]), t.Statements[j]})
		}
	}
	w.Flush()
	return b.Bytes()
}

func cell(r Rating) string {
	if r == 0 {
		return ""
	}
	return string(rune('0' + r))
}

func TestATableWrittenAndReadIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		for i := range table.Statements {
			table.Statements[i] = strings.TrimSpace(strings.ReplaceAll(rapid.String().Draw(t, "statement"), "\r", ""))
		}
		got, err := ParseTable("f", bytes.NewReader(toCSV(table)))
		require.NoError(t, err)
		assert.Equal(t, table, got, "read back:\n got %+v\nwant", got)
	})
}

func FuzzParseTable(f *testing.F) {
	for _, seed := range []string{
		"", header, header + "ana,A1,7,2\n", "\ufeff" + header + "ana,A1,,\r\n", header + "ana,\"A\n1\",10,\n",
		"statement,rater,assumption,importance,evidence\n\"say \"\"a\"\"\",ana,A1,1,9\n", header + "a\"\n", header + "a,b,1,\xff\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := ParseTable("f", bytes.NewReader(data))
		if err != nil {
			checkTableError(t, data, err)
			return
		}
		checkTable(t, table)
		Score(table, Options{Draws: 2})
		again, err := ParseTable("f", bytes.NewReader(toCSV(table)))
		require.NoError(t, err, "what was read is refused when written again")
		assert.Equal(t, withoutReturns(table), again, "read again: %+v\nwant %+v", again, table)
	})
}

func checkTableError(t *testing.T, data []byte, err error) {
	t.Helper()
	var wrong *TableError
	require.ErrorAs(t, err, &wrong, "error %v is no TableError", err)
	assert.Positive(t, wrong.Line)
	assert.LessOrEqual(t, wrong.Line, 1+bytes.Count(data, []byte("\n")), "there is no such line")
	assert.False(t, strings.ContainsFunc(wrong.Error(), unicode.IsControl), "message %q is not one line that says what is allowed", wrong.Error())
	assert.Contains(t, wrong.Msg, "; ", "message %q is not one line that says what is allowed", wrong.Error())
}

// checkTable holds a table to what Score relies on.
func checkTable(t *testing.T, table Table) {
	t.Helper()
	table.mustFit()
	for kind, names := range map[string][]string{"rater": table.Raters, "assumption": table.IDs} {
		seen := map[string]bool{}
		for _, name := range names {
			assert.False(t, name == "" || seen[name], "%s %q is empty or stands twice in %q", kind, name, names)
			seen[name] = true
		}
		assert.NotEmpty(t, seen, "a table without any %s", kind)
	}
}

// withoutReturns knows that CSV does not keep a carriage return that ends a
// line inside a cell.
func withoutReturns(t Table) Table {
	for _, list := range [][]string{t.Raters, t.IDs, t.Statements} {
		for i := range list {
			list[i] = strings.ReplaceAll(list[i], "\r\n", "\n")
		}
	}
	return t
}

// A line of which nothing is quoted is read by a shorter way. It comes to the same table,
// or the same refusal on the same line, as with every cell in quotes.
func TestPlainLinesReadAsQuotedOnes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.SampledFrom([]string{"", " ", "ana", "bo", " bo ", "A1", "A2", "A10", "1", "7", "9", "0", "x", "\u00a09", "é", "a\rb"})
		rating := rapid.SampledFrom([]string{"", " ", "1", "5", " 9", "9\t"})
		separator := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "separator")
		end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line end")
		var plain, quotes, some strings.Builder
		write := func(cells []string) {
			for i, cell := range cells {
				if separator == "\t" {
					cell = strings.ReplaceAll(cell, "\t", " ")
				}
				if i > 0 {
					plain.WriteString(separator)
					quotes.WriteString(separator)
					some.WriteString(separator)
				}
				plain.WriteString(cell)
				quotes.WriteString(`"` + cell + `"`)
				some.WriteString([]string{cell, `"` + cell + `"`}[rapid.IntRange(0, 1).Draw(t, "quoted")])
			}
			for _, b := range []*strings.Builder{&plain, &quotes, &some} {
				b.WriteString(end)
			}
		}
		write([]string{"rater", "assumption", "importance", "evidence", "statement"})
		for i := range rapid.IntRange(0, 12).Draw(t, "rows") {
			switch rapid.IntRange(0, 9).Draw(t, "row") {
			case 0:
				write(rapid.SliceOfN(cell, 2, 6).Draw(t, "cells"))
			case 1: // an empty line
				plain.WriteString(end)
				quotes.WriteString(end)
				some.WriteString(end)
			default:
				write([]string{fmt.Sprint("r", i%3), fmt.Sprint("A", i), rating.Draw(t, "importance"), rating.Draw(t, "evidence"), ""})
			}
		}
		want, wantErr := ParseTable("x", strings.NewReader(quotes.String()))
		for _, text := range []string{plain.String(), some.String()} {
			got, err := ParseTable("x", strings.NewReader(text))
			require.Equal(t, wantErr, err, "%q", text)
			require.Equal(t, want, got, "%q", text)
		}
	})
}
