package underway

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/tally"
	"soundings/flows/workdays"
)

// The form of a check-in goes page by page: first what the viewer has to answer
// for, their tests and their actions; then how confident they are; then what they
// asked for by a tick. Each page is saved as it is left. The number of the page
// travels in screen.Args.Round, what was ticked in screen.Args.Choice.

// mostFields is how many fields a page has, so that it stays within two screens
// of a phone (common practice, no source).
const mostFields = 9

// What may be ticked for more pages.
const (
	moreOwn      = "own"
	moreEvidence = "evidence"
	moreTold     = "told"
	moreOthers   = "others"
)

// manyTests are so many of one's own that the form begins with the first few of them:
// one page, and the others behind a tick (common practice, no source).
const (
	manyTests = 10
	fewTests  = 3
)

// An entry is one thing that a page asks about, in so many fields.
type entry struct {
	fields int
	draw   func(f *block.Form)
}

// A sheet is one page of the form.
type sheet []entry

func (s sheet) draw(f *block.Form) {
	for _, e := range s {
		e.draw(f)
	}
}

// A group is entries under one heading, which stands on each page that has some.
type group struct {
	heading []block.Run
	entries []entry
}

func about(heading, says string, entries []entry) group {
	if !strings.HasSuffix(heading, "?") {
		heading += "."
	}
	return group{[]block.Run{block.Bold("%s ", heading), block.Plain("%s", says)}, entries}
}

// sheets puts groups on as few pages as hold them, in their order.
func sheets(groups ...group) []sheet {
	var out []sheet
	fields := 0
	for _, g := range groups {
		head := entry{draw: func(f *block.Form) { f.Add(block.Para(g.heading...)) }}
		for i, e := range g.entries {
			fresh := len(out) == 0 || fields+e.fields > mostFields
			if fresh {
				out, fields = append(out, nil), 0
			}
			at := &out[len(out)-1]
			if fresh || i == 0 {
				*at = append(*at, head)
			}
			*at = append(*at, e)
			fields += e.fields
		}
	}
	return out
}

// checkinSheets are the pages for the viewer, the one on confidence among them.
func checkinSheets(p screen.Page, c state.Checkin) []sheet {
	own, others := testsFor(p, c)
	var rest []state.Test
	if len(own) >= manyTests {
		own, rest = own[:fewTests], own[fewTests:]
	}
	const found = "What have you found out since the last report, and what did you learn? Leave out what has nothing new."
	all := sheets(
		about("Your tests", found, resultEntries(p, c, own)),
		about("What you said you would do", "Is it done, or when will it be?", actionEntries(p, c)))
	const how = "How badly would it hurt to be mistaken, and how solid is what we know? Nobody sees it before the check-in closes."
	fresh := newEntries(p, c)
	ahead := max(0, len(fresh)-3) // three of two fields each leave room for confidence
	all = append(all, sheets(about("New since the map was made", how, fresh[:ahead]))...)
	// What was said of a test is not asked again, so it stands where no page goes with it.
	page := slices.Concat(slices.Concat(sheets(about("New since the map was made", how, fresh[ahead:]))...),
		slices.Concat(sheets(about("What do you expect?", "Of tests without a result, before anybody knows. Nobody sees who said what.", foresightEntries(p, mostFields-2-2*len(fresh[ahead:]))))...))
	all = append(all, append(page, confidenceEntry(p, c, len(rest), len(own) > 0, len(others) > 0)))
	for _, more := range []struct {
		tick string
		group
	}{
		{moreOwn, about("Your other tests", found, resultEntries(p, c, rest))},
		{moreEvidence, about("The evidence", "How solid is what we know today? Leave out what has not changed. Nobody sees it before the check-in closes.", evidenceEntries(p, c))},
		{moreTold, about("Your reports", "What else are they worth knowing for?", toldEntries(p, c))},
		{moreOthers, about("Other people's tests", "Report here what their owners cannot.", resultEntries(p, c, others))},
	} {
		if slices.Contains(strings.Fields(p.Args.Choice), more.tick) {
			all = append(all, sheets(more.group)...)
		}
	}
	return all
}

func drawCheckin(p screen.Page, f *block.Form) flows.Intent {
	c, _ := openCheckin(p.Kickoff)
	f.Title = fmt.Sprintf("Check-in %d", c.N)
	all := checkinSheets(p, c)
	at := min(max(0, p.Args.Round), len(all)-1)
	f.Submit = "Check In"
	if at < len(all)-1 {
		f.Submit = "Next"
	}
	if p.Args.Sure {
		f.Add(block.Para(block.Bold("You have reported exactly this in this check-in already, and it counts once. "),
			block.Plain("If it is a further report, press %s once more. If not, empty the fields.", f.Submit)))
	}
	all[at].draw(f)
	return nil
}

// testsFor are the tests that the viewer answers for, and those of others on which
// they may report. Those without a result from an earlier check-in come first, so
// that the order stays the same while this one is open.
func testsFor(p screen.Page, c state.Checkin) (own, others []state.Test) {
	k := p.Kickoff
	var done []state.Test
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			owner := state.DoerOf(&k, t)
			earlier := lists.Keep(state.Results(k.Underway, t.N), func(r state.TestResult) bool { return !slices.Contains(c.Results, r) })
			switch {
			case owner != p.Viewer && owner != "" && k.IsLead(p.Viewer):
				others = append(others, t)
			case owner != p.Viewer && !(owner == "" && k.IsLead(p.Viewer)):
			case len(earlier) > 0:
				done = append(done, t)
			default:
				own = append(own, t)
			}
		}
	}
	return append(own, done...), others
}

// resultEntries ask for the result of each test, and what was learnt from it.
func resultEntries(p screen.Page, c state.Checkin, tests []state.Test) []entry {
	var out []entry
	for _, t := range tests {
		fields := 3
		if t.YesNo || t.Bound.Unit != "" {
			fields = 2
		}
		out = append(out, entry{fields, func(f *block.Form) {
			hint := "Counts as support: " + words.PassMark(t) + "."
			if found, reported := state.Found(&p.Kickoff, t.N); reported && !found.Each {
				hint = fmt.Sprintf("So far %d of %d. ", found.K, found.N) + hint
			}
			resultEntry(f, t, words.Clip(t.Assumption+", "+t.Method, 120), block.Optional, block.Hint(hint))
			f.Text("learnt/"+strconv.Itoa(t.N), "What did you learn?", lastTold(c, p.Viewer, t.N).Learnt,
				block.Optional, block.OneLine, block.Longest(flows.MaxSentence), block.Hint("One sentence helps everybody more than the figure."))
		}})
	}
	return out
}

// lastTold is what the last report of a test by somebody in this check-in says in words.
func lastTold(c state.Checkin, by state.UserID, test int) state.Told {
	for _, r := range slices.Backward(c.Results) {
		if r.Test == test && r.By == by {
			return r.Told
		}
	}
	return state.Told{}
}

// done is the choice of an action that is done; the others are days.
const done = "done"

// actionEntries ask about the viewer's actions, one field each: done, or until when.
// What was done in this check-in stays, so that no page changes under a thumb.
func actionEntries(p screen.Page, c state.Checkin) []entry {
	k := p.Kickoff
	person, _ := k.Person(p.Viewer)
	h := k.HoursOf(person)
	var out []entry
	for _, a := range k.StandingActions() {
		if a.Owner != p.Viewer || a.Done != "" && a.Done < workdays.DayAt(h, c.Opened) {
			continue
		}
		stood := ""
		if a.Done != "" {
			stood = done
		}
		options := []block.Option{{Value: done, Text: "It is done"}}
		for _, days := range []int{2, 7, 14, 28} {
			day := p.Now.In(h.Zone).AddDate(0, 0, days)
			options = append(options, block.Option{Value: day.Format(time.DateOnly), Text: "Not yet: by " + day.Format("Monday 2 January")})
		}
		out = append(out, entry{1, func(f *block.Form) {
			f.Select("action/"+strconv.Itoa(a.N), words.Clip(words.OneLine(a.What), 150), stood, options, block.Optional, block.Hint("Due "+words.DayText(a.Due)+"."))
		}})
	}
	return out
}

// newEntries ask for both ratings of what has no place on the map yet.
func newEntries(p screen.Page, c state.Checkin) []entry {
	var out []entry
	if !p.Kickoff.Rates(p.Viewer) {
		return nil
	}
	for _, id := range tally.ToPlace(&p.Kickoff, c.N) {
		out = append(out, entry{2, func(f *block.Form) {
			a, _ := p.Kickoff.Assumption(id)
			stood := c.Rated[p.Viewer][id]
			intro := []block.Run{block.Bold("New: %s ", id), block.Typed(a.Text, 500)}
			if a.Because != "" {
				intro = append(intro, block.Plain("\nBecause: "), block.Typed(a.Because, 500))
			}
			f.Add(block.Para(intro...))
			f.Select("importance/"+id, "How badly would it hurt to be mistaken?", screen.FigureOf(stood.Importance), screen.ScaleOptions(screen.ScaleWords(state.Importance)), block.Optional)
			f.Select("known/"+id, "How solid is what we know today?", screen.FigureOf(stood.Evidence), screen.ScaleOptions(screen.ScaleWords(state.Evidence)), block.Optional)
		}})
	}
	return out
}

// confidenceEntry asks everybody how confident they are, and what else they have
// to tell. Ticks and not buttons: a further page then comes as the answer to this
// one, without a call.
func confidenceEntry(p screen.Page, c state.Checkin, rest int, own, others bool) entry {
	return entry{2, func(f *block.Form) {
		// It may stay empty, so that a result can be reported today and an opinion
		// formed tomorrow; the core team is waited for.
		f.Select("confidence", "How confident are you?", screen.FigureOf(c.Confidence[p.Viewer]),
			screen.ScaleOptions(map[int]string{1: "not at all", 5: "could go either way", 9: "quite sure"}),
			block.Optional, block.Hint("All in all, would this be worth building? Nobody sees it before the check-in closes."))
		var more []block.Option
		if rest > 0 {
			more = append(more, block.Option{Value: moreOwn, Text: fmt.Sprintf("My other %d tests", rest)})
		}
		// The same words before and after a report: a delivery that comes twice gets one answer.
		if p.Kickoff.Rates(p.Viewer) {
			more = append(more, block.Option{Value: moreEvidence, Text: "How solid the evidence is now, after what I have read"})
		}
		if own {
			more = append(more, block.Option{Value: moreTold, Text: "A surprise, a quote or a link from my tests"})
		}
		if others {
			more = append(more, block.Option{Value: moreOthers, Text: "Other people's tests"})
		}
		if len(more) == 0 {
			return
		}
		f.Ticks("more", "Anything else to tell?", strings.Fields(p.Args.Choice), more, block.Optional, block.Hint("Tick what you would like to add. It comes on the next page."))
	}}
}

// evidenceOn lists the assumptions that have a place on the map: first those with
// a result, where evidence is most likely to have moved, then those with a test,
// then the others, each in test order.
func evidenceOn(k state.Kickoff) []string {
	var found, tested, others []string
	for _, id := range k.Order() {
		_, scored := k.Scored(id)
		switch {
		case !scored:
		case state.VerdictOf(&k, id) != "":
			found = append(found, id)
		case len(k.TestsOf(id)) > 0:
			tested = append(tested, id)
		default:
			others = append(others, id)
		}
	}
	return slices.Concat(found, tested, others)
}

// evidenceEntries ask for the evidence of each assumption, what was found before it.
func evidenceEntries(p screen.Page, c state.Checkin) []entry {
	var out []entry
	for _, id := range evidenceOn(p.Kickoff) {
		out = append(out, entry{1, func(f *block.Form) {
			a, _ := p.Kickoff.Assumption(id)
			settings := []block.Setting{block.Optional}
			if found := foundText(p.Kickoff, id); found != "" {
				settings = append(settings, block.Hint(words.Clip(found, 400)))
			}
			f.Select("evidence/"+id, words.Clip(id+": "+a.Text, 150), screen.FigureOf(c.Evidence[p.Viewer][id]), screen.ScaleOptions(screen.ScaleWords(state.Evidence)), settings...)
		}})
	}
	return out
}

// foundText is what the tests of an assumption have found, in few words, and what was
// last learnt: whoever rates the evidence anew has it before them.
func foundText(k state.Kickoff, id string) string {
	var found []string
	for _, t := range k.Backlog.Tests {
		if reports := state.Results(k.Underway, t.N); t.Assumption == id && len(reports) > 0 {
			last := reports[len(reports)-1]
			found = append(found, words.ResultText(k, last))
			if last.Learnt != "" {
				found = append(found, "Learnt: "+words.OneLine(last.Learnt))
			}
		}
	}
	if len(found) == 0 {
		return ""
	}
	return "Found: " + strings.Join(found, " ")
}

// toldEntries ask what else the viewer's reports of this check-in are worth knowing for.
func toldEntries(p screen.Page, c state.Checkin) []entry {
	var out []entry
	for _, t := range p.Kickoff.Backlog.Tests {
		if !slices.ContainsFunc(c.Results, func(r state.TestResult) bool { return r.Test == t.N && r.By == p.Viewer }) {
			continue
		}
		out = append(out, entry{3, func(f *block.Form) {
			stood := lastTold(c, p.Viewer, t.N)
			line := func(name, ask, stood string, settings ...block.Setting) {
				f.Text(name+"/"+strconv.Itoa(t.N), ask, stood, append(settings, block.Optional, block.OneLine, block.Longest(flows.MaxSentence))...)
			}
			line("surprise", words.Clip(t.Assumption+", "+t.Method, 100)+": what surprised you?", stood.Surprise)
			line("quote", "Something that somebody said", stood.Quote, block.Hint("Without a name, and nothing by which they could be known."))
			line("link", "A link", stood.Link)
		}})
	}
	return out
}
