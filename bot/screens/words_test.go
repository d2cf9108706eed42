package screens

import "testing"

// TestContained covers Unicode Standard Annex 9: an isolate ends at its own
// end, so ends and beginnings within the text must balance.
func TestContained(t *testing.T) {
	for _, c := range []struct{ rule, text, want string }{
		{"plain text stays as it is", "a ferry", "a ferry"},
		{"Hebrew and Arabic need no help", "עברית العربية", "עברית العربية"},
		{"an override ends with the isolate", "\u202Ea", "\u2068\u202Ea\u2069"},
		{"an isolate left open is closed", "\u2067a", "\u2068\u2067a\u2069\u2069"},
		{"an end too many is given a beginning", "a\u2069b", "\u2068\u2068a\u2069b\u2069"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			if got := contained(c.text); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

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
			if got := inline(c.text); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}
