package imports

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"soundings/flows"
)

// FuzzBrief reads whatever may be pasted as a brief: it is read, or refused in
// words for the person who pasted it.
func FuzzBrief(f *testing.F) {
	for _, seed := range []string{"", "# Bicycles\n\n## Why now\nThe season begins.\n\n## Problem\nNobody knows.\n\n## Links\n- https://example.org\n",
		"Problem: x\r\nWhy: y", "#", "# \n## \n### \x00", strings.Repeat("#", 400), strings.Repeat("- ", 4000), "[a](javascript:x)\n<https://example.org|x>", "\xff\xfe", "```\n# no heading"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		b, err := Brief(text)
		if err != nil {
			require.True(t, errors.As(err, new(*flows.Refusal)), "%q: %v", text, err)
			return
		}
		for _, part := range []string{b.Why, b.Outcome, b.OutOfBounds, b.Problem} {
			require.LessOrEqual(t, len(part), len(text)+2, "%q became longer", text)
		}
	})
}

// FuzzAssumptions reads whatever may be pasted as a list.
func FuzzAssumptions(f *testing.F) {
	for _, seed := range []string{"", "text,because\nA belief,a hunch\n", "id;text\nA1;\"quoted; \"\"twice\"\"\"\n", "\"", "a\tb\n\"c", "\ufefftext\r\n=1+1\r\n",
		strings.Repeat(",", 5000), strings.Repeat("\n", 5000), "text\n" + strings.Repeat("x", 4000), "\xff,\xfe"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		all, err := Assumptions(text)
		if err != nil {
			require.True(t, errors.As(err, new(*flows.Refusal)), "%q: %v", text, err)
			return
		}
		for _, a := range all {
			require.NotEmpty(t, strings.TrimSpace(a.Text), "%q gives an assumption without words", text)
		}
	})
}
