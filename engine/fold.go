package engine

import (
	"strings"
	"unicode"
)

// fold brings a sentence to one spelling: lower case, letters without their
// marks in scripts where marks are spelling or stress (Latin, Greek, Cyrillic,
// Hebrew, Arabic), full-width forms narrow, digits of all scripts as 0-9, and
// one kind of apostrophe. Marks of other scripts are vowels, and stay.
func fold(s string) []rune {
	out := make([]rune, 0, len(s))
	for _, r := range s {
		switch r = narrow(unicode.ToLower(r)); {
		case r == 'ß':
			out = append(out, 's', 's')
		case r == 'æ':
			out = append(out, 'a', 'e')
		case r == 'œ':
			out = append(out, 'o', 'e')
		case droppedMark(r):
		default:
			out = append(out, bare(r))
		}
	}
	return out
}

// narrow turns full-width forms into ASCII, and digits of other scripts and
// curly apostrophes into plain ones.
func narrow(r rune) rune {
	switch {
	case r >= '！' && r <= '～':
		return narrow(unicode.ToLower(r - '！' + '!')) // full-width accents are apostrophes too
	case r == '’' || r == 'ʼ' || r == '‘' || r == '`' || r == '´':
		return '\''
	case r > unicode.MaxASCII && unicode.IsDigit(r):
		return digitOf(r)
	}
	return r
}

// digitOf turns a decimal digit into 0-9. Unicode keeps the ten digits of a
// script together, and the zeros of the scripts in use end in 0 or 6.
func digitOf(r rune) rune {
	for _, low := range []rune{0, 6} {
		if d := r&0xf - low; d >= 0 && d <= 9 && unicode.IsDigit(r-d) && !unicode.IsDigit(r-d-1) {
			return '0' + d
		}
	}
	return r
}

// droppedMark tells the combining marks and joiners that fold leaves out.
func droppedMark(r rune) bool {
	switch {
	case r >= 0x0300 && r <= 0x036f, // Latin, Greek, Cyrillic
		r >= 0x0591 && r <= 0x05c7 && unicode.Is(unicode.Mn, r), // Hebrew points
		r >= 0x064b && r <= 0x065f, r == 0x0670, r == 0x0640,    // Arabic vowels, tatweel
		r >= 0x200b && r <= 0x200f, r == 0x00ad, r == 0xfeff: // joiners, soft hyphen
		return true
	}
	return false
}

// bareLetters lists letters with marks behind the letter that is left without
// them. The standard library has no table for this; letters that are not
// listed keep their marks and are still compared as they are.
const bareLetters = `
aàáâãäåāăąǎảạấầẩẫậắằẳẵặ
cçćĉċč
dďđḍ
eèéêëēĕėęěẻẽẹếềểễệ
gĝğġģ
hĥħḥ
iìíîïĩīĭįıỉị
jĵ
kķ
lĺļľłḷ
nñńņňṇ
oòóôõöøōŏőơǒỏọốồổỗộớờởỡợ
rŕŗřṛ
sśŝşšșṣ
tţťŧțṭ
uùúûüũūŭůűųưǔủụứừửữự
wŵẁẃẅ
yýÿŷỳỷỹỵ
zźżžẓ
αά
εέ
ηή
ιίϊΐ
οό
υύϋΰ
ωώ
σς
ий
её
اأإآٱ
يى
هة
`

var bareOf = readBareLetters()

func readBareLetters() map[rune]rune {
	out := map[rune]rune{}
	for line := range strings.FieldsSeq(bareLetters) {
		letters := []rune(line)
		for _, marked := range letters[1:] {
			out[marked] = letters[0]
		}
	}
	return out
}

// bare strips the marks of a letter.
func bare(r rune) rune {
	if r <= unicode.MaxASCII {
		return r
	}
	if b, ok := bareOf[r]; ok {
		return b
	}
	return r
}
