package hints

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestFold(t *testing.T) {
	for _, row := range []struct{ rule, in, want string }{
		{"case", "Pier PIER", "pier pier"},
		{"marks, composed", "Fähre à l’été", "fahre a l'ete"},
		{"marks, as separate characters", "Fa\u0308hre e\u0301te\u0301", "fahre ete"},
		{"two letters in one", "Straße œuvre æon", "strasse oeuvre aeon"},
		{"Turkish capital", "İskele", "iskele"},
		{"Vietnamese", "Phà đông", "pha dong"},
		{"Greek stress and final sigma", "Ποδηλάτες", "ποδηλατεσ"},
		{"Cyrillic", "Ещё дешёвый", "еще дешевыи"},
		{"Arabic hamza and vowels", "أَكْثَر", "اكثر"},
		{"Hebrew points", "שָׁלוֹם", "שלום"},
		{"vowel signs of Devanagari stay", "यात्री", "यात्री"},
		{"full width", "ＡＢＣ１２！", "abc12!"},
		{"digits of other scripts", "٤٢ ४२ ๔๒ ۴۲", "42 42 42 42"},
		{"apostrophes", "don’t don‘t don´t", "don't don't don't"},
		{"a full-width accent", "don｀t", "don't"},
		{"invisible characters", "pi\u200ber\u00ad", "pier"},
	} {
		assert.Equal(t, row.want, fold(row.in), "%s: fold(%q)", row.rule, row.in)
	}
}

func TestFoldingTwiceChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		once := fold(rapid.String().Draw(t, "text"))
		require.Equal(t, once, fold(once), "%q, folded again", once)
	})
}

func TestWords(t *testing.T) {
	for _, row := range []struct{ rule, in, want string }{
		{"spaces and signs part words", "room, at the pier (today)", "room|at|the|pier|today"},
		{"contractions are taken apart", "We don't, can't, won't and isn't", "we|do|not|can|not|will|not|and|is|not"},
		{"without the apostrophe", "dont cant wont", "do|not|can|not|will|not"},
		{"elision", "l'équipage s'il n'a", "l|equipage|s|il|n|a"},
		{"quotes are no apostrophes", "'full' is full'", "full|is|full"},
		{"thousands and decimals", "1,000 1.000 2,5 2.50 3.", "1000|1000|2.5|2.50|3"},
		{"figures part from letters", "5pm A2", "5|pm|a|2"},
		{"number words", "twenty bicycles", "20|bicycles"},
		{"scripts without spaces run on", "自転車の乗客 bus", "自転車の乗客|bus"},
		{"long vowels belong to a run", "フェリー", "フェリー"},
		{"Korean is spaced", "자전거 승객은", "자전거|승객은"},
		{"nothing", " – ’ … ", ""},
	} {
		assert.Equal(t, row.want, strings.Join(words(row.in), "|"), "%s: words(%q)", row.rule, row.in)
	}
}

func stemOf(text string) string {
	ws := words(text)
	return languagesOf(ws).stem(ws[0])
}

func TestStem(t *testing.T) {
	for _, group := range []string{
		"bicycle bicycles", "book books booked booking", "ferry ferries", "ride rides riding",
		"reserve reserved reservation reserving", "plan planned planning",
		"passenger passengers", "operate operator operation", "box boxes", "miss misses missed",
		"велосипедист велосипедисты велосипедиста", "الركاب ركاب",
	} {
		first := ""
		for w := range strings.FieldsSeq(group) {
			got := stemOf(w)
			if first == "" {
				first = got
			}
			assert.Equal(t, first, got, "stem(%q) = %q, want %q as for %q", w, got, first, group)
		}
	}
	for _, pair := range []string{"passenger passage", "price prize", "crew crowd", "ramp ram"} {
		a, b, _ := strings.Cut(pair, " ")
		assert.NotEqual(t, stemOf(b), stemOf(a), "%q and %q share the stem", a, b)
	}
}

// No text makes the reading of a sentence fail, and no word is empty.
func TestAnyTextCanBeRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		for _, w := range words(text) {
			require.NotEqual(t, "", w, "an empty word in %q", text)
			require.NotEqual(t, "", stemOf(w), "an empty word in %q", text)
		}
		readSentence(text)
	})
}
