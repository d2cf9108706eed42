package engine

import (
	"cmp"
	"strings"
)

// CompareIDs orders ids as people count: A2 before A10. Runs of the digits 0
// to 9 compare by their value, however long they are; everything else compares
// byte by byte. Ids that differ only in leading zeros, such as A2 and A02,
// compare as plain text, so that the result is 0 for equal strings alone.
func CompareIDs(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		if isDigit(x[0]) && isDigit(y[0]) {
			var m, n string
			m, x = number(x)
			n, y = number(y)
			if c := cmp.Or(cmp.Compare(len(m), len(n)), cmp.Compare(m, n)); c != 0 {
				return c
			}
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// number cuts the digits at the front of s off, and their leading zeros away.
func number(s string) (digits, rest string) {
	end := 0
	for end < len(s) && isDigit(s[end]) {
		end++
	}
	return strings.TrimLeft(s[:end], "0"), s[end:]
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }
