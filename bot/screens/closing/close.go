// Package closing draws the end of a kickoff: the next steps, the preview in
// which a lead changes the summary, and the summary with its parts. Start with
// [Forms] and [SummaryMessage].
package closing

import (
	"fmt"
	"strconv"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/views"
)

// Forms are the forms of the last stage, by name.
func Forms() map[string]screen.Form {
	return map[string]screen.Form{
		"close.action":  {May: mayAct, Fill: newAction, Again: "Noted. Another action?"},
		"close.list":    {Fill: listActions},
		"close.edit":    {May: screen.Both(hasAction, screen.MayTakePart), Fill: changedAction},
		"close.outside": {May: screen.Both(screen.MayLead, screen.Answering(state.StageClose)), Fill: postedOutside},
		previewAll:      {May: mayRevise, Fill: drawPreview, Submit: submitWay},
		previewPart:     {May: screen.Both(mayRevise, hasPart), Fill: drawPart, Submit: submitWay},
		previewChange:   {May: screen.Both(mayRevise, hasChange), Fill: drawChange, Submit: submitChange},
	}
}

var Actions = map[string]screen.Action{
	"close.done": func(p screen.Page) (flows.Intent, string) {
		return flows.FinishAction{By: screen.By(p), N: p.Args.N}, "Thank you: it is noted as done."
	},
	"close.post": func(p screen.Page) (flows.Intent, string) {
		return flows.PostSummary{ByLead: screen.ByLead(p)}, "The summary is on its way into the channel, and " + followedText(p.Kickoff) + "."
	},
}

// Asks asks for the next steps; the lead posts the summary.
func Asks(p screen.Page) (screen.Asking, error) {
	args := screen.StageArgs(p, state.StageClose)
	return screen.Asking{
		Ask:     fmt.Sprintf("Note what you will do next, and until when. Then %s posts the summary.", words.LeadName(p.Kickoff)),
		Why:     "With the summary " + followsText(p.Kickoff) + ".",
		Minutes: 3,
		Body:    []slack.Block{block.Text("%s so far.", words.Count(len(p.Kickoff.StandingActions()), "action", "actions"))},
		Buttons: []*slack.ButtonBlockElement{screen.Button("Add an Action", "open/close.action", args), screen.Button("See the Actions", "open/close.list", args)},
		Note:    "If nobody posts it, it goes out at the close as it stands.",
		Closed:  "The summary is posted in this channel, with all the actions, and " + followedText(p.Kickoff) + ".",
	}, nil
}

// followsText says what the summary begins, or ends, and followedText that it has.
func followsText(k state.Kickoff) string {
	if k.LeavesOut(state.StageTimebox) {
		return "the kickoff ends"
	}
	return "the time box begins"
}

func followedText(k state.Kickoff) string {
	if k.LeavesOut(state.StageTimebox) {
		return "the kickoff has ended"
	}
	return "the time box has begun"
}

func postingText(k state.Kickoff) string {
	return "It goes to everyone in the channel, and " + followsText(k) + "."
}

// Nudge offers a lead, who has to close the kickoff, to see the summary
// as well; a reminder has no room for that.
func Nudge(p screen.Page) screen.Nudge {
	n := screen.Owed(p, "Note who does what next, then post the summary.", screen.HereButton(p, "Add an Action", "open/close.action"))
	if p.Kickoff.IsLead(p.Viewer) {
		n.Home = []*slack.ButtonBlockElement{screen.Button("Preview the Summary", "open/close.preview", screen.StageArgs(p, state.StageClose))}
	}
	return n
}

// Settles is the lead's side of the close: preview and post.
func Settles(p screen.Page) (screen.Settling, error) {
	k := p.Kickoff
	w, ok := screen.WindowOf(k, state.StageClose, 0)
	switch {
	case ok && !w.Closed.IsZero() && k.Stage != state.StageClose:
		return screen.Settling{Title: "The summary", Over: "It is posted, and " + followedText(k) + "."}, nil
	case !ok || !screen.TakesAnswers(k, w):
		return screen.Settling{Title: "The summary", Over: "An earlier step is open again, so this has to wait."}, nil
	}
	args := screen.StageArgs(p, state.StageClose)
	body := []slack.Block{
		block.Text("Look through the summary, change what is not right yet, then post it. It goes into the channel, is pinned there, and %s.", followsText(k)),
		block.Para(block.Bold("Closes by itself "), block.When(w.Closes), block.Plain(": the summary is posted then as it stands."))}
	body = append(body, looseBlocks(k)...)
	post := block.Confirm(screen.Button("Post the Summary", "do/close.post", args), "Post the summary?", postingText(k), "Post It")
	return screen.Settling{
		Title: "Close the kickoff",
		Ask:   "look through the summary, then post it.", Without: "It is posted by itself", Until: w.Closes,
		Body: append(body, block.Buttons(block.Primary(screen.Button("Preview the Summary", "open/close.preview", args)), post, screen.Button("Add an Action", "open/close.action", args))),
	}, nil
}

// looseBlocks list what is incomplete before the summary goes out.
func looseBlocks(k state.Kickoff) []slack.Block {
	var gaps []string
	add := func(format string, args ...any) { gaps = append(gaps, fmt.Sprintf(format, args...)) }
	if len(k.StandingActions()) == 0 {
		add("No action has been noted.")
	}
	if n := len(views.OpenQuestions(k.Brief)); n > 0 {
		add("%s without an answer.", words.Count(n, "question is", "questions are"))
	}
	if ids := words.Untested(k); len(ids) > 0 && !k.LeavesOut(state.StageBacklog) {
		add("To test first, and without a test: %s.", words.Listed(ids, 8))
	}
	if !k.LeavesOut(state.StageTimebox) && (k.Timebox.StopIf == "" || k.Timebox.BuildIf == "") {
		add("What would make us stop, or build, is not written down.")
	}
	if len(gaps) == 0 {
		return nil
	}
	return []slack.Block{block.Text("Still open:"), block.Sentences(gaps)}
}

// mayAct lets people note actions at the close and underway, since plans grow.
func mayAct(p screen.Page) error {
	if p.Kickoff.Stage != state.StageUnderway {
		return screen.MayAnswer(p, state.StageClose)
	}
	return screen.MayTakePart(p)
}

func newAction(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Add an action", "Add"
	viewer, ok := p.Kickoff.Person(p.Viewer)
	if !ok {
		viewer = p.Kickoff.Lead()
	}
	inAWeek := state.LocalDay(p.Now.In(p.Kickoff.HoursOf(viewer).Zone).AddDate(0, 0, 7).Format(time.DateOnly))
	a := actionEntries(f, state.Action{Owner: p.Viewer, Due: inAWeek})
	return flows.AddAction{By: screen.By(p), What: a.What, Owner: a.Owner, Due: a.Due}
}

// actionEntries ask for the three parts of an action.
func actionEntries(f *block.Form, a state.Action) state.Action {
	a.What = f.Text("what", "What will be done?", a.What)
	a.Owner = f.Person("owner", "Who does it?", a.Owner)
	a.Due = f.Day("due", "Until when?", a.Due)
	return a
}

// listActions lists the actions, with a button on those that the viewer may
// change.
func listActions(p screen.Page, f *block.Form) flows.Intent {
	k, args := p.Kickoff, screen.StageArgs(p, state.StageClose)
	f.Title = "The actions"
	f.Add(block.Rows(k.StandingActions(), screen.MostEntries, func(a state.Action) ([]block.Run, *slack.ButtonBlockElement) {
		if a.Owner != p.Viewer && !k.IsLead(p.Viewer) {
			return block.Runs(report.ActionText(k, a)), nil
		}
		args.N = a.N
		return block.Runs(report.ActionText(k, a)), screen.Button("Change", "open/close.edit", args)
	})...)
	if len(f.Blocks) == 0 {
		f.Add(block.Text("No action has been noted yet. Press Add an Action in the channel to note the first one."))
	}
	return nil
}

func hasAction(p screen.Page) error {
	if a, err := screen.Numbered(p.Kickoff.Actions, "action", strconv.Itoa(p.Args.N)); err != nil || a.Withdrawn {
		return screen.Refuse("That action is not on the list.")
	}
	return nil
}

func changedAction(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Change an action", "Save"
	a, _ := screen.Numbered(p.Kickoff.Actions, "action", strconv.Itoa(p.Args.N))
	a = actionEntries(f, a)
	return flows.EditAction{By: screen.By(p), N: p.Args.N, What: a.What, Owner: a.Owner, Due: a.Due}
}

// postedOutside asks before the summary is posted where others read it.
func postedOutside(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Post the summary?", "Post It There"
	f.Add(block.Heading("Another company reads this channel"),
		block.Text("Its people would read the summary: the problem, who does what, the map, the tests, the time box, the open questions and the next steps, and get the files."),
		block.Text("To keep it inside, press Not Now and stop sharing the channel; then post it."))
	return flows.PostSummary{ByLead: screen.ByLead(p), GoOn: true}
}
