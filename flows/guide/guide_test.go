package guide

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
)

var kinds = []string{"desirability", "viability", "feasibility", "usability"}

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
		"desirability": {"Interviews", "Survey", "Landing-page test", "Concierge trial", "Analytics review"},
		"viability":    {"Market sizing", "Pricing study", "Unit-economics sheet", "Legal check", "Pre-order"},
		"feasibility":  {"Technical spike", "Vendor check"},
		"usability":    {"Prototype walk-through", "Usability test", "Card sort", "Analytics review"},
	} {
		for _, name := range names {
			assert.True(t, slices.ContainsFunc(Methods(kind), func(m Method) bool { return m.Name == name }), "Methods(%s) lacks %s", kind, name)
		}
	}
}

func TestMethodsAreWholeAndOrdered(t *testing.T) {
	for _, kind := range kinds {
		methods := Methods(kind)
		for _, m := range methods {
			for what, text := range map[string]string{"tells": m.Tells, "cannot tell": m.CannotTell} {
				assert.True(t, strings.HasSuffix(text, "."), "%s: what it %s is %q, want one short sentence", m.Name, what, text)
				assert.LessOrEqual(t, utf8.RuneCountInString(text), 160, "%s: what it %s is %q, want one short sentence", m.Name, what, text)
			}
			assert.LessOrEqual(t, utf8.RuneCountInString(m.Name), 50, "%s: effort %v, lead", m.Name, m.EffortDays)
			assert.False(t, m.EffortDays <= 0, "%s: effort %v, lead", m.Name, m.EffortDays)
			assert.False(t, m.LeadDays < 0, "%s: effort %v, lead", m.Name, m.EffortDays)
		}
		assert.True(t, slices.IsSortedFunc(methods, byWork), "Methods(%s) is not ordered by work, the least first", kind)
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

func method(t *testing.T, kind string, name string) Method {
	t.Helper()
	for _, m := range Methods(kind) {
		if m.Name == name {
			return m
		}
	}
	t.Fatalf("Methods(%s) lacks %s", kind, name)
	return Method{}
}

func TestSampleSizes(t *testing.T) {
	for _, test := range []struct {
		rule       string
		kind       string
		name       string
		population int
		want       int
	}{
		// Cochran 1977, ch. 4: n0 = 384.15 at 95%, 5 points, one half; rounded up.
		{"a survey of many takes 385 answers", "desirability", "Survey", 0, 385},
		// The same with a finite population of 2,000: 322.39, rounded up.
		{"a small population takes fewer", "desirability", "Survey", 2000, 323},
		{"a negative population counts as many", "desirability", "Survey", -5, 385},
		// n0 at 10 points is 96.04, at 15 points 42.68 (computed by hand, z = 1.96).
		{"a wider margin takes fewer", "usability", "First-click test", 0, 97},
		{"a still wider margin fewer still", "usability", "Comprehension test", 0, 43},
		// Nielsen & Landauer 1993: a strict 85% at a share of 0.31 takes six.
		{"a walk-through takes six", "usability", "Prototype walk-through", 0, 6},
		// Tullis & Wood 2004: 20 to 30 people give reasonable groups.
		{"a card sort takes twenty", "usability", "Card sort", 0, 20},
		// R 4.2.2, power.prop.test(p1=.10, p2=.15, power=.8): n = 685.6.
		{"two versions take 686 each", "usability", "Split test", 0, 686},
	} {
		got, ok := method(t, test.kind, test.name).Sample.For(test.population)
		assert.True(t, ok, "%s: %s of %d = %+v, %v, want %d with its source", test.rule, test.name, test.population, got, ok, test.want)
		assert.Equal(t, test.want, got.N, "%s: %s of %d = %+v, %v, want %d with its source", test.rule, test.name, test.population, got, ok, test.want)
		assert.NotEqual(t, "", got.Source, "%s: %s of %d = %+v, %v, want %d with its source", test.rule, test.name, test.population, got, ok, test.want)
	}
}

// Hennink & Kaiser 2022 (Social Science & Medicine 292, 114523) found that 9
// to 17 interviews bring no more that is new, for narrow aims and people who
// are alike.
func TestInterviewsAgreeWithWhatWasObserved(t *testing.T) {
	got, ok := method(t, "desirability", "Interviews").Sample.For(0)
	assert.True(t, ok, "interviews take %+v, %v, want 9 to 17", got, ok)
	assert.GreaterOrEqual(t, got.N, 9, "interviews take %+v, %v, want 9 to 17", got, ok)
	assert.LessOrEqual(t, got.N, 17, "interviews take %+v, %v, want 9 to 17", got, ok)
}

func TestSomeMethodsDoNotCount(t *testing.T) {
	for kind, name := range map[string]string{"feasibility": "Technical spike", "viability": "Legal check"} {
		size, ok := method(t, kind, name).Sample.For(0)
		assert.False(t, ok, "%s takes %d, want no number", name, size.N)
	}
}

func TestEverySampleSaysWhatItBuys(t *testing.T) {
	for _, kind := range kinds {
		for _, m := range Methods(kind) {
			_, counts := m.Sample.For(0)
			assert.Equal(t, (m.Sample.Unit != ""), counts, "%s: counts %v, of %q, %q", m.Name, counts, m.Sample.Unit, m.Sample.Buys)
			assert.Equal(t, (m.Sample.Buys != ""), counts, "%s: counts %v, of %q, %q", m.Name, counts, m.Sample.Unit, m.Sample.Buys)
		}
	}
}

func TestCautionNamesWhatToMind(t *testing.T) {
	for _, word := range []string{"consent", "law", "children", "health", "delete"} {
		assert.Contains(t, Caution, word, "the caution does not speak of")
	}
	for _, name := range []string{"Interviews", "Survey", "Analytics review"} {
		assert.True(t, method(t, "desirability", name).People, "%s is not marked as involving people", name)
	}
}
