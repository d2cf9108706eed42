package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestInline(t *testing.T) {
	for _, c := range []struct{ rule, text, want string }{
		{"marks of Markdown are escaped", "*a* _b_ `c` [d](e) | #f", "\\*a\\* \\_b\\_ \\`c\\` \\[d\\](e) \\| \\#f"},
		{"a line break stays within its cell", "a\nb\r\nc", "a<br>b<br>c"},
		{"no list, no rule, no heading begins", "- a", "\\- a"},
		{"no numbered list begins", "12. a", "12\\. a"},
		{"no HTML", "<b>&amp;", "&lt;b&gt;&amp;amp;"},
		{"nothing is added to words", "room on board", "room on board"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			assert.Equal(t, c.want, inline(c.text))
		})
	}
}
