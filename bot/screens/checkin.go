package screens

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// The form of a check-in: results of the viewer's tests, evidence that
// changed, confidence in the whole.

// A form holds 100 blocks: each test takes three, each assumption one.
const (
	mostReported = 18
	mostRerated  = 40
	formBlocks   = 100
)

// openCheckin is the check-in that takes answers now.
func openCheckin(k flows.Kickoff) (flows.Checkin, bool) {
	if n := len(k.Underway.Checkins); n > 0 && k.Underway.Checkins[n-1].Closed.IsZero() && k.Stage == flows.StageUnderway {
		return k.Underway.Checkins[n-1], true
	}
	return flows.Checkin{}, false
}

func openReport(p Page) (slack.ModalViewRequest, error) {
	c, ok := openCheckin(p.Kickoff)
	if !ok || p.Args.N != c.N {
		return slack.ModalViewRequest{}, refusal("That check-in has closed. The next one is announced in the channel.")
	}
	blocks := reportInputs(p, c)
	blocks = append(blocks, evidenceInputs(p, c)...)
	blocks = append(blocks, confidenceInput(p, c))
	blocks = append(blocks, otherInputs(p, c, formBlocks-len(blocks))...)
	return form(fmt.Sprintf("Check-in %d", c.N), "Report", blocks...), mayTakePart(p)
}

// reportable lists the tests whose results the viewer may be asked for: their
// own, and for a lead all. Those without a result come first, so that in a
// long list nothing is out of reach for ever.
func reportable(p Page) (tests []flows.Test, left int) {
	k := p.Kickoff
	var done []flows.Test
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			_, reported := k.Underway.ResultOf(t.N)
			switch {
			case t.Owner != p.Viewer && !k.IsLead(p.Viewer):
			case reported:
				done = append(done, t)
			default:
				tests = append(tests, t)
			}
		}
	}
	tests = append(tests, done...)
	return firstOf(tests, mostReported), max(0, len(tests)-mostReported)
}

func reportInputs(p Page, c flows.Checkin) []slack.Block {
	tests, left := reportable(p)
	if len(tests) == 0 {
		return nil
	}
	blocks := []slack.Block{para(bold("Your tests. "), plain("How many of how many? Leave out what has no result yet."))}
	for _, t := range tests {
		k, n := "", ""
		for _, r := range c.Results {
			if r.Test == t.N {
				k, n = strconv.Itoa(r.K), strconv.Itoa(r.N)
			}
		}
		name := t.Assumption + ", " + clip(t.Method, flows.MaxTitle)
		blocks = append(blocks,
			numberInput(fmt.Sprintf("k/%d", t.N), name+": how many did?", k, false, "0", "1000000", optional),
			numberInput(fmt.Sprintf("n/%d", t.N), name+": of how many?", n, false, "1", "1000000", optional,
				hint("Counts as support: "+passMark(t)+".")))
	}
	if left > 0 {
		blocks = append(blocks, note(fmt.Sprintf("%d more tests follow once these have results: open the form again then.", left)))
	}
	return blocks
}

// rerated lists the assumptions that have a test: there evidence is most
// likely to have moved.
func rerated(k flows.Kickoff) []string {
	var ids []string
	for _, id := range k.Order() {
		if _, scored := k.Scored(id); scored && len(k.TestsOf(id)) > 0 {
			ids = append(ids, id)
		}
	}
	return firstOf(ids, mostRerated)
}

func evidenceInputs(p Page, c flows.Checkin) []slack.Block {
	ids := rerated(p.Kickoff)
	if len(ids) == 0 {
		return nil
	}
	blocks := []slack.Block{para(bold("The evidence. "), plain("How solid is what we know today? Leave out what has not changed."))}
	return append(blocks, ratingInputs(p, c, ids)...)
}

// otherInputs offers the assumptions without a test, as far as there is room:
// people also learn what nobody set out to find.
func otherInputs(p Page, c flows.Checkin, room int) []slack.Block {
	tested := rerated(p.Kickoff)
	var ids []string
	for _, id := range p.Kickoff.Order() {
		if _, scored := p.Kickoff.Scored(id); scored && !slices.Contains(tested, id) {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 || room < 2 {
		return nil
	}
	blocks := []slack.Block{para(bold("Learnt something else? "), plain("You can stop here. Below are the other assumptions, for what came up by the way."))}
	return append(blocks, ratingInputs(p, c, firstOf(ids, room-1))...)
}

// ratingInputs asks for the evidence of each assumption.
func ratingInputs(p Page, c flows.Checkin, ids []string) []slack.Block {
	var blocks []slack.Block
	for _, id := range ids {
		a, _ := p.Kickoff.Assumption(id)
		initial := ""
		if own := c.Evidence[p.Viewer][id]; own > 0 {
			initial = strconv.Itoa(own)
		}
		blocks = append(blocks, selectInput("evidence/"+id, clip(id+": "+a.Text, 150), initial, scaleOptions(scaleWords(flows.Evidence)), optional))
	}
	return blocks
}

// scaleOptions are 1 to 9, with the words that some of them have.
func scaleOptions(words map[int]string) []option {
	options := make([]option, 9)
	for i := range options {
		text := strconv.Itoa(i + 1)
		if means := words[i+1]; means != "" {
			text += " · " + means
		}
		options[i] = option{Value: strconv.Itoa(i + 1), Text: text}
	}
	return options
}

// confidenceInput asks everybody who opens the form. It may stay empty, so
// that a result can be reported today and an opinion formed tomorrow; the core
// team is waited for.
func confidenceInput(p Page, c flows.Checkin) slack.Block {
	initial := ""
	if own := c.Confidence[p.Viewer]; own > 0 {
		initial = strconv.Itoa(own)
	}
	more := []inputOption{optional, hint("All in all, would this be worth building? Nobody sees it before the check-in closes.")}
	return selectInput("confidence", "How confident are you?", initial,
		scaleOptions(map[int]string{1: "not at all", 5: "could go either way", 9: "quite sure"}), more...)
}

func submitReport(p Page, v Values) (Answer, error) {
	answer := Answer{Errors: map[string]string{}}
	for _, block := range v.Blocks("k/") {
		readResult(p, v, strings.TrimPrefix(block, "k/"), &answer)
	}
	evidence := map[string]int{}
	for _, block := range v.Blocks("evidence/") {
		if value, ok := v.Number(block); ok {
			evidence[strings.TrimPrefix(block, "evidence/")] = value
		}
	}
	if len(evidence) > 0 {
		answer.Intents = append(answer.Intents, flows.RerateEvidence{By: by(p), Checkin: p.Args.N, Evidence: evidence})
	}
	if confidence, ok := v.Number("confidence"); ok {
		answer.Intents = append(answer.Intents, flows.VoteConfidence{By: by(p), Checkin: p.Args.N, Confidence: confidence})
	}
	if len(answer.Errors) > 0 {
		answer.Intents = nil
	}
	return answer, nil
}

// readResult reads one test's k of n, or notes at which field it makes no
// sense.
func readResult(p Page, v Values, test string, answer *Answer) {
	kBlock, nBlock := "k/"+test, "n/"+test
	k, hasK := v.Number(kBlock)
	n, hasN := v.Number(nBlock)
	number, err := strconv.Atoi(test)
	switch {
	case err != nil || !hasK && !hasN && v.Text(kBlock) == "" && v.Text(nBlock) == "":
	case !hasK:
		answer.Errors[kBlock] = "Please give a whole number: how many did?"
	case !hasN:
		answer.Errors[nBlock] = "Please give a whole number: of how many?"
	case n < 1:
		answer.Errors[nBlock] = "This is at least 1. Leave both empty if there is no result yet."
	case k > n || k < 0:
		answer.Errors[kBlock] = fmt.Sprintf("This is 0 to %d, as there were %d in all.", n, n)
	default:
		answer.Intents = append(answer.Intents, flows.ReportResult{By: by(p), Checkin: p.Args.N, Test: number, K: k, N: n})
	}
}
