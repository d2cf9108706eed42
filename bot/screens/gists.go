package screens

import (
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/prompts"
)

// A gist of the unsigned reasons under a split: the lead may ask for one, and
// decides whether it stands in the thread.

// offerGists puts a button onto a lead's desk for each split with unsigned
// reasons enough.
func offerGists(m screen.Posting, p screen.Page) screen.Posting {
	ids := flows.ToSumUp(&p.Kickoff)
	if screen.MayLead(p) != nil || len(ids) == 0 || flows.DraftsLeft(&p.Kickoff, state.DraftGist, p.Viewer) == 0 {
		return m
	}
	var row []*slack.ButtonBlockElement
	for i, id := range words.FirstOf(ids, 5) { // a row of buttons
		row = append(row, screen.Button("Sum Up "+words.Clip(id, 16), fmt.Sprintf("%s%s/%d", draftVerb, state.DraftGist, i+1), rating.Args(p, 0, id)))
	}
	return onDesk(m, "Reasons without a name can be summed up in two sentences by a model. You alone see the draft, and you decide whether it is posted.", row)
}

// mayGist refuses a gist of what has no two reasons.
func mayGist(p screen.Page) error {
	if err := screen.MayLead(p); err != nil {
		return err
	}
	if !slices.Contains(flows.ToSumUp(&p.Kickoff), p.Args.Assumption) {
		return screen.Refuse("There are not two reasons without a name here yet, so there is nothing to sum up.")
	}
	return nil
}

func sentOfReasons(p screen.Page, a state.Assumption) []string {
	return append([]string{a.Text}, p.Kickoff.UnsignedReasons(a.ID)...)
}

// gistInThread shows the gist that stands already, which may be changed.
func gistInThread(p screen.Page, a state.Assumption) []slack.Block {
	gist, ok := p.Kickoff.Gists[a.ID]
	if !ok {
		return nil
	}
	return []slack.Block{block.Para(block.Bold("In the thread now")), block.Quote(block.Typed(gist.Text, 700)),
		block.Buttons(screen.Button("Change It by Hand", "open/rating.gist", rating.Args(p, 0, a.ID))), block.Divider()}
}

// longestGist is how long a gist may be, in characters; flows says so as well.
const longestGist = 600

// draftedGist shows the draft beside the reasons; without one, the way by hand.
func draftedGist(p screen.Page, f *block.Form, a state.Assumption) flows.Intent {
	name, draft := "Your gist", lastDraft(p.Args)
	if draft != "" {
		name = "The draft"
	}
	f.Title = "Sum up the reasons"
	return gistEntry(p, f, a, name, state.Gist{Text: draft, Drafted: true})
}

func changedGist(p screen.Page, f *block.Form) flows.Intent {
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	f.Title, f.Submit = "Change the gist", "Save"
	return gistEntry(p, f, a, "In the thread", p.Kickoff.Gists[a.ID])
}

// gistEntry asks for a gist, and shows what to look for and the reasons to
// compare it with. It is read as a machine's draft where one stood in the form
// and was not changed.
func gistEntry(p screen.Page, f *block.Form, a state.Assumption, name string, stood state.Gist) flows.Intent {
	const most = 20
	reasons := p.Kickoff.UnsignedReasons(a.ID)
	text, same := usedText(f.Text(roundField(p, "gist"), name, stood.Text, block.Longest(longestGist),
		block.Hint("Two sentences. “Not Now” leaves the thread as it is.")), stood.Text)
	f.Add(block.Para(block.Bold("Before you post it, see that")), block.Sentences(prompts.GistRules()),
		block.Divider(), block.Para(block.Bold("%s ", a.ID), block.Typed(a.Text, 600)), block.Para(block.Bold("The reasons without a name")))
	for _, r := range words.FirstOf(reasons, most) {
		f.Add(block.Quote(block.Typed(r, 600)))
	}
	if left := len(reasons) - most; left > 0 {
		f.Add(block.Text("And %d more.", left))
	}
	return flows.PostGist{ByLead: screen.ByLead(p), Assumption: p.Args.Assumption, Text: text, Drafted: same && stood.Drafted}
}

// gistMessage is a gist in the thread of its split. It says whose words it
// is in.
func gistMessage(p screen.Page, id string) (screen.Posting, error) {
	gist, ok := p.Kickoff.Gists[id]
	if !ok {
		return screen.Posting{}, fmt.Errorf("there is no gist of %q", id)
	}
	from := "Written by " + words.Clip(p.Kickoff.Name(gist.By), 60) + ", who leads."
	if gist.Drafted {
		from = "A machine's draft, read and posted by " + words.Clip(p.Kickoff.Name(gist.By), 60) + "."
	}
	return screen.Posting{
		Text:   block.Escape(fmt.Sprintf("%s, the reasons without a name in short: %s %s", id, words.Clip(gist.Text, 250), from)),
		Blocks: []slack.Block{block.Para(block.Bold("The reasons without a name, in short")), block.Quote(block.Typed(gist.Text, longestGist)), block.Note(from)},
	}, nil
}
