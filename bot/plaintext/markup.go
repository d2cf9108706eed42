package plaintext

import (
	"regexp"
	"strings"
)

// momentFormat is a moment as plain text says it.
const momentFormat = "Mon 2 Jan 15:04 UTC"

// marked is what the platform parses in text: <!date^…|fallback>,
// <https://…|label>, <@U1>, <!here>.
var marked = regexp.MustCompile(`<([^<>|\s][^<>|]*)(?:\|([^<>]*))?>`)

// unlink draws parsed text as it would be read: a date by its fallback, a
// link by its label and address, a mention by its id; and undoes the escapes.
func unlink(text string) string {
	text = marked.ReplaceAllStringFunc(text, func(m string) string {
		parts := marked.FindStringSubmatch(m)
		target, label := parts[1], parts[2]
		switch {
		case strings.HasPrefix(target, "!date^"):
			return label
		case label != "" && label != target && strings.Contains(target, "://"):
			return label + " (" + target + ")"
		case label != "":
			return label
		}
		return strings.TrimPrefix(target, "!")
	})
	return Unescape(text)
}

// Unescape undoes the platform's escaping in text read back from it.
func Unescape(text string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(text)
}
