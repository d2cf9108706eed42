package hints

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func keptApart(a, b string) bool {
	return readSentence(a).apart(readSentence(b))
}

func TestApart(t *testing.T) {
	for _, row := range []struct {
		rule, a, b string
		want       bool
	}{
		{"an opposite", "the price is too high", "the price is too low", true},
		{"a denial", "they will pay", "they will not pay", true},
		{"a denial of the opposite is the same", "the price is not low", "the price is high", false},
		{"two denials", "nobody pays", "they do not pay", false},
		{"a denial of a denial", "they never travel without a ticket", "they travel with a ticket", false},
		{"a denial and two opposites", "the small price is not low", "the large price is high", true},
		{"a prefix", "the count is reliable", "the count is unreliable", true},
		{"a prefix and its denial", "the count is not unreliable", "the count is reliable", false},
		{"a word that only begins like a prefix", "the unit is full", "the unit is full of water", false},
		{"not only denies nothing", "not only commuters ride", "commuters ride", false},
		{"one side on both is no opposite", "the price is high", "the price is a high hurdle", false},
		{"one names both sides, the other one", "low in winter and high in summer", "low in winter", false},
		{"both sides the other way round", "cheap on Monday, expensive on Friday", "expensive on Monday, cheap on Friday", true},
		{"other figures", "they pay 2 euros", "they pay 3 euros", true},
		{"the same figure, in words", "they pay two euros", "they pay 2 euros", false},
		{"a figure against none", "they pay 2 euros", "they pay", false},
		{"a comparison the other way round", "the crew is faster than the screen", "the screen is faster than the crew", true},
		{"the same comparison", "the crew is faster than the screen", "the crew seems faster than a screen", false},
		{"the other way round, with words on both sides", "crew on deck are faster than screens on deck", "screens on deck are faster than crew on deck", true},
		{"the same, with words on both sides", "crew on deck are faster than screens on deck", "crew on deck seem faster than screens on deck", false},
		{"nothing in common", "the deck is wet", "parents cook", false},
		{"German no is not English no", "kein Platz am Anleger", "Platz am Anleger", true},
		{"Portuguese no means in the", "os ciclistas sabem se há lugar no barco", "os ciclistas sabem se há lugar em um barco", false},
		{"several Spanish denials make one", "no viene nunca nadie al muelle", "no viene gente al muelle", false},
		{"Russian, two denials make one", "Никто не бронирует место", "Все бронируют место", true},
		{"Chinese, inside a run", "乘客不预订", "乘客预订", true},
		{"Japanese: few is an opposite, not a denial", "乗客が多い", "乗客が少ない", true},
		{"Thai", "ผู้โดยสารไม่จอง", "ผู้โดยสารจอง", true},
		{"Arabic", "الركاب لن يدفعوا", "الركاب سوف يدفعوا", true},
	} {
		assert.Equal(t, row.want, keptApart(row.a, row.b), "%s: %q and %q apart", row.rule, row.a, row.b)
	}
}

// A sentence is never apart from itself, and being apart has no direction.
func TestApartHasNoDirection(t *testing.T) {
	sentence := rapid.Map(rapid.SliceOfN(rapid.SampledFrom([]string{"not", "never", "high", "low", "than", "crew",
		"screen", "2", "3", "unreliable", "reliable", "before", "after", "不", "高", "低", "no", "não", "que"}), 1, 7), func(ws []string) string { return strings.Join(ws, " ") })
	rapid.Check(t, func(t *rapid.T) {
		a, b := sentence.Draw(t, "a"), sentence.Draw(t, "b")
		require.False(t, keptApart(a, a), "%q is apart from itself", a)
		require.Equal(t, keptApart(b, a), keptApart(a, b), "%q and %q: apart one way round only", a, b)
	})
}

// The lists hold what their readers look for: single words under known names,
// and opposites that are found.
func TestWordLists(t *testing.T) {
	keys := []string{"grammar", "denials", "joining", "verbs", "subjects", "inside"}
	for i, l := range all {
		for key, list := range l.lists {
			assert.Contains(t, keys, key, "language %d has a list %q, which nothing reads", i, key)
			for w := range list {
				ws := words(w)
				assert.False(t, (key == "grammar" || key == "denials") && (len(ws) != 1 || ws[0] != fold(w)), "%q is not one word: %v", w, ws)
			}
		}
	}
	_, lists, _ := strings.Cut(wordLists, "\nlanguage ")
	for section := range strings.SplitSeq(lists, "\nlanguage ") {
		lines := 0
		name, _, _ := strings.Cut(section, "\n")
		for line := range strings.Lines(section) {
			pair, ok := strings.CutPrefix(strings.TrimSpace(line), "opposites ")
			if !ok {
				continue
			}
			lines++
			one, other, _ := strings.Cut(pair, "|")
			a, b := stance{sides: map[string]string{}}, stance{sides: map[string]string{}}
			for _, l := range all {
				a.note(words(one)[0], l)
				b.note(words(other)[0], l)
			}
			assert.True(t, apartBySides(a, b), "%s: %s are no opposites", name, pair)
		}
		assert.GreaterOrEqual(t, lines, 15, "%s has only %d lines of opposites", name, lines)
	}
	assert.Len(t, all, 8, "languages")
}

func apartBySides(a, b stance) bool {
	for pair, sides := range a.sides {
		if opposed(sides, b.sides[pair]) {
			return true
		}
	}
	return false
}
