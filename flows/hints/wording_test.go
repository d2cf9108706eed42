package hints_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/flows/hints"
)

// The sentences below are ours: there is no outside list of badly worded
// beliefs to test against.

// hintNames tells which hints were given, by what each one begins with.
func hintNames(text string) string {
	var names []string
	for _, h := range hints.Wording(text) {
		for begin, name := range map[string]string{
			"This reads like a question":  "question",
			"This reads like something":   "feature",
			"This says what should be":    "norm",
			"There may be two":            "two",
			"This is long for one belief": "long",
		} {
			if strings.HasPrefix(h, begin) {
				names = append(names, name)
			}
		}
	}
	return strings.Join(names, " ")
}

func TestHints(t *testing.T) {
	for _, c := range []struct{ rule, text, want string }{
		{"a belief needs no hint", "Passengers look at their phone before they set out for the pier.", ""},
		{"nothing at all", "", ""},

		{"a question", "Do passengers look at their phone before they leave?", "question"},
		{"a question in quotes", "“Is there room for my bicycle?”", "question"},
		{"a question that wonders", "Is there room?!", "question"},
		{"wide question mark", "乗客は出発前に電話を見ますか？", "question"},
		{"Arabic question mark", "هل ينظر الركاب إلى هواتفهم؟", "question"},
		{"Greek question mark", "Κοιτάζουν το τηλέφωνό τους\u037E", "question"},
		{"Greek question typed with a semicolon", "Κοιτάζουν το τηλέφωνό τους;", "question"},
		{"Armenian question mark stands in its word", "Ուղևորները նայո՞ւմ են", "question"},
		{"Ethiopic question mark", "ቦታ አለ፧", "question"},
		{"a question mark inside is none at the end", "The sign “Full?” at the pier helps nobody.", ""},

		{"a feature: we should build", "We should build a counter for the bicycle deck.", "feature"},
		{"a feature: we need to also add", "We need to also add a counter.", "feature"},
		{"a feature: the app will have a button", "The app will have a button for bicycles.", "feature"},
		{"a feature, in German", "Wir sollten einen Zähler für das Deck bauen.", "feature"},
		{"a feature, in French", "Il faut ajouter un compteur.", "feature"},
		{"a feature, in Spanish", "Deberíamos añadir un contador.", "feature"},
		{"what people build themselves is no feature of ours", "Passengers build a habit of looking first.", ""},
		{"what others will build is a belief", "The other operators say they will add a bicycle deck.", ""},
		{"what an app is able to do is a belief", "The app will have enough users by May.", ""},

		{"two clauses, two subjects", "The crew can count bicycles and the pier has a signal.", "two"},
		{"two clauses, a pronoun begins the second", "Passengers look at their phone and they take the later ferry.", "two"},
		{"but joins as well", "Passengers know the timetable but they do not know the room.", "two"},
		{"two clauses, in German", "Die Mannschaft kann Räder zählen und der Anleger hat ein Signal.", "two"},
		{"two clauses, in French", "Les passagers ont un téléphone et le quai est couvert.", "two"},
		{"two clauses, in Spanish", "Los pasajeros tienen teléfono y el muelle está cubierto.", "two"},
		{"two clauses, in Portuguese", "Os passageiros têm telefone e o cais está coberto.", "two"},
		{"two clauses, in Italian", "I passeggeri hanno un telefono e il molo è coperto.", "two"},
		{"two clauses, in Dutch", "De passagiers hebben een telefoon en de pier is overdekt.", "two"},
		{"two sentences", "Passengers own a phone. They look at it before they leave.", "two"},
		{"a semicolon parts two statements", "Passengers own a phone; most of them look at it.", "two"},

		{"two things are one belief", "Fast and cheap ferries are what passengers want.", ""},
		{"two doers are one belief", "Parents and children will share one ticket.", ""},
		{"two doings of one doer are let be", "Passengers look at their phone and take the later ferry.", ""},
		{"a condition is part of its belief", "Passengers would wait if they knew the ferry is full and the next one is not.", ""},
		{"a who-clause is part of its belief", "People who have a car and are older will not change their habits.", ""},
		{"between one and the other", "There is room between the cars and there are hooks on the wall of the deck.", ""},
		{"an abbreviation ends no sentence", "Regulars, e.g. Monday commuters, know the timetable.", ""},
		{"a number ends no sentence", "At least 2.5 percent of passengers bring a bicycle.", ""},

		{"too long", strings.Repeat("very ", 40) + "long", "long"},
		{"exactly 200 characters fit", strings.Repeat("é", 200), ""},
		{"201 characters are too long, however many bytes", strings.Repeat("é", 201), "long"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			assert.Equal(t, c.want, hintNames(c.text), "Wording(%q) hint at", c.text)
		})
	}
}

// A hint is one sentence that fits under a text on a phone.
func TestHintsAreShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text") + rapid.SampledFrom([]string{"", "?", strings.Repeat("x", 300),
			" we should build it and they will come"}).Draw(t, "end")
		for _, h := range hints.Wording(text) {
			n := len([]rune(h))
			require.LessOrEqual(t, n, 120, "hint %q has %d characters, or is not one sentence", h, n)
			require.True(t, strings.HasSuffix(h, "."), "hint %q has %d characters, or is not one sentence", h, n)
			require.LessOrEqual(t, strings.Count(h, ". "), 0, "hint %q has %d characters, or is not one sentence", h, n)
		}
	})
}
