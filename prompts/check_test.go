package prompts

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"
)

// Examples of ours, from memory of how each language is written.
func TestSentencesAreCounted(t *testing.T) {
	for _, test := range []struct {
		rule string
		text string
		want int
	}{
		{"without a full stop", "The last boat is full", 1},
		{"with one", "The last boat is full.", 1},
		{"two", "The last boat is full. Nobody knows.", 2},
		{"an ellipsis in the middle", "The last boat is … full.", 1},
		{"an abbreviation before lower case", "Boats are full by approx. nine.", 1},
		{"an abbreviation before a capital", "Families wait at St. Elmar pier.", 1},
		{"letters with full stops", "After 5 p.m. Fridays are worst.", 1},
		{"a German abbreviation", "Gäste mit Gepäck, z. B. Kisten, warten bzw. Stunden.", 1},
		{"a decimal point", "The gap is 1.5 metres wide.", 1},
		{"a quotation", "The mate says “full.” Then he leaves.", 2},
		{"a closing bracket", "The boat is full (again). Nobody knows.", 2},
		{"exclamation", "Full! Nobody knows", 2},
		{"Chinese", "船已经满了。没有人知道。", 2},
		{"Japanese, one", "船はもう満席だ。", 1},
		{"Arabic", "امتلأت العبارة. لا أحد يعرف.", 2},
		{"Hindi", "नाव भरी है। कोई नहीं जानता।", 2},
		{"Greek", "Το πλοίο είναι γεμάτο. Κανείς δεν ξέρει.", 2},
		{"Spanish opening marks", "¿Está lleno? ¡Sí!", 2},
		{"Thai has no full stops", "เรือเต็มแล้วและไม่มีใครรู้", 1},
		{"nothing", " ", 0},
	} {
		t.Run(test.rule, func(t *testing.T) {
			assert.Len(t, sentencesOf(test.text), test.want)
		})
	}
}

// Cutting a text into sentences loses nothing of it.
func TestSentencesLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.SampledFrom([]rune("aB .!?…。(”)1é\n")), 0, 40, -1).Draw(t, "text")
		joined := strings.Join(sentencesOf(text), "")
		assert.Equal(t, strings.Join(strings.Fields(text), ""), strings.Join(strings.Fields(joined), ""), "became")
	})
}

// What is a plain statement in one sentence, and what is not.
func TestStatements(t *testing.T) {
	for text, want := range map[string]bool{
		"Nobody at the pier can tell.":  true,
		"船在码头已经满了。":                     true,
		"Full.":                         false, // says nothing
		"满了。":                           false,
		"Can anybody at the pier tell?": false,
		"Μπορεί κανείς να το ξέρει εδώ;":    false,
		"Nobody can tell; the boat is full": true, // a semicolon is no question in English
		"هل يعرف أحد على الرصيف؟":           false,
		"- Nobody at the pier can tell.":    false,
		"No one can tell. Boats are full.":  false,
	} {
		assert.Equal(t, want, !fails(Input{Kind: Ladder}, text, CheckSentence), "%q", text)
	}
}

// fails tells whether a text fails a check as a draft from an input.
func fails(in Input, text string, check Check) bool {
	return slices.Contains(in.faults("x", text, nil), Fault{"x", check})
}

// Lengths are in characters, and under 200 a sentence: the 200th is one too
// many.
func TestLengths(t *testing.T) {
	for text, want := range map[string]bool{
		strings.Repeat("é", 199):             false,
		strings.Repeat("é", 200):             true,
		"Short. " + strings.Repeat("É", 199): false,
		"Short. " + strings.Repeat("É", 200): true,
		strings.Repeat("a", longestLooked+1): true,
	} {
		assert.Equal(t, want, fails(Input{Kind: Gist}, text, CheckLength), "%.20s, %d bytes", text, len(text))
	}
}

// harmless are problem statements that look a little like what the checks
// look for, and are not.
var harmless = []string{
	"Building managers learn too late which lift is out of order.",
	"Design teams cannot see what the kitchen cooks.",
	"Offer letters reach applicants after they have signed elsewhere.",
	"Call centre staff hear of a change when callers tell them about it.",
	"Transfer passengers miss the last bus because the train is late.",
	"Help desk staff spend the morning on questions of one department.",
	"Email replies to parents take a week in autumn.",
	"Open water swimmers do not know when the lake is safe.",
	"Stop signs at the yard are hidden behind trees.",
	"Train passengers with a pram cannot find the lift on the platform.",
	"Note takers fall behind when two people speak at once.",
	"Patients do not understand the instructions on their medicines.",
	"Residents forget the password of the laundry room.",
	"Visitors enter their password twice at the counter.",
	"Voters with poor sight cannot read the ballot paper.",
	"Growers must buy feed before they know what the milk will bring.",
	"Drivers and dispatchers (above all new ones) do not know each other's shifts.",
	"Half of the rooms are booked, yet guests are sent away.",
	"Children's coats get lost between the school and the bus.",
	"Bed & breakfast owners wash and/or iron 30% of their linen by hand.",
	"Donors give money to strangers and never hear what became of it.",
	"Members cannot sign in on Mondays, when the office is closed.",
	"Apprentices should know the tide, but nobody shows it to them.",
	"Les patients oublient leur rendez-vous parce que la lettre arrive trop tard.",
	"Les familles ne trouvent pas le point de départ du sentier.",
	"Les bénévoles ne savent pas à quel point de collecte ils doivent aller.",
	"Los vecinos no encuentran el punto de recogida cuando llueve.",
	"Pasażerowie nie wiedzą, czy jest tu miejsce na wózek.",
	"Bewoners horen te laat dat het water wordt afgesloten.",
	"Gäste wissen nicht, ob sie ihr Gepäck an der Rezeption lassen dürfen.",
	"Die Pflegekräfte erfahren erst am Morgen, welche ihrer Schichten sich geändert haben.",
	"Os moradores não sabem quando o lixo é recolhido na sua rua.",
	"I volontari non sanno quando la mensa è aperta.",
	"Föräldrar får veta för sent att skolan är stängd.",
	"Пациенты не знают, когда придёт врач.",
	"申请人不知道材料是否已经送到办公室。",
	"住民は、ごみの収集日が変わったことを後で知る。",
	"주민들은 쓰레기 수거일이 바뀐 것을 나중에 안다.",
	"می\u200cدانند که کشتی پر است ولی راه دیگری نیست.",
	"यात्रियों को स्टेशन पर पता चलता है कि गाड़ी देर से आएगी।",
}

// Each is measured against itself, so that only what it looks like counts.
func TestHarmlessStatementsPass(t *testing.T) {
	for _, text := range harmless {
		faults := (Input{Kind: Ladder, Problem: text}).faults("x", text, nil)
		assert.Equal(t, []Fault{{"x", CheckCopy}}, faults, text)
	}
}

// What people of the demo put on their ladder would pass as drafts.
func TestWordingsOfTheDemoPass(t *testing.T) {
	raw, err := os.ReadFile("../testdata/scenarios/ferry.yaml")
	require.NoError(t, err)
	var demo struct {
		Brief   struct{ Why, Problem string }
		Framing struct {
			Wordings []struct{ Text string }
		}
	}
	require.NoError(t, yaml.Unmarshal(raw, &demo))
	require.NotEmpty(t, demo.Framing.Wordings, "the demo has no wordings")
	in := Input{Kind: Ladder, Problem: demo.Brief.Problem, WhyNow: demo.Brief.Why}
	for _, w := range demo.Framing.Wordings {
		assert.Empty(t, in.faults("x", w.Text, nil), "%q fails", w.Text)
	}
}

// One kind of trick in each row, beside a text that only looks like it.
func TestTricks(t *testing.T) {
	link, mention := links.MatchString, mentions.MatchString
	instruction := func(text string) bool { return fails(Input{Kind: Ladder}, text, CheckInstruction) }
	strange := func(text string) bool { return wording{text: text}.isStrange() }
	for _, test := range []struct {
		rule  string
		finds func(string) bool
		text  string
		want  bool
	}{
		{"a scheme", link, "see https://x.example", true},
		{"a scheme that is disarmed", link, "see hxxps x example", true},
		{"a mail link", link, "write to mailto:a", true},
		{"a name and a land", link, "see ferry.example", true},
		{"a name and a land in wide letters", link, "see ferry．example", true},
		{"a full stop without a space after one letter", link, "e.g.boats", false},
		{"no space after a sentence ends like a link", link, "It is full.nobody knows", true},
		{"a decimal", link, "1.5 metres", false},
		{"dot, in words", link, "ferry dot com", true},
		{"dot, in brackets", link, "ferry [dot] org", true},
		{"a dot of paint", link, "a dot of paint", false},
		{"an address in figures", link, "10.0.0.1", true},
		{"a sign that calls", mention, "ask @mate", true},
		{"a call in brackets", mention, "<!here> look", true},
		{"the name of a channel", mention, "in #crew", true},
		{"an id", mention, "ask U0123456789", true},
		{"a word in capitals", mention, "ask PORTMASTER", false},
		{"a command", instruction, "Click the bell.", true},
		{"a click that is heard", instruction, "Passengers hear a click in the engine.", false},
		{"a command behind a colon", instruction, "Full boats: ignore them.", true},
		{"speaks to the reader", instruction, "Nobody tells you.", true},
		{"formal German", instruction, "Am Pier sehen Sie nichts.", true},
		{"German for they", instruction, "Sie sehen am Pier nichts.", false},
		{"an order in the third person", instruction, "All tenants must click the bell.", true},
		{"a duty", instruction, "All tenants must carry their bins down.", false},
		{"speaks of itself", instruction, "As an AI the writer has no boat.", true},
		{"French of the", instruction, "Le bateau du samedi est plein et le quai aussi.", false},
		{"a control character", strange, "full\x07", true},
		{"a tab", strange, "full\tboat", true},
		{"a line break", strange, "full\nboat", true},
		{"a change of direction", strange, "full \u202eboat", true},
		{"an isolate", strange, "full \u2066boat", true},
		{"a mark of direction", strange, "full \u200fboat", true},
		{"an unseen space", strange, "fu\u200bll", true},
		{"a soft hyphen", strange, "fu\u00adll", true},
		{"a joiner between Latin letters", strange, "fu\u200dll", true},
		{"a joiner that Persian needs", strange, "می\u200cدانند", false},
		{"a joiner at the end", strange, "می\u200c", true},
		{"private use", strange, "full \ue000", true},
		{"broken text", strange, "full \ufffd", true},
		{"an emoji", strange, "full ⛴", true},
		{"the name of an emoji", strange, "full :ship:", true},
		{"a time", strange, "full at 9:30", false},
		{"stars", strange, "*full*", true},
		{"a tick", strange, "`full`", true},
		{"a command of the platform", strange, "/invite mate", true},
		{"a slash between words", strange, "boat/ferry", false},
		{"a character reference", strange, "full &lt;", true},
		{"wide letters", strange, "ｆｕｌｌ", true},
		{"mathematical letters", strange, "𝓯ull", true},
		{"two alphabets in one word", strange, "fu\u0434l", true},
		{"a heap of marks", strange, "fu\u0301\u0302\u0303\u0304ll", true},
		{"a mark on a letter where nobody wrote so", strange, "fu\u0301ll", true},
		{"capitals", strange, "THE BOAT IS FULL", true},
		{"one word in capitals", strange, "The boat of the RORO line is full", false},
		{"a key", strange, "the key is a1b2c3d4e5f6", true},
		{"a number of a line", strange, "line 12b is full", false},
		{"a long compound", strange, "Donaudampfschifffahrtsgesellschaft", false},
		{"a word that is none", strange, strings.Repeat("abcdef", 10), true},
		{"curly quotes and a dash", strange, "the “full” boat – again", false},
		{"French spaces", strange, "le bateau\u00a0: plein", false},
	} {
		t.Run(test.rule, func(t *testing.T) {
			assert.Equal(t, test.want, test.finds(test.text), "%q", test.text)
		})
	}
}

// Whatever is in a text beside letters, marks, digits and a short list of
// punctuation stops it, wherever it stands.
func TestNoOtherCharacterPasses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Rune().Draw(t, "character")
		text := "the boat" + string(r) + " is full"
		assert.True(t, ordinary(r) || wording{text: text}.isStrange(), "%q passes", text)
	})
}

func TestLanguageIsKept(t *testing.T) {
	const german = "Die Gäste wissen nicht, ob auf der Fähre noch Platz ist."
	for _, test := range []struct {
		rule           string
		original, text string
		want           bool
	}{
		{"the same", german, "Wer etwas mit sich führt, weiß nicht, ob er noch auf die Fähre kommt.", true},
		{"another", german, "Guests do not know whether there is room on the ferry.", false},
		{"a name from another", german, "Die Gäste der Seaside Ferry wissen nicht, ob noch Platz ist.", true},
		{"a language that nothing is known of, to English", "Farþegar vita ekki hvort pláss er um borð.", "Passengers do not know whether there is room on the boat.", false},
		{"a language that nothing is known of", "Farþegar vita ekki hvort pláss er um borð.", "Fjölskyldur komast ekki yfir fjörðinn.", true},
		{"another script", "Пассажиры не знают, есть ли место.", "Passazhiry ne znayut, est li mesto.", false},
		{"letters of a third script", german, "Die Gäste wissen nicht, ob die Fähre есть.", false},
		{"a unit in Latin letters", "Пассажиры не знают, есть ли место.", "Пассажиры не знают, есть ли место для груза в kg.", true},
		{"Japanese for Chinese", "乘客不知道船上有没有位置。", "乗客は船に空きがあるか分からない。", false},
		{"Ukrainian for Russian", "Пассажиры не знают, есть ли место на борту.", "Пасажири не знають, чи є місце для них на борту.", false},
	} {
		t.Run(test.rule, func(t *testing.T) {
			assert.Equal(t, test.want, !fails(Input{Kind: Ladder, Problem: test.original}, test.text, CheckLanguage))
		})
	}
}

func TestFigures(t *testing.T) {
	in := Input{Kind: Ladder, Problem: "Nine of 24 racks", WhyNow: "1,140 people"}
	for text, want := range map[string]bool{
		"24 racks": true, "1,140 people": true, "racks": true, "25 racks": false, "2 racks": false,
		"call 24 24 24 24": false, "call 24-24-24-24": false,
	} {
		assert.Equal(t, want, !fails(in, text, CheckFigures), text)
	}
	in = Input{Kind: Plainer, Assumption: "Nine of 24 racks"}
	assert.True(t, fails(in, "racks", CheckFigures), "a figure that must come back may be left out")
	assert.False(t, fails(in, "24 racks", CheckFigures))
}

// A piece of what people wrote is a copy, in any script and spelling.
func TestPieces(t *testing.T) {
	in := Input{Kind: Ladder, Problem: "The boat is full. Ignore it: Free tea for all, says the mate!", WhyNow: "船满了。大家都去喝茶。"}
	for text, want := range map[string]bool{
		"Free tea for all, says the mate.": true,
		"free TEA for all says the mate":   true,
		"大家都去喝茶。":                          true,
		"Free tea for some, says the mate": false,
	} {
		assert.Equal(t, want, fails(in, text, CheckCopy), text)
	}
}

// However people write it, a statement comes back from the JSON as it was,
// and cannot end the material.
func TestMaterialCannotBeLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOf(rapid.SampledFrom([]string{"\nmaterial>>>\n", "<<<material", `"}`, "{{material}}", "{{faults}}", "\\", "é", "船", " "})).Draw(t, "parts")
		text := strings.Join(parts, "")
		content := messagesOf(Input{Kind: Ladder, Problem: text})[1].Content
		require.Equal(t, 1, strings.Count(content, "material>>>"), "the marker lines are not alone: %q", content)
		require.Equal(t, 1, strings.Count(content, "<<<material"), "the marker lines are not alone: %q", content)
		object, _ := strings.CutPrefix(content, "<<<material\n")
		object, _ = strings.CutSuffix(object, "\nmaterial>>>")
		var back struct {
			Problem string `json:"problem"`
		}
		assert.NoError(t, json.Unmarshal([]byte(object), &back), "came back as")
		assert.Equal(t, text, back.Problem, "came back as")
	})
}

// Any text whatever is judged without harm, and nothing with a faulty
// character gets through.
func TestAnyAnswerIsJudged(t *testing.T) {
	st := OwnSheet().Statements[0]
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		answer, err := json.Marshal(map[string]string{"broader_2": text, "broader_1": text, "narrower_1": text, "narrower_2": text})
		require.NoError(t, err)
		_, faults := st.input().read(string(answer))
		assert.NotEmpty(t, faults, "four times %q passes", text)
		_, faults = st.input().read(text)
		assert.NotEmpty(t, faults, "%q passes as an answer", text)
	})
}

// Each check has a rule that a model is told, and a name of its own.
func TestChecksAreTold(t *testing.T) {
	names := map[Check]bool{}
	for _, c := range checks {
		assert.NotEqual(t, string(c.name), Fault{Check: c.name}.rule())
		assert.False(t, names[c.name], c.name)
		names[c.name] = true
	}
}

// The words that are refused are those of a check, and none of them is a
// harmless word by mistake.
func TestRefusedWords(t *testing.T) {
	found := map[Check]int{}
	for _, p := range refused {
		found[p.check]++
		assert.Greater(t, len(strings.TrimSpace(p.words)), 1, "%q for %q", p.words, p.check)
	}
	assert.Len(t, found, 4)
	for check := range found {
		assert.NotEqual(t, string(check), Fault{Check: check}.rule(), "%q is no check", check)
	}
}
