package screens

import (
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/prompts"
)

// A gist of the unsigned reasons under a split: the lead may ask for one, and
// decides whether it stands in the thread.

// mostGists is how many splits a desk offers to sum up: a row of buttons.
const mostGists = 5

// offerGists puts a button onto a lead's desk for each split with unsigned
// reasons enough.
func offerGists(m Posting, p Page) Posting {
	ids := p.Kickoff.ToSumUp()
	if mayLead(p) != nil || len(ids) == 0 || p.Kickoff.DraftsLeft(flows.DraftGist, p.Viewer) == 0 {
		return m
	}
	var row []*slack.ButtonBlockElement
	for i, id := range words.FirstOf(ids, mostGists) {
		args := stageArgs(p, flows.StageRating)
		args.Assumption = id
		row = append(row, button("Sum Up "+words.Clip(id, 16), fmt.Sprintf("%s%s/%d", draftVerb, flows.DraftGist, i+1), args))
	}
	return onDesk(m, "Reasons without a name can be summed up in two sentences by a model. You alone see the draft, and you decide whether it is posted.", row)
}

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

func sentOfReasons(p Page, a flows.Assumption) []string {
	return append([]string{a.Text}, p.Kickoff.UnsignedReasons(a.ID)...)
}

// gistInThread shows the gist that stands already, which may be changed.
func gistInThread(p Page, a flows.Assumption) []slack.Block {
	gist, ok := p.Kickoff.Gists[a.ID]
	if !ok {
		return nil
	}
	args := stageArgs(p, flows.StageRating)
	args.Assumption = a.ID
	return []slack.Block{block.Para(block.Bold("In the thread now")), block.Quote(block.Typed(gist.Text, 700)),
		block.Buttons(button("Change It by Hand", "open/rating.gist", args)), block.Divider()}
}

// longestGist is how long a gist may be, in characters; flows says so as well.
const longestGist = 600

// useGist shows the draft beside the reasons; without one, the way by hand.
func useGist(p Page, a flows.Assumption) (string, []slack.Block) {
	name, draft := "Your gist", lastDraft(p.Args)
	if draft != "" {
		name = "The draft"
	}
	return "Sum up the reasons", gistInputs(p, a, name, draft)
}

// gistInputs are the field for a gist, what to look for, and the reasons to
// compare it with.
func gistInputs(p Page, a flows.Assumption, name, text string) []slack.Block {
	const most = 20
	reasons := p.Kickoff.UnsignedReasons(a.ID)
	blocks := []slack.Block{
		textInput(roundField(p, "gist"), name, text, true, longestGist, block.Hint("Two sentences. “Not Now” leaves the thread as it is.")),
		block.Para(block.Bold("Before you post it, see that")), listing(prompts.GistRules()),
		block.Divider(), block.Para(block.Bold("%s ", a.ID), block.Typed(a.Text, 600)), block.Para(block.Bold("The reasons without a name")),
	}
	for _, r := range words.FirstOf(reasons, most) {
		blocks = append(blocks, block.Quote(block.Typed(r, 600)))
	}
	if left := len(reasons) - most; left > 0 {
		blocks = append(blocks, block.Text("And %d more.", left))
	}
	return blocks
}

func submitGist(p Page, v block.Values) (Answer, error) {
	return postedGist(p, v, flows.Gist{Text: lastDraft(p.Args), Drafted: true})
}

// postedGist reads a gist: as a machine's draft where one stood in the form and
// was not changed.
func postedGist(p Page, v block.Values, stood flows.Gist) (Answer, error) {
	text, same := usedText(v.Text(roundField(p, "gist")), stood.Text)
	return Answer{Intents: []flows.Intent{flows.PostGist{ByLead: byLead(p), Assumption: p.Args.Assumption, Text: text, Drafted: same && stood.Drafted}}, CloseAll: true}, nil
}

func openGistEdit(p Page) (slack.ModalViewRequest, error) {
	a, err := mayGist(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	return form("Change the gist", "Save", gistInputs(p, a, "In the thread", p.Kickoff.Gists[a.ID].Text)...), nil
}

func submitGistEdit(p Page, v block.Values) (Answer, error) {
	return postedGist(p, v, p.Kickoff.Gists[p.Args.Assumption])
}

// gistMessage is a gist in the thread of its split. It says whose words it
// is in.
func gistMessage(p Page, id string) (Posting, error) {
	gist, ok := p.Kickoff.Gists[id]
	if !ok {
		return Posting{}, fmt.Errorf("there is no gist of %q", id)
	}
	from := "Written by " + words.Clip(p.Kickoff.Name(gist.By), 60) + ", who leads."
	if gist.Drafted {
		from = "A machine's draft, read and posted by " + words.Clip(p.Kickoff.Name(gist.By), 60) + "."
	}
	return Posting{
		Text:   block.Escape(fmt.Sprintf("%s, the reasons without a name in short: %s %s", id, words.Clip(gist.Text, 250), from)),
		Blocks: []slack.Block{block.Para(block.Bold("The reasons without a name, in short")), block.Quote(block.Typed(gist.Text, longestGist)), block.Note(from)},
	}, nil
}
