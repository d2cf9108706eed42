package guide

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var kinds = []string{"desirability", "viability", "feasibility", "usability"}

// eachMethod visits every method once.
func eachMethod(visit func(Method)) {
	for _, m := range ForKinds(kinds...) {
		visit(m)
	}
}

func TestGuideServesEveryKind(t *testing.T) {
	for _, kind := range kinds {
		n := len(Methods(kind))
		assert.GreaterOrEqual(t, n, 5, "Methods(%s) has %d methods, want 5 to 10: a choice, and no catalogue", kind, n)
		assert.LessOrEqual(t, n, 10, "Methods(%s) has %d methods, want 5 to 10: a choice, and no catalogue", kind, n)
	}
	for _, kind := range []string{"", "charm"} {
		got := Methods(kind)
		assert.Nil(t, got, "Methods(%q) = %d methods, want none", kind, len(got))
	}
}

func TestGuideNamesKnownMethods(t *testing.T) {
	for kind, names := range map[string][]string{
		"desirability": {"Interviews", "Survey", "Landing-page test", "Concierge trial", "Analytics review", "Diary", "Forced ranking of troubles", "“Should we?” talk"},
		"viability":    {"Market sizing", "Pricing study", "Unit-economics sheet", "Legal check", "Pre-order", "Letters of intent", "“Should we?” talk"},
		"feasibility":  {"Technical spike", "Vendor check"},
		"usability":    {"Prototype walk-through", "Usability test", "Card sort", "Analytics review", "Hand-operated prototype"},
	} {
		for _, name := range names {
			assert.True(t, slices.ContainsFunc(Methods(kind), func(m Method) bool { return m.Name == name }), "Methods(%s) lacks %s", kind, name)
		}
	}
}

// Whoever begins with a test of their own may find out what stood in a report.
func TestWhatIsKnownComesFirst(t *testing.T) {
	for _, kind := range kinds {
		assert.Equal(t, knownReview.Name, Methods(kind)[0].Name, kind)
	}
	assert.Equal(t, knownReview.Name, ForKinds("usability", "viability")[0].Name)
}

func TestMethodsAreWholeAndOrdered(t *testing.T) {
	for _, kind := range kinds {
		methods := Methods(kind)
		for _, m := range methods {
			for what, text := range map[string]string{"tells": m.Tells, "cannot tell": m.CannotTell} {
				assert.True(t, strings.HasSuffix(text, "."), "%s: what it %s is %q, want one short sentence", m.Name, what, text)
				assert.LessOrEqual(t, utf8.RuneCountInString(text), 160, "%s: what it %s is %q, want one short sentence", m.Name, what, text)
			}
			n := utf8.RuneCountInString(m.Mind)
			assert.True(t, n >= 40 && n <= 320, "%s: what to mind has %d characters: %s", m.Name, n, m.Mind)
			assert.LessOrEqual(t, utf8.RuneCountInString(m.Name), 50, "%s: effort %v, lead", m.Name, m.EffortDays)
			assert.False(t, m.EffortDays <= 0, "%s: effort %v, lead", m.Name, m.EffortDays)
			assert.False(t, m.LeadDays < 0, "%s: effort %v, lead", m.Name, m.EffortDays)
		}
		assert.True(t, slices.IsSortedFunc(methods[1:], byWork), "Methods(%s) is not ordered by work, the least first", kind)
	}
}

func byWork(a, b Method) int {
	switch {
	case a.EffortDays != b.EffortDays:
		return int(10 * (a.EffortDays - b.EffortDays))
	default:
		return int(10 * (a.LeadDays - b.LeadDays))
	}
}

// Several kinds share methods; nobody should read one twice, nor two that say the
// same in other words.
func TestNoMethodTwice(t *testing.T) {
	names, says := map[string]bool{}, map[string]string{}
	eachMethod(func(m Method) {
		assert.False(t, names[m.Name], "%s is there twice", m.Name)
		names[m.Name] = true
		for _, text := range []string{m.Tells, m.CannotTell, m.Mind} {
			assert.Empty(t, says[text], "%s and %s both say: %s", m.Name, says[text], text)
			says[text] = m.Name
		}
		got, ok := Named(m.Name)
		assert.True(t, ok && got.Tells == m.Tells, "Named(%s) = %+v, %v", m.Name, got, ok)
	})
	keys := map[string]string{}
	eachMethod(func(m Method) {
		assert.Empty(t, keys[m.Key()], "%s has the key of %s", m.Name, keys[m.Key()])
		keys[m.Key()] = m.Name
		for _, key := range []string{m.Key(), m.Name} {
			got, ok := Keyed(key)
			assert.True(t, ok && got.Name == m.Name, "Keyed(%s) = %s, %v", key, got.Name, ok)
		}
	})
	listed := map[string]bool{}
	for _, kind := range kinds {
		own := map[string]bool{}
		for _, m := range Methods(kind) {
			assert.False(t, own[m.Name], "%s is there twice for %s", m.Name, kind)
			own[m.Name], listed[m.Name] = true, true
		}
	}
	assert.Equal(t, listed, names, "ForKinds leaves some out")
	_, ok := Named("charm")
	assert.False(t, ok)
	for _, key := range []string{"", "charm", "Survey of all"} {
		_, ok = Keyed(key)
		assert.False(t, ok, "Keyed(%s)", key)
	}
}

// What one kind of method must say, since its result would mislead otherwise.
func TestMethodsSayWhatToMind(t *testing.T) {
	for name, words := range map[string][]string{
		"Landing-page test":       {"does not exist yet", "Keep addresses", "delete them", "Never do this about care"},
		"Survey":                  {"Invite about 10", "those who do not", "do not hint at an answer", "how far they agree"},
		"Interviews":              {"each kind of person", "last time", "two people in a row", "No share counts"},
		"Analytics review":        {"whole period"},
		"Split test":              {"nothing to split", "look once"},
		"Comprehension test":      {"the opposite"},
		"Back-test":               {"Fix the rule before you see the cases"},
		"Technical spike":         {"time limit", "when it is done"},
		"Hand-operated prototype": {"Tell people afterwards"},
		"Pre-order":               {"does not exist yet", "give back"},
		"“Should we?” talk":       {"never use it"},
		"Walk-through with those who will run it": {"each role"},
	} {
		m, ok := Named(name)
		require.True(t, ok, name)
		for _, w := range words {
			assert.Contains(t, m.Mind, w, name)
		}
	}
}

// A share of people says nothing about a price, a law, a sum or a piece of code.
func TestMarksSuitTheirMethods(t *testing.T) {
	for _, name := range []string{"Legal check", "Pricing study", "Technical spike", "Unit-economics sheet", "Vendor check", "Interviews", "Letters of intent", "Market sizing"} {
		m, ok := Named(name)
		require.True(t, ok, name)
		assert.Zero(t, m.Mark.Share, "%s has a share as its pass mark", name)
	}
	eachMethod(func(m Method) {
		given := 0
		for _, is := range []bool{m.Mark.Share > 0 && m.Mark.Share <= 1, m.Mark.Unit != "", m.Mark.YesNo} {
			if is {
				given++
			}
		}
		assert.Equal(t, 1, given, "%s has %d pass marks", m.Name, given)
		assert.Equal(t, m.Mark.YesNo, m.Mark.Source == "", "%s: the source of its pass mark is %q", m.Name, m.Mark.Source)
	})
}

// The share of problems that one person meets is about problems of use. For anything
// else it has no meaning.
func TestTheShareOfProblemsIsOnlyForUse(t *testing.T) {
	var about []string
	eachMethod(func(m Method) {
		if strings.Contains(m.Sample.Buys, "problems") {
			about = append(about, m.Name)
			assert.True(t, slices.ContainsFunc(Methods("usability"), func(o Method) bool { return o.Name == m.Name }), "%s", m.Name)
			assert.Contains(t, m.Sample.Buys, "19% to 51%", "%s does not say how far that goes", m.Name)
		}
	})
	assert.ElementsMatch(t, []string{"Prototype walk-through", "Hand-operated prototype"}, about)
}

func TestEverySampleSaysWhatItBuys(t *testing.T) {
	eachMethod(func(m Method) {
		size, counts := m.Sample.For(0)
		assert.Equal(t, (m.Sample.Unit != ""), counts, "%s: counts %v, of %q, %q", m.Name, counts, m.Sample.Unit, m.Sample.Buys)
		assert.Equal(t, (m.Sample.Buys != ""), counts, "%s: counts %v, of %q, %q", m.Name, counts, m.Sample.Unit, m.Sample.Buys)
		assert.Equal(t, counts, size.Source != "", "%s has no source for its number", m.Name)
	})
}

func TestCautionNamesWhatToMind(t *testing.T) {
	for _, word := range []string{"consent", "law", "children", "health"} {
		assert.Contains(t, Caution, word)
	}
	for _, word := range []string{"consent", "law", "children", "health", "delete", "in charge", "stop"} {
		assert.Contains(t, CautionFor(false), word, "the caution does not speak of")
	}
	// What research ethics asks of work with people who can hardly say no: the Belmont
	// Report (1979) on dependence, children and pay, and the General Data Protection
	// Regulation, articles 5 and 7, on other purposes and on withdrawing (from memory).
	for _, word := range []string{"in charge of research ethics or data protection", "law", "depend", "list of names", "consent", "stop", "Record", "withdraws", "Pay", "child"} {
		assert.Contains(t, CautionFor(true), word, "with care")
	}
	eachMethod(func(m Method) {
		if m.Sample.Unit == "people" || m.Sample.Unit == "answers" || m.Sample.Unit == "visitors" {
			assert.True(t, m.People, "%s is not marked as involving people", m.Name)
		}
	})
}
