package prompts

import (
	"regexp"
	"strings"
)

// mentions are the signs that call people and channels, names that platforms
// give them, and words for the signs.
var mentions = regexp.MustCompile(`[@＠﹫#＃﹟]|<!|\b[UWCGDTB][0-9A-Z]{8,}\b|(?i:\bat[ -](?:channel|here|everyone)\b)|(?i:!(?:channel|here|everyone)\b)`)

func isMention(text string) bool { return mentions.MatchString(text) }

// links are what is a link, and what a reader or a platform may take for one.
var links = []*regexp.Regexp{
	regexp.MustCompile(`(?i)[a-z][a-z0-9+.-]*:/|//|\bwww\b|\bh(?:tt|xx)ps?\b|\bmailto\b|\btel:|\bftp\b`),
	regexp.MustCompile(`[\p{L}\p{Nd}-]{2,}[.．｡]\p{L}{2,}`), // name.land
	regexp.MustCompile(`[a-zA-Z0-9]{2,}。[a-zA-Z]{2,}`),
	regexp.MustCompile(`\p{Nd}{1,3}(?:\.\p{Nd}{1,3}){3}`), // an address in figures
	regexp.MustCompile(`(?i)[\p{L}\p{Nd}] ?[(\[{]? ?(?:dot|punkt|point|punto|ponto|punt|kropka|nokta|точка|крапка|نقطة|נקודה|डॉट|点|點|ドット|닷|점)` +
		` ?[)\]}]? ?(?:com|org|net|info|biz|xyz|[сc]ом|орг|कॉम|كوم|קום|コム|컴)(?:[^\p{L}]|$)`), // name dot land
	regexp.MustCompile(`(?i)[\p{L}\p{Nd}] ?[(\[{]? ?\bdot\b ?[)\]}]? ?(?:io|co|app|dev|ai|me|de|fr|es|it|nl|pl|uk|us|eu|ru|ua|ch|example)\b`),
	regexp.MustCompile(`(?i)[\p{L}\p{Nd}]+ ?[(\[{] ?(?:at|ät|arroba) ?[)\]}] ?[\p{L}\p{Nd}]+`), // a mail address, spelt out
	regexp.MustCompile(`(?i)\p{L} slash \p{L}`),
}

func isLink(text string) bool {
	for _, l := range links {
		if l.MatchString(text) {
			return true
		}
	}
	return strings.Contains(text, "](")
}
