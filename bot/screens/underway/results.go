package underway

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// Reports of tests: what was found since the last one, then what was learnt from
// it, and a report that corrects another.

// resultList is what tests showed, against the pass marks that were fixed
// before, and what was learnt.
func resultList(k state.Kickoff, c state.Checkin) []slack.Block {
	return block.List(c.Results, 15, func(r state.TestResult) []block.Run {
		t := k.Backlog.Tests[r.Test-1]
		runs := []block.Run{block.Bold("%s ", t.Assumption), block.Typed(t.Method, 80), block.Plain(": %s", words.ResultText(k, r))}
		for _, said := range []struct{ name, text string }{{"What was wrong", r.Why}, {"Learnt", r.Learnt}, {"A surprise", r.Surprise}, {"Somebody said", r.Quote}, {"See", r.Link}} {
			if said.text != "" {
				runs = append(runs, block.Plain("\n%s: ", said.name), block.Typed(said.text, flows.MaxSentence))
			}
		}
		return runs
	})
}

// reportable lists the tests whose results the viewer may be asked for: their
// own, and for a lead all. Those without a result come first, so that in a
// long list nothing is out of reach for ever.
func reportable(p screen.Page) (tests []state.Test, left int) {
	k := p.Kickoff
	var done []state.Test
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			switch {
			case t.Owner != p.Viewer && !k.IsLead(p.Viewer):
			case len(state.Results(k.Underway, t.N)) > 0:
				done = append(done, t)
			default:
				tests = append(tests, t)
			}
		}
	}
	tests = append(tests, done...)
	return words.FirstOf(tests, mostReported), max(0, len(tests)-mostReported)
}

func resultEntries(f *block.Form, p screen.Page) {
	tests, left := reportable(p)
	if len(tests) == 0 {
		return
	}
	f.Add(block.Para(block.Bold("Your tests. "), block.Plain("What have you found out since the last report? It is added to that. Leave out what has nothing new.")))
	for _, t := range tests {
		hint := "Counts as support: " + words.PassMark(t) + "."
		if found, reported := state.Found(&p.Kickoff, t.N); reported && !found.Each {
			hint = fmt.Sprintf("So far %d of %d. ", found.K, found.N) + hint
		}
		resultEntry(f, t, words.Clip(t.Assumption+", "+t.Method, 120), block.Optional, block.Hint(hint))
	}
	if left > 0 {
		f.Add(block.Note(fmt.Sprintf("%d more tests follow once these have results: open the form again then.", left)))
	}
}

// resultEntry asks for one report in the words of its pass mark.
func resultEntry(f *block.Form, t state.Test, name string, settings ...block.Setting) {
	field := strconv.Itoa(t.N)
	switch {
	case t.YesNo:
		f.Select("yes/"+field, name+": yes or no?", "", []block.Option{{Value: "yes", Text: "Yes"}, {Value: "no", Text: "No"}}, settings...)
	case t.Bound.Unit != "":
		f.Figure("figure/"+field, fmt.Sprintf("%s: how much, in %s?", name, t.Bound.Unit), "", true, "-1000000000000", "1000000000000", settings...)
	default:
		f.Figure("k/"+field, name+": how many did?", "", false, "0", "1000000", settings[0])
		f.Figure("n/"+field, name+": of how many?", "", false, "1", "1000000", settings...)
	}
}

// mostTold is how many reports are asked about in words at once: a form that
// answers another is short.
const mostTold = 8

func submitReport(p screen.Page, v block.Values) (screen.Answer, error) {
	answer := screen.Answer{Errors: map[string]string{}}
	var told []state.Test
	for _, t := range p.Kickoff.Backlog.Tests {
		if report, given := readResult(p, v, t, &answer); given {
			answer.Intents = append(answer.Intents, report)
			told = append(told, t)
		}
	}
	evidence := map[string]int{}
	for _, b := range v.Blocks("evidence/") {
		if value, ok := v.Number(b); ok {
			evidence[strings.TrimPrefix(b, "evidence/")] = value
		}
	}
	if len(evidence) > 0 {
		answer.Intents = append(answer.Intents, flows.RerateEvidence{By: screen.By(p), Checkin: p.Args.N, Evidence: evidence})
	}
	fresh := map[string]state.Marking{}
	for _, id := range flows.ToPlace(&p.Kickoff, p.Args.N) {
		importance, _ := v.Number("importance/" + id)
		evidence, _ := v.Number("known/" + id)
		if importance+evidence > 0 {
			fresh[id] = state.Marking{Importance: importance, Evidence: evidence}
		}
	}
	if len(fresh) > 0 {
		answer.Intents = append(answer.Intents, flows.RateNew{By: screen.By(p), Checkin: p.Args.N, Ratings: fresh})
	}
	if confidence, ok := v.Number("confidence"); ok {
		answer.Intents = append(answer.Intents, flows.VoteConfidence{By: screen.By(p), Checkin: p.Args.N, Confidence: confidence})
	}
	switch {
	case len(answer.Errors) > 0:
		answer.Intents = nil
	case len(told) > 0:
		var f block.Form
		tellEntries(&f, told, nil)
		next := screen.Seal("checkin.told", p, &f)
		answer.Next = &next
	}
	return answer, nil
}

// readResult reads one report, or notes at which field it makes no sense.
func readResult(p screen.Page, v block.Values, t state.Test, answer *screen.Answer) (report flows.ReportResult, given bool) {
	field := strconv.Itoa(t.N)
	report = flows.ReportResult{By: screen.By(p), Checkin: p.Args.N, Test: t.N, N: 1}
	switch yes := v.Choice("yes/" + field); {
	case t.YesNo && yes == "yes":
		report.K = 1
		return report, true
	case t.YesNo:
		return report, yes == "no"
	case t.Bound.Unit == "":
		return readCount(v, report, answer)
	}
	text := v.Text("figure/" + field)
	figure, err := strconv.ParseFloat(text, 64)
	if err != nil && text != "" {
		answer.Errors["figure/"+field] = "Please give a number, such as 12.5."
	}
	report.Figure = figure
	return report, err == nil
}

// readCount reads k of n.
func readCount(v block.Values, report flows.ReportResult, answer *screen.Answer) (flows.ReportResult, bool) {
	kBlock, nBlock := fmt.Sprintf("k/%d", report.Test), fmt.Sprintf("n/%d", report.Test)
	k, hasK := v.Number(kBlock)
	n, hasN := v.Number(nBlock)
	switch {
	case !hasK && !hasN && v.Text(kBlock) == "" && v.Text(nBlock) == "":
	case !hasK:
		answer.Errors[kBlock] = "Please give a whole number: how many did?"
	case !hasN:
		answer.Errors[nBlock] = "Please give a whole number: of how many?"
	case n < 1:
		answer.Errors[nBlock] = "This is at least 1. Leave both empty if there is nothing new."
	case k > n || k < 0:
		answer.Errors[kBlock] = fmt.Sprintf("This is 0 to %d, as there were %d in all.", n, n)
	default:
		report.K, report.N = k, n
		return report, true
	}
	return report, false
}

// tellEntries asks what the reports of these tests are worth knowing for.
func tellEntries(f *block.Form, tests []state.Test, stood map[int]state.Told) {
	f.Title, f.Submit = "What did you learn?", "Save"
	f.Add(block.Text("Your report is saved. A sentence on what you learnt helps everybody more than the figure."))
	for _, t := range words.FirstOf(tests, mostTold) {
		toldEntries(f, t, stood[t.N])
	}
}

// toldEntries are the four fields of a report in words.
func toldEntries(f *block.Form, t state.Test, stood state.Told) state.Told {
	field := fmt.Sprintf("/%d", t.N)
	line := func(name, ask, stood string, settings ...block.Setting) string {
		return f.Text(name+field, ask, stood, append(settings, block.Optional, block.OneLine, block.Longest(flows.MaxSentence))...)
	}
	return state.Told{
		Learnt:   line("learnt", words.Clip(t.Assumption+", "+t.Method, 100)+": what did you learn?", stood.Learnt),
		Surprise: line("surprise", "What surprised you?", stood.Surprise),
		Quote:    line("quote", "Something that somebody said", stood.Quote, block.Hint("Without a name, and nothing by which they could be known.")),
		Link:     line("link", "A link", stood.Link),
	}
}

// drawTold asks about the tests on which the viewer has reported in this check-in.
func drawTold(p screen.Page, f *block.Form) flows.Intent {
	c, _ := openCheckin(p.Kickoff)
	var tests []state.Test
	stood := map[int]state.Told{}
	for _, r := range c.Results {
		t := p.Kickoff.Backlog.Tests[r.Test-1]
		if r.By != p.Viewer {
			continue
		}
		if stood[t.N] = r.Told; !slices.Contains(tests, t) {
			tests = append(tests, t)
		}
	}
	tellEntries(f, tests, stood)
	return nil
}

func submitTold(p screen.Page, v block.Values) (screen.Answer, error) {
	var answer screen.Answer
	f := block.Read(v)
	for _, b := range v.Blocks("learnt/") {
		n, _ := strconv.Atoi(strings.TrimPrefix(b, "learnt/"))
		t, ok := p.Kickoff.Test(n)
		if told := toldEntries(f, t, state.Told{}); ok && told != (state.Told{}) {
			answer.Intents = append(answer.Intents, flows.TellResult{By: screen.By(p), Checkin: p.Args.N, Test: n, Told: told})
		}
	}
	return answer, nil
}

// listReports lists the reports so far, with a button on those that the viewer
// may correct.
func listReports(p screen.Page, f *block.Form) flows.Intent {
	var all []state.TestResult
	for _, c := range slices.Backward(p.Kickoff.Underway.Checkins) {
		all = append(all, c.Results...)
	}
	f.Title = "The reports"
	f.Add(block.Text("A report stays as it was given. If one was wrong, a correction counts in its place and says so."))
	f.Add(block.Rows(all, screen.MostEntries, func(r state.TestResult) ([]block.Run, *slack.ButtonBlockElement) {
		t := p.Kickoff.Backlog.Tests[r.Test-1]
		runs := []block.Run{block.Bold("%s ", t.Assumption), block.Typed(t.Method, 80), block.Plain(": %s", words.GivenText(p.Kickoff, r))}
		args := checkinArgs(p, p.Args.N)
		args.Round = r.Entry
		at := p
		at.Args = args
		if mayCorrect(at) != nil {
			return runs, nil
		}
		return runs, screen.Button("Correct", "open/checkin.correct", args)
	})...)
	return nil
}

// corrected is the report in Args.Round, with its test.
func corrected(p screen.Page) (r state.TestResult, t state.Test, known bool) {
	for _, c := range p.Kickoff.Underway.Checkins {
		if r, known := state.Numbered(c.Results, p.Args.Round); known {
			t, stands := p.Kickoff.Test(r.Test)
			return r, t, stands
		}
	}
	return r, t, false
}

// mayCorrect refuses as flows does.
func mayCorrect(p screen.Page) error {
	r, t, known := corrected(p)
	_, again := state.Correction(state.Results(p.Kickoff.Underway, r.Test), r.Entry)
	if !known || again || t.Owner != "" && p.Kickoff.Takes(t.Owner) && t.Owner != p.Viewer && !p.Kickoff.IsLead(p.Viewer) {
		return screen.Refuse("You cannot correct that report.")
	}
	return nil
}

func drawCorrection(p screen.Page, f *block.Form) flows.Intent {
	r, t, _ := corrected(p)
	f.Title, f.Submit = "Correct a report", "Correct It"
	f.Add(block.Para(block.Bold("%s ", t.Assumption), block.Typed(t.Method, 100), block.Plain(": it said %s. What is right?", words.GivenText(p.Kickoff, r))))
	resultEntry(f, t, "In truth", block.Hint("In the place of "+words.GivenText(p.Kickoff, r)+"."))
	f.Text("why", "What was wrong?", "", block.OneLine, block.Longest(flows.MaxSentence), block.Hint("Everybody sees it beside the correction."))
	return nil
}

func submitCorrection(p screen.Page, v block.Values) (screen.Answer, error) {
	_, t, _ := corrected(p)
	answer := screen.Answer{Errors: map[string]string{}, CloseAll: true}
	report, given := readResult(p, v, t, &answer)
	report.Corrects, report.Why = p.Args.Round, v.Text("why")
	if given {
		answer.Intents = []flows.Intent{report}
	}
	return answer, nil
}
