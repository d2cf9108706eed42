package underway

import (
	"fmt"
	"slices"
	"strconv"

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

// resultEntry asks for one report in the words of its pass mark.
func resultEntry(f *block.Form, t state.Test, name string, settings ...block.Setting) {
	field := strconv.Itoa(t.N)
	switch {
	case t.YesNo:
		f.Select("yes/"+field, name+": yes or no?", "", []block.Option{{Value: "yes", Text: "Yes"}, {Value: "no", Text: "No"}}, settings...)
	case t.Bound.Unit != "":
		f.Decimal("figure/"+field, fmt.Sprintf("%s: how much, in %s?", name, t.Bound.Unit), "", settings...)
	default:
		f.Figure("k/"+field, name+": how many did?", "", "0", "1000000", settings[0])
		f.Figure("n/"+field, name+": of how many?", "", "1", "1000000", settings...)
	}
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
	figure, err := screen.Number(text)
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
