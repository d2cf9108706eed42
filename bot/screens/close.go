package screens

import (
	"fmt"
	"strconv"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/flows"
)

func closeForms() map[string]Form {
	return map[string]Form{
		"close.action":  {May: mayAct, Fill: newAction, Again: "Noted. Another action?"},
		"close.list":    {Fill: listActions},
		"close.edit":    {May: both(hasAction, mayTakePart), Fill: changedAction},
		"close.outside": {May: both(mayLead, answering(flows.StageClose)), Fill: postedOutside},
		previewAll:      {May: mayRevise, Fill: drawPreview, Submit: submitWay},
		previewPart:     {May: both(mayRevise, hasPart), Fill: drawPart, Submit: submitWay},
		previewChange:   {May: both(mayRevise, hasChange), Fill: drawChange, Submit: submitChange},
	}
}

var closeActions = map[string]action{
	"close.post": func(p Page) (flows.Intent, string) {
		return flows.PostSummary{ByLead: byLead(p)}, "The summary is on its way into the channel, and the time box has begun."
	},
}

// closeAsks asks for the next steps; the lead posts the summary.
func closeAsks(p Page) (asking, error) {
	args := stageArgs(p, flows.StageClose)
	return asking{
		ask:     fmt.Sprintf("Note what you will do next, and until when. Then %s posts the summary.", words.LeadName(p.Kickoff)),
		why:     "A kickoff without a next step is soon forgotten. The summary goes into this channel, and the time box begins with it.",
		minutes: 3,
		body:    block.Drawn(report.Actions(p.Kickoff, 12)),
		buttons: []*slack.ButtonBlockElement{button("Add an Action", "open/close.action", args), button("See the Actions", "open/close.list", args)},
		note:    "If nobody posts the summary, it is posted at the close as it stands.",
		closed:  "The summary is posted in this channel, with all the actions, and the time box has begun.",
	}, nil
}

// closeNudge offers a lead, who has to close the kickoff, to see the summary
// as well; a reminder has no room for that.
func closeNudge(p Page) nudge {
	n := owed(p, "Note who does what next, then post the summary.", 5, hereButton(p, "Add an Action", "open/close.action"))
	if p.Kickoff.IsLead(p.Viewer) {
		n.home = []*slack.ButtonBlockElement{button("Preview the Summary", "open/close.preview", stageArgs(p, flows.StageClose))}
	}
	return n
}

// closeSettles is the lead's side of the close: preview and post.
func closeSettles(p Page) (settling, error) {
	k := p.Kickoff
	w, ok := windowOf(k, flows.StageClose, 0)
	switch {
	case ok && !w.Closed.IsZero() && k.Stage != flows.StageClose:
		return settling{title: "The summary", over: "It is posted, and the time box has begun."}, nil
	case !ok || !takesAnswers(k, w):
		return settling{title: "The summary", over: "An earlier stage is open again, so this has to wait."}, nil
	}
	args := stageArgs(p, flows.StageClose)
	body := []slack.Block{
		block.Text("Look through the summary, change what is not right yet, then post it. It goes into the channel, is pinned there, and the time box begins."),
		block.Para(block.Bold("Closes by itself "), block.When(w.Closes), block.Plain(": the summary is posted then as it stands."))}
	body = append(body, looseBlocks(k)...)
	post := block.Confirm(button("Post the Summary", "do/close.post", args), "Post the summary?", "It goes to everyone in the channel, and the time box begins.", "Post It")
	return settling{
		title: "Close the kickoff",
		ask:   "look through the summary, then post it.", without: "It is posted by itself", until: w.Closes,
		body: append(body, block.Buttons(block.Primary(button("Preview the Summary", "open/close.preview", args)), post, button("Add an Action", "open/close.action", args))),
	}, nil
}

// looseBlocks list what is incomplete before the summary goes out.
func looseBlocks(k flows.Kickoff) []slack.Block {
	var gaps []string
	add := func(format string, args ...any) { gaps = append(gaps, fmt.Sprintf(format, args...)) }
	if len(k.StandingActions()) == 0 {
		add("No action has been noted.")
	}
	if n := len(k.Brief.OpenQuestions()); n > 0 {
		add("%s without an answer; the summary carries on with them.", words.Count(n, "question is", "questions are"))
	}
	if ids := words.Untested(k); len(ids) > 0 {
		add("No test for %s, though they come first.", words.Listed(ids, 8))
	}
	if k.Timebox.StopIf == "" || k.Timebox.BuildIf == "" {
		add("What would make us stop, or build, is not written down.")
	}
	if len(gaps) == 0 {
		return nil
	}
	return []slack.Block{block.Text("Still loose:"), block.Sentences(gaps)}
}

// mayAct lets people note actions at the close and underway, since plans grow.
func mayAct(p Page) error {
	if p.Kickoff.Stage != flows.StageUnderway {
		return mayAnswer(p, flows.StageClose)
	}
	return mayTakePart(p)
}

func newAction(p Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Add an action", "Add"
	viewer, ok := p.Kickoff.Person(p.Viewer)
	if !ok {
		viewer = p.Kickoff.Lead()
	}
	inAWeek := flows.LocalDay(p.Now.In(p.Kickoff.HoursOf(viewer).Zone).AddDate(0, 0, 7).Format(time.DateOnly))
	a := actionEntries(f, flows.Action{Owner: p.Viewer, Due: inAWeek})
	return flows.AddAction{By: by(p), What: a.What, Owner: a.Owner, Due: a.Due}
}

// actionEntries ask for the three parts of an action.
func actionEntries(f *block.Form, a flows.Action) flows.Action {
	a.What = f.Text("what", "What will be done?", a.What)
	a.Owner = f.Person("owner", "Who does it?", a.Owner)
	a.Due = f.Day("due", "Until when?", a.Due)
	return a
}

// listActions lists the actions, with a button on those that the viewer may
// change.
func listActions(p Page, f *block.Form) flows.Intent {
	k, args := p.Kickoff, stageArgs(p, flows.StageClose)
	f.Title = "The actions"
	f.Add(block.Rows(k.StandingActions(), mostEntries, func(a flows.Action) ([]block.Run, *slack.ButtonBlockElement) {
		if a.Owner != p.Viewer && !k.IsLead(p.Viewer) {
			return block.Runs(report.ActionText(k, a)), nil
		}
		args.N = a.N
		return block.Runs(report.ActionText(k, a)), button("Change", "open/close.edit", args)
	})...)
	if len(f.Blocks) == 0 {
		f.Add(block.Text("No action has been noted yet. Press Add an Action in the channel to note the first one."))
	}
	return nil
}

func hasAction(p Page) error {
	if a, err := numbered(p.Kickoff.Actions, "action", strconv.Itoa(p.Args.N)); err != nil || a.Withdrawn {
		return refusal("That action is not on the list.")
	}
	return nil
}

func changedAction(p Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Change an action", "Save"
	a, _ := numbered(p.Kickoff.Actions, "action", strconv.Itoa(p.Args.N))
	a = actionEntries(f, a)
	return flows.EditAction{By: by(p), N: p.Args.N, What: a.What, Owner: a.Owner, Due: a.Due}
}

// mostEntries is how many entries a form lists, of two blocks each.
const mostEntries = 40
