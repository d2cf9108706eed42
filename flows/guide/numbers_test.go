package guide

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every number of the guide, worked out a second time by formulas that are written
// down here and share no code with package engine. A number that nobody has a row
// for makes the test fail.

// z95 is the 97.5% point of the normal distribution, and z80 the 80% point (printed
// tables: 1.95996, 0.84162).
const (
	z95 = 1.959963985
	z80 = 0.841621234
)

// cochran is n0 = z²·p(1-p)/e² at 95% and one half, and for a population of all that
// many n0/(1 + (n0-1)/all), rounded up. Cochran W.G. (1977), Sampling Techniques, 3rd
// ed., ch. 4.
func cochran(margin float64, all int) int {
	n := z95 * z95 * 0.25 / (margin * margin)
	if all > 0 {
		n /= 1 + (n-1)/float64(all)
	}
	return int(math.Ceil(n))
}

// meeting is the smallest n with 1-(1-p)^n ≥ target, by multiplying out. Nielsen J.
// & Landauer T.K. (1993), INTERCHI '93, 206-213.
func meeting(p, target float64) int {
	missed, n := 1.0, 0
	for 1-missed < target {
		missed, n = missed*(1-p), n+1
	}
	return n
}

// atLeast is the chance of k or more of n, by the recurrence of the binomial terms.
func atLeast(k, n int, p float64) float64 {
	term, sum := math.Pow(1-p, float64(n)), 0.0
	for i := 0; i <= n; i++ {
		if i >= k {
			sum += term
		}
		term *= float64(n-i) / float64(i+1) * p / (1 - p)
	}
	return sum
}

// forMark is the smallest n at which at least mark of n passes a truth of below, and
// fails one of above, at most one time in ten.
func forMark(mark, below, above float64) int {
	for n := 1; ; n++ {
		k := int(math.Ceil(mark*float64(n) - 1e-9))
		if atLeast(k, n, below) <= 0.1 && 1-atLeast(k, n, above) <= 0.1 {
			return n
		}
	}
}

// comparing is the number for each of two versions: pooled normal, no continuity
// correction, 5% two-sided, power 80%. Fleiss J.L., Tytun A. & Ury H.K. (1980),
// Biometrics 36, 343-346.
func comparing(p1, p2 float64) int {
	mean := (p1 + p2) / 2
	root := z95*math.Sqrt(2*mean*(1-mean)) + z80*math.Sqrt(p1*(1-p1)+p2*(1-p2))
	return int(math.Ceil(root * root / ((p1 - p2) * (p1 - p2))))
}

// excluded is the share that none of n leaves room for, with 95% confidence: the
// exact value of which the rule of three is the short form. Hanley J.A. &
// Lippman-Hand A. (1983), JAMA 249, 1743-1745 (from memory).
func excluded(n int) float64 { return 1 - math.Pow(0.05, 1/float64(n)) }

func TestSizesAreWorkedOutTwice(t *testing.T) {
	want := map[string]int{
		"Survey":                      cochran(0.05, 0),
		"Pricing study":               cochran(0.10, 0),
		"Forced ranking of troubles":  forMark(0.5, 0.35, 0.65),
		"Concierge trial":             forMark(0.5, 0.35, 0.65),
		"Landing-page test":           forMark(0.05, 0.025, 0.075),
		"Pre-order":                   forMark(0.10, 0.05, 0.15),
		"Data check":                  forMark(0.95, 0.80, 0.975),
		"Trial under real conditions": forMark(0.95, 0.80, 0.975),
		"Back-test":                   forMark(0.8, 0.65, 0.9),
		"First-click test":            forMark(0.8, 0.65, 0.9),
		"Usability test":              forMark(0.8, 0.65, 0.9),
		"Prototype walk-through":      meeting(0.31, 0.85),
		"Hand-operated prototype":     meeting(0.31, 0.85),
		"Split test":                  comparing(0.10, 0.15),
		"Comprehension test":          60, // 3/0.05; see below
		"Card sort":                   20, // Tullis & Wood 2004: 20 to 30 people
		"Interviews":                  9,  // Hennink & Kaiser 2022: 9 to 17
	}
	eachMethod(func(m Method) {
		size, counts := m.Sample.For(0)
		n, known := want[m.Name]
		assert.Equal(t, known, counts, "%s takes %d, and nothing here says why", m.Name, size.N)
		assert.Equal(t, n, size.N, m.Name)
	})
	// Figures that were printed elsewhere: R 4.2.2, power.prop.test(p1=.10, p2=.15,
	// power=.8) gives 685.6; Cochran's 384.15 for a survey.
	assert.Equal(t, 686, want["Split test"])
	assert.Equal(t, 385, want["Survey"])
	// None of 60 leaves room for at most 5 in 100, none of 58 does not.
	assert.LessOrEqual(t, excluded(60), 0.05)
	assert.Greater(t, excluded(58), 0.05)
}

func TestFewPeopleNeedFewerAnswers(t *testing.T) {
	m, _ := Named("Survey")
	for all, want := range map[int]int{90: 74, 500: 218, 2000: 323, -5: 385} {
		size, ok := m.Sample.For(all)
		assert.True(t, ok)
		assert.Equal(t, want, size.N, "of %d", all)
		if all > 0 {
			assert.Equal(t, cochran(0.05, all), size.N, "of %d, worked out here", all)
		}
	}
}

// Guest, Bunce & Johnson 2006: of 114 codes 80 came in the first six interviews and
// 20 more in the next six (extract read). So nine find most of what twelve find.
func TestNineInterviewsFindMostOfWhatTwelveDo(t *testing.T) {
	const codes, six, twelve = 114.0, 80.0, 100.0
	assert.InDelta(t, 0.70, six/codes, 0.005)
	assert.InDelta(t, 0.88, twelve/codes, 0.005)
	assert.GreaterOrEqual(t, (six+twelve)/2/twelve, 0.85) // nine lies between, at half of the way
}

// said are the numbers in the sentences of the guide, each with what it is.
var said = map[string]map[string]func() string{
	"Landing-page test": {"5": mark(0.05), "2.5": below(0.05), "7.5": above(0.05)},
	"Survey":            {"10": practice("invitations for each answer"), "5": of(0.05), "95": of(0.95)},
	"Pricing study":     {"10": of(0.10), "95": of(0.95)},
	"Interviews":        {"9": read("Hennink & Kaiser 2022"), "17": read("Hennink & Kaiser 2022")},
	"Pre-order":         {"10": mark(0.1), "5": below(0.1), "15": above(0.1)},
	"Trial under real conditions": {"100": practice("trials, to say it with"), "3": func() string { return fmt.Sprint(math.Round(100 * excluded(100))) },
		"95": mark(0.95), "80": below(0.95), "97.5": above(0.95)},
	"Data check":                 {"95": mark(0.95), "80": below(0.95), "97.5": above(0.95)},
	"Back-test":                  {"80": mark(0.8), "65": below(0.8), "90": above(0.8)},
	"First-click test":           {"80": mark(0.8), "65": below(0.8), "90": above(0.8)},
	"Usability test":             {"80": mark(0.8), "65": below(0.8), "90": above(0.8)},
	"Forced ranking of troubles": {"50": mark(0.5), "35": below(0.5), "65": above(0.5)},
	"Concierge trial":            {"50": mark(0.5), "35": below(0.5), "65": above(0.5)},
	"Card sort":                  {"20": read("Tullis & Wood 2004"), "30": read("Tullis & Wood 2004")},
	"Comprehension test":         {"5": read("Z535.3, from memory"), "95": of(0.95)},
	"Split test":                 {"10": of(0.1), "15": of(0.15), "5": of(0.05), "80": of(0.8)},
	"Prototype walk-through":     problems, "Hand-operated prototype": problems,
}

var problems = map[string]func() string{"85": of(0.85), "31": read("Nielsen & Landauer 1993"), "19": read("the same authors"), "51": read("the same authors"),
	"3": func() string { return fmt.Sprint(meeting(0.51, 0.85)) }, "10": func() string { return fmt.Sprint(meeting(0.19, 0.85)) }}

func of(share float64) func() string {
	return func() string { return fmt.Sprint(math.Round(share*1000) / 10) }
}
func mark(share float64) func() string { return of(share) }

// below and above are 15 points from a mark, or half of what there is on that side
// (common practice, no source).
func below(mark float64) func() string { return of(mark - min(0.15, mark/2)) }
func above(mark float64) func() string { return of(mark + min(0.15, mark/2, (1-mark)/2)) }

// practice is a number that has no source, and read one that was read, or remembered.
func practice(string) func() string { return nil }
func read(string) func() string     { return nil }

var figures = regexp.MustCompile(`\d+(?:\.\d+)?`)

func TestEveryNumberIsAccountedFor(t *testing.T) {
	eachMethod(func(m Method) {
		told := map[string]bool{}
		for _, text := range []string{m.Name, m.Tells, m.CannotTell, m.Mind, m.Sample.Buys} {
			for _, n := range figures.FindAllString(text, -1) {
				told[n] = true
				again, known := said[m.Name][n]
				if assert.True(t, known, "%s says %s, and no row tells where that comes from: %s", m.Name, n, text) && again != nil {
					assert.Equal(t, again(), n, "%s, worked out again", m.Name)
				}
			}
		}
		for n := range said[m.Name] {
			assert.True(t, told[n], "%s does not say %s any more", m.Name, n)
		}
	})
	assert.Empty(t, figures.FindAllString(CautionFor(false)+CautionFor(true), -1))
	assert.Equal(t, commonPractice, DaysSource) // of ApprovalDays as well
}

// Marks that are no common practice, each as its source has it.
func TestMarksHaveTheirSource(t *testing.T) {
	from := map[string]float64{
		"Comprehension test": 0.85, // Z535.3, from memory
		"Usability test":     0.8,  // 78% of tasks, Sauro 2011, from memory
	}
	eachMethod(func(m Method) {
		if want, ok := from[m.Name]; ok {
			assert.InDelta(t, want, m.Mark.Share, 1e-9, m.Name)
			assert.Contains(t, m.Mark.Source, "from memory", m.Name)
			return
		}
		assert.Contains(t, []string{"", commonPractice}, m.Mark.Source, m.Name)
	})
	assert.InDelta(t, 0.78, from["Usability test"], 0.025)
}

// Each work that stands beside a figure on a screen stands in the references of the
// package as well.
func TestSourcesStandInTheReferences(t *testing.T) {
	doc, err := os.ReadFile("guide.go")
	require.NoError(t, err)
	head, _, found := strings.Cut(string(doc), "\npackage guide\n")
	require.True(t, found)
	head = strings.NewReplacer("\n//", "", "   ", " ").Replace(head)
	work := regexp.MustCompile(`([A-Z][a-z]+)(?: & [A-Z][a-z-]+)?(?:, [A-Z][a-z]+(?: & [A-Z][a-z]+)?)? ((?:19|20)\d\d)`)
	n := 0
	eachMethod(func(m Method) {
		size, _ := m.Sample.For(0)
		for _, w := range work.FindAllStringSubmatch(size.Source+" "+m.Mark.Source, -1) {
			n++
			assert.True(t, regexp.MustCompile(w[1]+`[^;]{0,120}\(`+w[2]+`\)`).MatchString(head), "%s: %s", m.Name, w[0])
		}
	})
	assert.GreaterOrEqual(t, n, 10, "works named beside figures")
}
