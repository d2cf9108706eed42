package hints

import (
	_ "embed" // the lists of words
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/blevesearch/snowballstem"
	"github.com/blevesearch/snowballstem/arabic"
	"github.com/blevesearch/snowballstem/dutch"
	"github.com/blevesearch/snowballstem/english"
	"github.com/blevesearch/snowballstem/french"
	"github.com/blevesearch/snowballstem/german"
	"github.com/blevesearch/snowballstem/italian"
	"github.com/blevesearch/snowballstem/portuguese"
	"github.com/blevesearch/snowballstem/russian"
	"github.com/blevesearch/snowballstem/spanish"
)

//go:embed languages.txt
var wordLists string

// A language is the few words of it that hints need; languages.txt says what
// each list is for.
type language struct {
	stemmer func(*snowballstem.Env) bool
	concord bool
	lists   map[string]map[string]bool
	poles   map[string][]pole // by stem
}

// A pole is one side of a pair of opposites.
type pole struct {
	pair string // the line of the list, and its language
	side string // "a" or "b"
}

// languages are those that a sentence may be in, the likeliest first.
type languages []*language

var stemmers = map[string]func(*snowballstem.Env) bool{
	"english": english.Stem, "german": german.Stem, "french": french.Stem, "spanish": spanish.Stem,
	"portuguese": portuguese.Stem, "italian": italian.Stem, "dutch": dutch.Stem, "others": english.Stem,
}

var (
	all    = readLanguages(wordLists)
	spoken = all[:len(all)-1]
	others = all[len(all)-1]
)

// marksInside finds words of others inside a run of letters, the longest first.
var marksInside = func() *regexp.Regexp {
	_, list, _ := strings.Cut(wordLists, "language others")
	inside := regexp.MustCompile(strings.Join(run.FindAllString(fold(list), -1), "|"))
	inside.Longest()
	return inside
}()

func readLanguages(text string) languages {
	var read languages
	var l *language
	for line := range strings.Lines(text) {
		key, list, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch key {
		case "", "#":
		case "language":
			l = &language{stemmer: stemmers[list], lists: map[string]map[string]bool{}, poles: map[string][]pole{}}
			read = append(read, l)
		case "concord":
			l.concord = true
		case "opposites":
			one, other, _ := strings.Cut(list, "|")
			pair := list + string(rune('0'+len(read)))
			l.addPoles(one, pole{pair, "a"})
			l.addPoles(other, pole{pair, "b"})
		default:
			l.addWords(key, list)
		}
	}
	return read
}

func (l *language) addPoles(list string, p pole) {
	for w := range strings.FieldsSeq(list) {
		if stem := l.stem(fold(w)); !slices.Contains(l.poles[stem], p) {
			l.poles[stem] = append(l.poles[stem], p)
		}
	}
}

// addWords keeps the words of clauses as they are written: "e" and "é" differ.
func (l *language) addWords(key, list string) {
	if l.lists[key] == nil {
		l.lists[key] = map[string]bool{}
	}
	for w := range strings.FieldsSeq(list) {
		l.lists[key][w] = true
		if key == "grammar" || key == "denials" {
			l.lists[key][fold(w)] = true
		}
	}
}

func (l *language) has(list, w string) bool { return l.lists[list][w] }

// stem takes the inflection off a word, by its script or else by the language.
func (l *language) stem(w string) string {
	s := l.stemmer
	switch first, _ := utf8.DecodeRuneInString(w); {
	case unicode.Is(unicode.Cyrillic, first):
		s = russian.Stem
	case unicode.Is(unicode.Arabic, first):
		s = arabic.Stem
	}
	env := snowballstem.NewEnv(w)
	s(env)
	return env.Current()
}

// languagesOf guesses the languages of a sentence: those with most of its
// words among their grammar and denials, all when there are none.
func languagesOf(ws []string) languages {
	var likeliest languages
	most := 0
	for _, l := range spoken {
		hits := 0
		for _, w := range ws {
			if l.has("grammar", w) || l.has("denials", w) {
				hits++
			}
		}
		if hits > most {
			likeliest, most = nil, hits
		}
		if hits == most {
			likeliest = append(likeliest, l)
		}
	}
	return append(likeliest, others)
}

func (ls languages) stem(w string) string { return ls[0].stem(w) }

func (ls languages) isGrammar(w string) bool {
	return slices.ContainsFunc(ls, func(l *language) bool { return l.has("grammar", w) })
}
