package underway

import (
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/tally"
	"soundings/flows/workdays"
)

// What a page of the check-in means, read back from its entries.

// submitCheckin reads one page and goes on to the next. What stands on a page is
// found by the names of its fields.
func submitCheckin(p screen.Page, v block.Values) (screen.Answer, error) {
	// A page may be one on which nothing is taken, so flows would not refuse it.
	if err := screen.Both(isOpenCheckin, screen.MayTakePart)(p); err != nil {
		return screen.Answer{}, err
	}
	c, _ := openCheckin(p.Kickoff)
	answer := screen.Answer{Errors: map[string]string{}}
	again := false
	for _, t := range p.Kickoff.Backlog.Tests {
		report, given := readResult(p, v, t, &answer)
		if given && flows.SaidAlready(&p.Kickoff, report) && (p.SentBefore == nil || !p.SentBefore()) {
			report.Again, again = p.Args.Sure, !p.Args.Sure
		}
		if given {
			answer.Intents = append(answer.Intents, report)
		}
		readTold(p, v, c, t, given, &answer)
	}
	answer.Intents = append(answer.Intents, readActions(p, v)...)
	answer.Intents = append(append(answer.Intents, readRatings(p, v)...), readForesight(p, v)...)
	if len(answer.Errors) > 0 {
		return screen.Answer{Errors: answer.Errors}, nil
	}
	if again { // the same page once more, before anything of it is taken
		p.Args.Sure = true
		return screen.Answer{Next: next(p)}, nil
	}
	p.Args.Sure = false
	if _, asked := v["more"]; asked {
		p.Args.Choice = strings.Join(v.Choices("more"), " ")
	}
	if at := p.Args.Round + 1; at < len(checkinSheets(p, c)) {
		p.Args.Round = at
		answer.Next = next(p)
	}
	return answer, nil
}

// next is the form at the page that the args name.
func next(p screen.Page) *slack.ModalViewRequest {
	var f block.Form
	drawCheckin(p, &f)
	view := screen.Seal("checkin.report", p, &f)
	return &view
}

// readTold reads the words on a report: on this page's, or on the last of this check-in.
func readTold(p screen.Page, v block.Values, c state.Checkin, t state.Test, given bool, answer *screen.Answer) {
	field := "/" + strconv.Itoa(t.N)
	stood := lastTold(c, p.Viewer, t.N)
	told := stood
	at := ""
	for name, to := range map[string]*string{"learnt": &told.Learnt, "surprise": &told.Surprise, "quote": &told.Quote, "link": &told.Link} {
		if _, asked := v[name+field]; asked {
			at, *to = max(at, name+field), v.Text(name+field)
		}
	}
	reported := slices.ContainsFunc(c.Results, func(r state.TestResult) bool { return r.Test == t.N && r.By == p.Viewer })
	switch {
	case told == stood:
	case given && told.Learnt != "": // a further report has words of its own
		told = state.Told{Learnt: told.Learnt}
	case !given && !reported:
		answer.Errors[at] = "Give the result as well: what you learnt stands beside it."
		return
	}
	if told != stood {
		answer.Intents = append(answer.Intents, flows.TellResult{By: screen.By(p), Checkin: p.Args.N, Test: t.N, Told: told})
	}
}

// readActions reads which actions are done, and which get a new day.
func readActions(p screen.Page, v block.Values) []flows.Intent {
	var out []flows.Intent
	for _, b := range v.Blocks("action/") {
		n, _ := strconv.Atoi(strings.TrimPrefix(b, "action/"))
		a := lists.Nth(p.Kickoff.Actions, n)
		switch said := v.Choice(b); {
		case a == nil || said == "":
		case said == done:
			out = append(out, flows.FinishAction{By: screen.By(p), N: n})
		default:
			out = append(out, flows.EditAction{By: screen.By(p), N: n, What: a.What, Owner: a.Owner, Due: workdays.Day(said)})
		}
	}
	return out
}

// readRatings reads evidence, what is new, and confidence.
func readRatings(p screen.Page, v block.Values) []flows.Intent {
	var out []flows.Intent
	evidence := map[string]int{}
	for _, b := range v.Blocks("evidence/") {
		if value, ok := v.Number(b); ok {
			evidence[strings.TrimPrefix(b, "evidence/")] = value
		}
	}
	if len(evidence) > 0 {
		out = append(out, flows.RerateEvidence{By: screen.By(p), Checkin: p.Args.N, Evidence: evidence})
	}
	fresh := map[string]state.Marking{}
	for _, id := range tally.ToPlace(&p.Kickoff, p.Args.N) {
		importance, _ := v.Number("importance/" + id)
		evidence, _ := v.Number("known/" + id)
		if importance+evidence > 0 {
			fresh[id] = state.Marking{Importance: importance, Evidence: evidence}
		}
	}
	if len(fresh) > 0 {
		out = append(out, flows.RateNew{By: screen.By(p), Checkin: p.Args.N, Ratings: fresh})
	}
	if confidence, ok := v.Number("confidence"); ok {
		out = append(out, flows.VoteConfidence{By: screen.By(p), Checkin: p.Args.N, Confidence: confidence})
	}
	return out
}
