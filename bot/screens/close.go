package screens

import (
	"fmt"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/flows"
)

func closeForms() map[string]Form {
	return map[string]Form{
		"close.action":  {Open: openNewAction, Submit: submitNewAction, More: moreActions},
		"close.list":    {Open: openActions, Submit: nothingToSubmit},
		"close.edit":    {Open: openAction, Submit: submitAction},
		"close.outside": {Open: openOutside, Submit: submitOutside},
	}
}

func closeDeeds() map[string]deed {
	return map[string]deed{
		"close.post": func(p Page) (flows.Intent, string) {
			return flows.PostSummary{ByLead: byLead(p)}, "The summary is on its way into the channel, and the time box has begun."
		},
	}
}

// closeMessage asks for the next steps; the lead posts the summary.
func closeMessage(p Page) (Posting, error) {
	args := stageArgs(p, flows.StageClose)
	title := stageName(flows.StageClose)
	if w, ok := windowOf(p.Kickoff, flows.StageClose, 0); ok && !takesAnswers(p.Kickoff, w) {
		return line(p, title, "The summary is posted in this channel, with all the actions, and the time box has begun."), nil
	}
	return asking{
		stage:   flows.StageClose,
		title:   title,
		ask:     fmt.Sprintf("Note what you will do next, and until when. Then %s posts the summary.", leadName(p.Kickoff)),
		why:     "A kickoff without a next step is soon forgotten. The summary goes into this channel, and the time box begins with it.",
		minutes: 3,
		body:    actionList(p.Kickoff, 12),
		buttons: []*slack.ButtonBlockElement{button("Add an Action", "open/close.action", args), button("See the Actions", "open/close.list", args)},
		note:    "If nobody posts the summary, it is posted at the close as it stands.",
	}.posting(p), nil
}

// actionList is the actions with their owners and days.
func actionList(k flows.Kickoff, most int) []slack.Block {
	if len(k.StandingActions()) == 0 {
		return []slack.Block{para(italic("No action has been noted yet."))}
	}
	var items [][]word
	for _, a := range firstOf(k.StandingActions(), most) {
		items = append(items, actionWords(k, a))
	}
	return withMore(items, len(k.StandingActions()))
}

func actionWords(k flows.Kickoff, a flows.Action) []word {
	return []word{typed(a.What, 200), plain(". "), boldTyped(k.Name(a.Owner), 40), plain(", until %s", shortDay(a.Due))}
}

// shortDay writes a date that somebody chose: it is nobody's moment, so no
// time zone can shift it.
func shortDay(d flows.LocalDay) string {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return string(d)
	}
	return t.Format("Mon 2 Jan")
}

// closeSettle is the lead's side of the close: preview and post.
func closeSettle(p Page) (Posting, error) {
	k := p.Kickoff
	w, ok := windowOf(k, flows.StageClose, 0)
	switch {
	case ok && !w.Closed.IsZero() && k.Stage != flows.StageClose:
		return line(p, "The summary", "It is posted, and the time box has begun."), nil
	case !ok || !takesAnswers(k, w):
		return line(p, "The summary", "An earlier stage is open again, so this has to wait."), nil
	}
	args := stageArgs(p, flows.StageClose)
	blocks := []slack.Block{heading("Close the kickoff"),
		para(plain("Look through the summary, change what is not right yet, then post it. It goes into the channel, is pinned there, and the time box begins.")),
		para(bold("Closes by itself "), when(w.Closes), plain(": the summary is posted then as it stands."))}
	if gaps := loose(k); len(gaps) > 0 {
		blocks = append(blocks, para(plain("Still loose:")), bullets(gaps...))
	}
	post := confirming(button("Post the Summary", "do/close.post", args), "Post the summary?", "It goes to everyone in the channel, and the time box begins.", "Post It")
	return Posting{
		Text:   escape(fmt.Sprintf("%s: look through the summary, then post it. ", clip(k.Brief.Title, 80))) + "It is posted by itself " + whenText(w.Closes) + ".",
		Blocks: append(blocks, buttons(primary(button("Preview the Summary", "open/close.preview", args)), post, button("Add an Action", "open/close.action", args))),
	}, nil
}

// loose lists what a lead may want to tie up before the summary goes out.
func loose(k flows.Kickoff) [][]word {
	var gaps [][]word
	add := func(format string, args ...any) { gaps = append(gaps, []word{plain(format, args...)}) }
	if len(k.StandingActions()) == 0 {
		add("No action has been noted.")
	}
	if n := len(k.Brief.OpenQuestions()); n > 0 {
		add("%s without an answer; the summary carries on with them.", count(n, "question is", "questions are"))
	}
	if ids := untested(k); len(ids) > 0 {
		add("No test for %s, though they come first.", listed(ids, 8))
	}
	if k.Timebox.StopIf == "" || k.Timebox.BuildIf == "" {
		add("What would make us stop, or build, is not written down.")
	}
	return gaps
}

func openNewAction(p Page) (slack.ModalViewRequest, error) {
	if p.Kickoff.Stage != flows.StageUnderway { // plans grow while it is
		if err := mayAnswer(p, flows.StageClose); err != nil {
			return slack.ModalViewRequest{}, err
		}
	}
	return newActionForm(p), mayTakePart(p)
}

func newActionForm(p Page) slack.ModalViewRequest {
	return form("Add an action", "Add", actionInputs(flows.Action{Owner: p.Viewer, Due: inAWeek(p)})...)
}

// inAWeek is the day that an action is offered with.
func inAWeek(p Page) flows.LocalDay {
	return flows.LocalDay(p.Now.In(zoneOf(p)).AddDate(0, 0, 7).Format(time.DateOnly))
}

// zoneOf is the time zone of whoever looks at the page.
func zoneOf(p Page) *time.Location {
	viewer, ok := p.Kickoff.Person(p.Viewer)
	if !ok {
		viewer = p.Kickoff.Lead()
	}
	return viewer.Hours().Zone
}

func actionInputs(a flows.Action) []slack.Block {
	return []slack.Block{
		textInput("what", "What will be done?", a.What, true, flows.MaxText),
		personInput("owner", "Who does it?", a.Owner),
		dayInput("due", "Until when?", a.Due),
	}
}

func submitNewAction(p Page, v Values) (Answer, error) {
	return wants(flows.AddAction{By: by(p), What: v.Text("what"), Owner: v.Person("owner"), Due: v.Day("due")})
}

func moreActions(p Page) slack.ModalViewRequest {
	return again(p, "Noted. Another action?", newActionForm(p))
}

// openActions lists the actions, with a button on those that the viewer may
// change.
func openActions(p Page) (slack.ModalViewRequest, error) {
	k := p.Kickoff
	var blocks []slack.Block
	for _, a := range firstOf(k.StandingActions(), 40) {
		blocks = append(blocks, para(actionWords(k, a)...))
		if a.Owner == p.Viewer || k.IsLead(p.Viewer) {
			args := stageArgs(p, flows.StageClose)
			args.N = a.N
			blocks = append(blocks, buttons(button("Change", "open/close.edit", args)))
		}
	}
	switch left := len(k.StandingActions()) - 40; {
	case len(k.StandingActions()) == 0:
		blocks = append(blocks, para(plain("No action has been noted yet. Press Add an Action in the channel to note the first one.")))
	case left > 0:
		blocks = append(blocks, para(plain("And %d more.", left)))
	}
	return form("The actions", "", blocks...), nil
}

func openAction(p Page) (slack.ModalViewRequest, error) {
	at := slices.IndexFunc(p.Kickoff.Actions, func(a flows.Action) bool { return a.N == p.Args.N && !a.Withdrawn })
	if at < 0 {
		return slack.ModalViewRequest{}, refusal("That action is not on the list.")
	}
	return form("Change an action", "Save", actionInputs(p.Kickoff.Actions[at])...), mayTakePart(p)
}

func submitAction(p Page, v Values) (Answer, error) {
	return wants(flows.EditAction{By: by(p), N: p.Args.N, What: v.Text("what"), Owner: v.Person("owner"), Due: v.Day("due")})
}
