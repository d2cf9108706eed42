// Package words says what a kickoff holds in short sentences and figures, for
// every form in which people read it: messages, forms, pages, files, a
// terminal. It knows no chat platform, no markup and no layout; those belong
// to screens and report.
//
// Start from three functions:
//
//	Number  a figure, as short as it is exact
//	Clip    a text cut to what a line can hold
//	Count   a number with its noun
//
// What people typed comes back as they typed it, at most clipped. [Harmless]
// makes text safe for a terminal.
package words

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"soundings/engine"
	"soundings/flows/state"
)

// longestWord is how many characters a text gives up at most so that it does not end within
// a word. Longer words, and scripts that set no blanks, are cut where the room ends.
const longestWord = 15

// Clip shortens text to at most longest characters, and shows that it did: between two
// words, where they are not too long for that.
func Clip(text string, longest int) string {
	if utf8.RuneCountInString(text) <= longest {
		return text
	}
	runes := []rune(text)
	kept := string(runes[:longest-1])
	if end := strings.LastIndexAny(kept, " \n\t"); end > 0 && !unicode.IsSpace(runes[longest-1]) && utf8.RuneCountInString(kept[end:]) <= min(longestWord, longest/2) {
		kept = kept[:end]
	}
	return strings.TrimRight(kept, " \n\t,;:") + "…"
}

// The marks of Unicode that turn the direction of what follows them.
const (
	firstStrongIsolate = '\u2068'
	popIsolate         = '\u2069'
	directionMarks     = "\u202A\u202B\u202C\u202D\u202E\u2066\u2067\u2068\u2069"
)

// Contained keeps marks of direction in a text from turning what stands
// after it, by setting the text apart (Unicode Standard Annex 9, isolates).
// Nothing of the text is changed.
func Contained(text string) string {
	if !strings.ContainsAny(text, directionMarks) {
		return text
	}
	open, early := 0, 0 // isolates begun and not ended; ends without a beginning
	for _, r := range text {
		switch {
		case r >= '\u2066' && r <= firstStrongIsolate:
			open++
		case r == popIsolate && open > 0:
			open--
		case r == popIsolate:
			early++
		}
	}
	return strings.Repeat(string(firstStrongIsolate), early+1) + text + strings.Repeat(string(popIsolate), open+1)
}

// Count writes a number with its noun: "1 question", "3 questions".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Listed joins words, the first few of many.
func Listed(words []string, most int) string {
	if len(words) <= most {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
}

// FirstOf is the beginning of a list, at most that long.
func FirstOf[T any](all []T, most int) []T { return all[:min(len(all), most)] }

// OneLine takes line breaks out of a text that is shown in a line.
func OneLine(text string) string { return lineBreaks.Replace(text) }

var lineBreaks = strings.NewReplacer("\n", " ", "\r", " ", "\t", " ")

// SentenceCase begins a sentence with a word of ours.
func SentenceCase(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// SentenceEnd ends a sentence that may have an end already.
func SentenceEnd(text string) string {
	if last, _ := utf8.DecodeLastRuneInString(text); strings.ContainsRune(".!?…", last) {
		return text
	}
	return text + "."
}

// Number writes a figure shortly: 6, 6.5, or a dash where there is none.
func Number(f engine.Figure) string {
	if !f.Defined() {
		return "–"
	}
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", float64(f)), "0"), ".")
}

// Days writes a number of days that may be broken: "1 day", "2.5 days".
func Days(d float64) string { return figure(engine.Figure(d), "day", "days") }

func figure(f engine.Figure, one, many string) string {
	if f == 1 {
		return "1 " + one
	}
	return Number(f) + " " + many
}

// WeeksText: "1 week", "4 weeks".
func WeeksText(n int) string { return Count(n, "week", "weeks") }

// RankText is a place in the test order, or a dash where there is none.
func RankText(p engine.Place) string {
	if p == 0 {
		return "–"
	}
	return fmt.Sprint(int(p))
}

// SpreadText is a median with the middle half of the ratings, "8 (7 to 9)", or
// where that would give single ratings away, with how many there are.
func SpreadText(s engine.Spread) string {
	if s.N == 0 {
		return "not rated"
	}
	if !s.Q1.Defined() {
		return fmt.Sprintf("%s (median of %s)", Number(s.Median), Count(s.N, "rating", "ratings"))
	}
	return fmt.Sprintf("%s (%s to %s)", Number(s.Median), Number(s.Q1), Number(s.Q3))
}

// TooFew says why nothing but a median is told of what a few people said.
const TooFew = "Fewer than four answered, so no more is shown."

// fewSaid says of answers from 1 to 9 of which there are few in which third of the scale
// most are, in words, and no more: "too few for a figure; most are confident".
func fewSaid(n, third int, thirds [3]string) string {
	text := "too few for a figure"
	switch {
	case n < 2:
		return text
	case third == 0:
		return text + "; they see it differently"
	}
	return fmt.Sprintf("%s; %s %s", text, mostOf(n), thirds[third-1])
}

// mostOf is what most of two or three are called.
func mostOf(n int) string {
	if n == 2 {
		return "both"
	}
	return "most"
}

// VotesText is what the votes on the time box came to.
func VotesText(t state.Timebox) string {
	median, iqr := t.Spread()
	switch {
	case t.Voted() == 0:
		return "Nobody voted."
	case !median.Defined():
		text := Count(t.Voted(), "person", "people") + " voted, too few for a figure"
		switch {
		case t.Than > 0:
			text += fmt.Sprintf("; %s would take more weeks than are proposed", mostOf(t.Voted()))
		case t.Than < 0:
			text += fmt.Sprintf("; %s would take fewer weeks than are proposed", mostOf(t.Voted()))
		}
		return text + "."
	}
	return fmt.Sprintf("The median of %d votes is %s; %s.", t.Voted(), WeeksFigure(median), halfOf("them", iqr, WeeksFigure))
}

// costs are what being wrong would cost, in words.
var costs = map[engine.Cost]string{
	engine.CostDay: "a day of work", engine.CostQuarter: "a quarter of a year", engine.CostName: "the company’s good name",
}

// CostOf is what being wrong would cost, within a sentence.
func CostOf(c engine.Cost) string { return costs[c] }

// Proposed is what the bot proposes, and why, part by part: what people expect of it, where
// they were asked, and what the plan comes to.
func Proposed(t state.Timebox) []string {
	if t.Outlook == nil {
		return []string{fmt.Sprintf("The plan came to %s. %s", WeeksText(t.Proposal.Weeks), t.Proposal.Why)}
	}
	return []string{OutlookText(*t.Outlook), fmt.Sprintf("With that, %s are proposed. %s", WeeksText(t.Proposal.Weeks), t.Proposal.Why)}
}

// OutlookText is what people thought before the first test: "Before the tests, the
// confidence that this is worth building was 5 of 9 (median of 11 answers). Being wrong
// would cost a quarter of a year (2 said a day of work, …)."
func OutlookText(o state.Outlook) string {
	o = o.Told()
	var out []string
	switch {
	case o.Worth.Defined():
		out = append(out, fmt.Sprintf("Before the tests, the confidence that this is worth building was %s of 9 (median of %s).", Number(o.Worth), Count(o.Worths, "answer", "answers")))
	case o.Worths > 0:
		out = append(out, fmt.Sprintf("Before the tests, %s said how likely it is that this is worth building, %s.", Count(o.Worths, "person", "people"),
			fewSaid(o.Worths, o.WorthThird, [3]string{"found it unlikely", "found it as likely as not", "found it likely"})))
	}
	var each []string
	for _, c := range engine.Costs() {
		if n := o.CostsOf[c]; n > 0 {
			each = append(each, fmt.Sprintf("%d said %s", n, CostOf(c)))
		}
	}
	switch {
	case len(each) > 0:
		out = append(out, fmt.Sprintf("Being wrong would cost %s (%s).", CostOf(o.Cost), strings.Join(each, ", ")))
	case o.Cost != "":
		out = append(out, fmt.Sprintf("Being wrong would cost %s, as %s of %d said.", CostOf(o.Cost), mostOf(o.Costs), o.Costs))
	case o.Costs > 0:
		out = append(out, fmt.Sprintf("%s said what being wrong would cost, too few to show it.", Count(o.Costs, "person", "people")))
	}
	return strings.Join(out, " ")
}

// halfOf says how near to each other the middle half of some answers lie: "at
// least half of 11 votes lie within 1 week of each other".
func halfOf(answers string, iqr engine.Figure, figure func(engine.Figure) string) string {
	if iqr == 0 {
		return "at least half of " + answers + " say the same"
	}
	return "at least half of " + answers + " lie within " + figure(iqr) + " of each other"
}

// WeeksFigure is a number of weeks that may be broken: "1.5 weeks".
func WeeksFigure(f engine.Figure) string { return figure(f, "week", "weeks") }

// zones are the names of the zones within a sentence, and what each means, so
// that nobody has to know the word. The last two are those of earlier maps.
var zones = map[engine.Zone][2]string{
	engine.TestFirst: {"test first", "important, little known"},
	engine.Next:      {"next", "important, better known than the first group"},
	engine.Watch:     {"watch", "less important, little known"},
	engine.Later:     {"later", "matters less, comes back if time is left"},
	"":               {"not ranked", "too few could say"},
	engine.RelyOn:    {"rely on", "important, well known"},
	engine.Leave:     {"leave", "less important, well known"},
}

// ZoneText names a zone within a sentence.
func ZoneText(z engine.Zone) string { return zones[z][0] }

// ZoneHeading names a zone and says what it means.
func ZoneHeading(z engine.Zone) string { return SentenceCase(zones[z][0]) + ": " + zones[z][1] }

// InZone lists the assumptions of a zone in test order.
func InZone(r engine.Result, z engine.Zone) []string {
	zone := map[string]engine.Zone{}
	for _, a := range r.Assumptions {
		zone[a.ID] = a.Zone
	}
	var ids []string
	for _, id := range r.Order {
		if zone[id] == z {
			ids = append(ids, id)
		}
	}
	return ids
}

// firstAtOnce is how many assumptions people can begin with.
const firstAtOnce = 5

// FirstText says what comes first, in a line fit for a lock screen.
func FirstText(r engine.Result) string {
	ids, all := InZone(r, engine.TestFirst), len(r.Order)
	switch {
	case flat(r):
		return fmt.Sprintf("The ratings tell nothing apart: all %d got the same figures. Talk about which of them would hurt most if we are wrong; until then they stand in the order of the list.", all)
	case len(ids) == 0 && len(InZone(r, engine.Next)) > 0:
		return "What is important here is well known, so nothing has to be tested before the rest."
	case len(ids) == 0:
		return "Nothing is important and at the same time little known, so nothing has to be tested before the rest."
	case len(ids) == 1:
		return fmt.Sprintf("1 of %d assumptions comes first: %s.", all, ids[0])
	case len(ids) > firstAtOnce && 2*len(ids) > all:
		return fmt.Sprintf("%d of %d assumptions are important and little known. Begin with the first five: %s. Then: %s.", len(ids), all,
			Listed(ids[:firstAtOnce], firstAtOnce), Listed(ids[firstAtOnce:], 8))
	}
	return fmt.Sprintf("%d of %d assumptions come first, in this order: %s.", len(ids), all, Listed(ids, 8))
}

// flat reports that the ratings put nothing before anything else.
func flat(r engine.Result) bool {
	return len(r.Order) > 1 && !slices.ContainsFunc(r.Assumptions, func(a engine.AssumptionScore) bool {
		first := r.Assumptions[0]
		return a.Rank == 0 || a.Zone != first.Zone || !sameMedians(a, first) || !sameLeans(a, first)
	})
}

func sameMedians(a, b engine.AssumptionScore) bool {
	return a.Importance.Median == b.Importance.Median && a.Evidence.Median == b.Evidence.Median
}

func sameLeans(a, b engine.AssumptionScore) bool {
	return a.Importance.Lean == b.Importance.Lean && a.Evidence.Lean == b.Evidence.Lean
}

// TieText says why a stands before the next assumption with the same medians:
// "Same medians as A6; more people put A14 above 7 than below." It is empty
// where there is none, or where something else decided. Of what comes first it
// says too where the ratings tell nothing apart.
func TieText(r engine.Result, a engine.AssumptionScore) string {
	b, found := nextAlike(r, a)
	doubtful := func(s engine.AssumptionScore) bool { return s.Thin || s.Evidence.Agreement == engine.Split }
	switch {
	case !found || a.Zone != b.Zone && (doubtful(a) || doubtful(b)):
		return ""
	case sameLeans(a, b) && a.Zone == engine.TestFirst:
		return fmt.Sprintf("The ratings do not tell it from %s: talk about which comes first.", b.ID)
	case sameLeans(a, b):
		return ""
	case a.Zone == b.Zone && a.Importance.Lean != b.Importance.Lean || isImportant(a) != isImportant(b):
		return fmt.Sprintf("Same medians as %s; %s.", b.ID, leanText(a.ID, b.ID, a.Importance, b.Importance, "above", "below"))
	}
	return fmt.Sprintf("Same medians as %s; on evidence %s.", b.ID, leanText(a.ID, b.ID, turned(a.Evidence), turned(b.Evidence), "below", "above"))
}

// nextAlike is the next assumption in test order that has the medians of a.
func nextAlike(r engine.Result, a engine.AssumptionScore) (alike engine.AssumptionScore, found bool) {
	for _, b := range r.Assumptions {
		if a.Rank > 0 && b.Rank > a.Rank && sameMedians(a, b) && (!found || b.Rank < alike.Rank) {
			alike, found = b, true
		}
	}
	return alike, found
}

func isImportant(a engine.AssumptionScore) bool {
	return a.Zone == engine.TestFirst || a.Zone == engine.Next
}

// turned looks at a scale from its other end.
func turned(s engine.Spread) engine.Spread {
	s.Lean = -s.Lean
	return s
}

// leanText tells which way people lean from a median that a and b share, where
// those of a lean further to the side that counts.
func leanText(a, b string, of, than engine.Spread, ahead, behind string) string {
	middle := Number(of.Median)
	switch {
	case of.Lean > 0 && than.Lean > 0:
		return fmt.Sprintf("more people put %s %s %s than %s, by a wider margin", a, ahead, middle, behind)
	case of.Lean > 0:
		return fmt.Sprintf("more people put %s %s %s than %s", a, ahead, middle, behind)
	case of.Lean < 0:
		return fmt.Sprintf("more people put %s %s %s than %s, by a wider margin", b, behind, middle, ahead)
	}
	return fmt.Sprintf("more people put %s %s %s than %s", b, behind, middle, ahead)
}
