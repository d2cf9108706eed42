package words

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"
)

// Harmless makes text safe to print on a terminal: a control character, an
// override of the writing direction or a byte that is no UTF-8 is shown by
// name instead of sent. Line breaks stay.
func Harmless(text string) string {
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	for i, line := range lines {
		lines[i] = HarmlessLine(line)
	}
	return strings.Join(lines, "\n")
}

// HarmlessLine is Harmless for what must stay on one line: a line break is
// shown as ↵ between spaces.
func HarmlessLine(text string) string {
	var b strings.Builder
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, "<%02X>", text[i])
		case strings.HasPrefix(text[i:], "\r\n"):
			b.WriteString(" ↵ ")
			size = 2
		default:
			b.WriteString(harmlessRune(r))
		}
		i += size
	}
	return b.String()
}

func harmlessRune(r rune) string {
	switch {
	case r == '\n' || r == '\r':
		return " ↵ "
	case r == '\t':
		return " "
	case unicode.In(r, unicode.Cc, unicode.Bidi_Control, unicode.Zl, unicode.Zp, unicode.Noncharacter_Code_Point), r == '\ufeff':
		return fmt.Sprintf("<U+%04X>", r)
	}
	return string(r)
}

// Columns is how many columns a terminal gives to text: two for a wide
// character, none for one that joins the last. Close to what terminals do,
// which differ among themselves.
func Columns(text string) int {
	n := 0
	for _, r := range text {
		n += runeColumns(r)
	}
	return n
}

func runeColumns(r rune) int {
	if unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// Wrap breaks text into lines of at most wide columns, each behind indent. A
// word that is longer than a line is cut. At least one line comes back.
func Wrap(text string, wide int, indent string) []string {
	const narrowest = 16 // of text, however deep the indent
	wide = max(wide-Columns(indent), narrowest)
	var lines []string
	line, used := "", 0
	for _, word := range strings.Fields(text) {
		for _, piece := range cut(word, wide) {
			n := Columns(piece)
			if used > 0 && used+1+n > wide {
				lines = append(lines, indent+line)
				line, used = "", 0
			}
			if used > 0 {
				line, used = line+" ", used+1
			}
			line, used = line+piece, used+n
		}
	}
	return append(lines, indent+line)
}

// cut cuts a word into pieces of at most wide columns.
func cut(word string, wide int) []string {
	if Columns(word) <= wide {
		return []string{word}
	}
	var pieces []string
	start, used := 0, 0
	for i, r := range word {
		n := runeColumns(r)
		if used+n > wide {
			pieces = append(pieces, word[start:i])
			start, used = i, 0
		}
		used += n
	}
	return append(pieces, word[start:])
}

// Defused puts an apostrophe before every cell that a spreadsheet would run
// as a formula. The apostrophe is added; nothing of the text is lost.
func Defused(row []string) []string {
	for i, text := range row {
		if strings.IndexAny(text, "=+-@\t\r\n＝＋－＠") == 0 {
			row[i] = "'" + text
		}
	}
	return row
}
