package screens

import (
	"encoding/json"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// The question whether to go on where people of another company read along.

// Ask draws the question that stands behind a refusal, for the form in which
// it was met; the empty form is a button. values are what was entered there.
func Ask(form string, p Page, values Values) (slack.ModalViewRequest, error) {
	if form == "brief.start" {
		return askStart(p, values), nil
	}
	return Open("close.outside", p)
}

// longestAnswer is what the answer to a form may weigh, in bytes: an envelope
// of Socket Mode holds 20 kB.
const longestAnswer = 18_000

// askStart is the form that begins a kickoff once more, as it was filled in:
// to go on in this channel takes one tap, to take another one choice. It is
// long, and nobody knows how far somebody has scrolled: so its title and its
// button say what it asks, and the choice stands right above the button.
//
// Fields keep what was typed since they are the same fields; it is written
// into them again where the answer has room for that.
func askStart(p Page, v Values) slack.ModalViewRequest {
	if chosen := v.Channel("channel"); chosen != "" {
		p.Args.Choice = chosen
	}
	p.Args.Sure = true
	around := func(inputs []slack.Block) slack.ModalViewRequest {
		blocks := append([]slack.Block{
			heading("Another company reads this channel"),
			para(plain("It is shared, or about to be. People of another company would read the brief, the questions, the assumptions and the results.")),
		}, inputs...)
		return form("Others read along", "Start Anyway", append(blocks, channelInput("channel", "Start in another channel?", optional,
			hint("People of another company read this one. To go on here all the same, leave this as it is.")))...)
	}
	view := around(startInputs(briefFrom(v), v.People("people"), v.Choice("pace"), v.Text("markdown")))
	if data, err := json.Marshal(view); err != nil || len(data) > longestAnswer {
		view = around(startInputs(flows.Brief{}, nil, "1", ""))
	}
	return seal("brief.start", p, view)
}

// openOutside asks before the summary is posted where others read it.
func openOutside(p Page) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	if err := mayAnswer(p, flows.StageClose); err != nil {
		return slack.ModalViewRequest{}, err
	}
	view := form("Post the summary?", "Post It There",
		heading("Another company reads this channel"),
		para(plain("Its people would read the summary: the problem, who does what, the map, the tests, the time box, the open questions and the next steps, and get the files.")),
		para(plain("To keep it inside, press Not Now and stop sharing the channel; then post it.")))
	view.Close = label("Not Now")
	return view, nil
}

func submitOutside(p Page, _ Values) (Answer, error) {
	return wants(flows.PostSummary{ByLead: byLead(p), GoOn: true})
}
