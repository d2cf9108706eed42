package prompts

import "unicode"

// A script, told by its letters.
type script struct {
	name   string
	tables []*unicode.RangeTable
}

// kana before Han: Japanese has both, and Chinese has no kana.
var scripts = []script{
	{"Latin", []*unicode.RangeTable{unicode.Latin}},
	{"Cyrillic", []*unicode.RangeTable{unicode.Cyrillic}},
	{"Greek", []*unicode.RangeTable{unicode.Greek}},
	{"Arabic", []*unicode.RangeTable{unicode.Arabic}},
	{"Hebrew", []*unicode.RangeTable{unicode.Hebrew}},
	{"Devanagari", []*unicode.RangeTable{unicode.Devanagari}},
	{"kana", []*unicode.RangeTable{unicode.Hiragana, unicode.Katakana}},
	{"Han", []*unicode.RangeTable{unicode.Han}},
	{"Hangul", []*unicode.RangeTable{unicode.Hangul}},
	{"Thai", []*unicode.RangeTable{unicode.Thai}},
	{"Bengali", []*unicode.RangeTable{unicode.Bengali}},
	{"Tamil", []*unicode.RangeTable{unicode.Tamil}},
	{"Telugu", []*unicode.RangeTable{unicode.Telugu}},
	{"Georgian", []*unicode.RangeTable{unicode.Georgian}},
	{"Armenian", []*unicode.RangeTable{unicode.Armenian}},
	{"Ethiopic", []*unicode.RangeTable{unicode.Ethiopic}},
}

const otherScript = "another"

func scriptOf(r rune) string {
	for _, s := range scripts {
		if unicode.In(r, s.tables...) {
			return s.name
		}
	}
	return otherScript
}

// sameScript tells whether a text is written as the original is: mostly in
// the same script, with letters of no third one. A few Latin letters are
// taken anywhere, since names and units are written so.
func sameScript(original, text string) bool {
	wanted, got := lettersByScript(original), lettersByScript(text)
	for name := range got {
		if wanted[name] == 0 && name != "Latin" {
			return false
		}
	}
	return mainScript(wanted) == mainScript(got)
}

func lettersByScript(text string) map[string]int {
	counts := map[string]int{}
	for _, r := range text {
		if unicode.IsLetter(r) {
			counts[scriptOf(r)]++
		}
	}
	return counts
}

// mainScript is the script of most letters; kana and Han are one here, and
// are called Japanese when there is a good part of kana.
func mainScript(counts map[string]int) string {
	kana, han := counts["kana"], counts["Han"]
	best, most := "", 0
	for _, s := range scripts {
		if n := counts[s.name]; n > most && s.name != "kana" && s.name != "Han" {
			best, most = s.name, n
		}
	}
	if n := counts[otherScript]; n > most {
		best, most = otherScript, n
	}
	switch {
	case kana+han <= most:
		return best
	case 5*kana >= kana+han:
		return "Japanese"
	}
	return "Chinese"
}
