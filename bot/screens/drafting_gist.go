package screens

import (
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/flows"
	"soundings/prompts"
)

// A gist of the unsigned reasons under a split: the lead may ask for one, and
// decides whether it stands in the thread.

const draftGist = "draft/gist"

func gistForms() map[string]Form {
	return map[string]Form{
		"draft.gist":     {Open: openGist, Submit: submitGist},
		"draft.gist.use": {Open: openGistUse, Submit: submitGistUse},
		"rating.gist":    {Open: openGistEdit, Submit: submitGistEdit},
	}
}

// mostGists is how many splits a desk offers to sum up: a row of buttons.
const mostGists = 5

// offerGists puts a button onto a lead's desk for each split with unsigned
// reasons enough.
func offerGists(m Posting, p Page) Posting {
	ids := p.Kickoff.ToSumUp()
	if mayLead(p) != nil || len(ids) == 0 || gistsLeft(p.Kickoff) == 0 {
		return m
	}
	var row []*slack.ButtonBlockElement
	for i, id := range firstOf(ids, mostGists) {
		args := stageArgs(p, flows.StageRating)
		args.Assumption = id
		row = append(row, button("Sum Up "+clip(id, 16), fmt.Sprintf("%s/%d", draftGist, i+1), args))
	}
	return onDesk(m, "Reasons without a name can be summed up in two sentences by a model. You alone see the draft, and you decide whether it is posted.", row)
}

// onDesk puts a row of buttons above those about people.
func onDesk(m Posting, says string, row []*slack.ButtonBlockElement) Posting {
	at := max(0, len(m.Blocks)-2)
	m.Blocks = slices.Insert(slices.Clone(m.Blocks), at, slack.Block(para(plain("%s", says))), buttons(row...))
	return m
}

func gistsLeft(k flows.Kickoff) int { return max(0, flows.MostGistDrafts-k.GistDrafts) }

// mayGist finds the split that a gist is about.
func mayGist(p Page) (flows.Assumption, error) {
	if err := mayLead(p); err != nil {
		return flows.Assumption{}, err
	}
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok || !slices.Contains(p.Kickoff.ToSumUp(), a.ID) {
		return a, refusal("There are not two reasons without a name here yet, so there is nothing to sum up.")
	}
	return a, nil
}

func openGist(p Page) (slack.ModalViewRequest, error) {
	a, err := mayGist(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	if gistsLeft(p.Kickoff) == 0 {
		return slack.ModalViewRequest{}, refusal("Reasons were summed up %d times in this kickoff, which is the most. You can still reply in the thread yourself.", flows.MostGistDrafts)
	}
	if err := mayAskModel(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	view := request{
		title: "Sum up the reasons",
		says:  fmt.Sprintf("A model says in two sentences what the unsigned reasons about %s say, without taking a side. Only you see the draft. Nothing is posted by itself.", a.ID),
		sent:  append([]string{a.Text}, p.Kickoff.UnsignedReasons(a.ID)...), left: gistsLeft(p.Kickoff),
		more: []string{"The reasons are sent in the order of the alphabet, so that nobody can tell which came first."},
	}.view(p)
	if gist, ok := p.Kickoff.Gists[a.ID]; ok {
		args := stageArgs(p, flows.StageRating)
		args.Assumption = a.ID
		view.Blocks.BlockSet = append([]slack.Block{para(bold("In the thread now")), quoted(typed(gist.Text, 700)),
			buttons(button("Change It by Hand", "open/rating.gist", args)), slack.NewDividerBlock()}, view.Blocks.BlockSet...)
	}
	return view, nil
}

func submitGist(p Page, _ Values) (Answer, error) {
	return awaiting(flows.AskGist{ByLead: byLead(p), Assumption: p.Args.Assumption})
}

// longestGist is how long a gist may be, in characters; flows says so as well.
const longestGist = 600

// openGistUse shows the draft beside the reasons; without one, the way by
// hand.
func openGistUse(p Page) (slack.ModalViewRequest, error) {
	a, err := mayGist(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	draft, drafted := oneDraft(p.Args)
	name, blocks := "Your gist", append(whyNone(p), againRow(p, flows.DraftGist, gistsLeft(p.Kickoff))...)
	if drafted {
		name, blocks = "The draft", []slack.Block{draftedBy(p,
			"Only you see it. Change it as you like. As it is, it stands in the thread as a machine's draft, until a lead changes it.")}
	}
	return form("Sum up the reasons", "Post in the Thread", append(blocks, gistInputs(p, a, name, draft)...)...), nil
}

// gistInputs are the field for a gist, what to look for, and the reasons to
// compare it with.
func gistInputs(p Page, a flows.Assumption, name, text string) []slack.Block {
	const most = 20
	reasons := p.Kickoff.UnsignedReasons(a.ID)
	blocks := []slack.Block{
		textInput(roundField(p, "gist"), name, text, true, longestGist, hint("Two sentences. “Not Now” leaves the thread as it is.")),
		para(bold("Before you post it, see that")), listing(prompts.GistRules()),
		slack.NewDividerBlock(), para(bold("%s ", a.ID), typed(a.Text, 600)), para(bold("The reasons without a name")),
	}
	for _, r := range firstOf(reasons, most) {
		blocks = append(blocks, quoted(typed(r, 600)))
	}
	if left := len(reasons) - most; left > 0 {
		blocks = append(blocks, para(plain("And %d more.", left)))
	}
	return blocks
}

func submitGistUse(p Page, v Values) (Answer, error) {
	draft, _ := oneDraft(p.Args)
	text, drafted := usedText(v.Text(roundField(p, "gist")), draft)
	return Answer{Intents: []flows.Intent{flows.PostGist{ByLead: byLead(p), Assumption: p.Args.Assumption, Text: text, Drafted: drafted}}, CloseAll: true}, nil
}

func openGistEdit(p Page) (slack.ModalViewRequest, error) {
	a, err := mayGist(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	return form("Change the gist", "Save", gistInputs(p, a, "In the thread", p.Kickoff.Gists[a.ID].Text)...), nil
}

func submitGistEdit(p Page, v Values) (Answer, error) {
	now := p.Kickoff.Gists[p.Args.Assumption]
	text, same := usedText(v.Text(roundField(p, "gist")), now.Text)
	return Answer{Intents: []flows.Intent{flows.PostGist{ByLead: byLead(p), Assumption: p.Args.Assumption, Text: text, Drafted: same && now.Drafted}}, CloseAll: true}, nil
}

// gistMessage is a gist in the thread of its split. It says whose words it
// is in.
func gistMessage(p Page, id string) (Posting, error) {
	gist, ok := p.Kickoff.Gists[id]
	if !ok {
		return Posting{}, fmt.Errorf("there is no gist of %q", id)
	}
	from := "Written by " + clip(p.Kickoff.Name(gist.By), 60) + ", who leads."
	if gist.Drafted {
		from = "A machine's draft, read and posted by " + clip(p.Kickoff.Name(gist.By), 60) + "."
	}
	return Posting{
		Text:   escape(fmt.Sprintf("%s, the reasons without a name in short: %s %s", id, clip(gist.Text, 250), from)),
		Blocks: []slack.Block{para(bold("The reasons without a name, in short")), quoted(typed(gist.Text, longestGist)), note(from)},
	}, nil
}
