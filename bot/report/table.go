package report

import (
	"regexp"
	"strings"

	"soundings/bot/words"
)

// table writes rows as CSV, the first of them the names of the columns. Cells are
// set apart by commas, as RFC 4180 has them. Some spreadsheets take a semicolon
// or a tab for the end of a cell too, so texts with one stand in quotes. Others
// take nothing but those, and see the quotes of a later cell as text; so what would
// begin a formula after one is defused as at the beginning of a cell. It begins without
// a byte order mark: programs would take it for a part of the first column's name. Where
// people open it there is one; see [File.Shared].
func table(rows [][]string) string {
	var b strings.Builder
	for i, row := range rows {
		if i > 0 {
			row = words.Defused(row)
		}
		for j, cell := range row {
			if j > 0 {
				b.WriteByte(',')
			}
			cell = insideCell.ReplaceAllString(cell, "$1'$2")
			if cell != strings.TrimSpace(cell) || strings.ContainsAny(cell, ",;\"\t\r\n") {
				cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
			}
			b.WriteString(cell)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

var insideCell = regexp.MustCompile("([;\t\r\n])([=+@＝＋－＠-])")
