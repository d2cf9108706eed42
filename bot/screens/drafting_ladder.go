package screens

import (
	"errors"
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

// Drafts of wordings for the ladder.

// OfferDrafting puts buttons for drafts onto a lead's desk: while the ladder
// is being built, and once there are reasons to sum up. It returns every other
// message as it is.
func OfferDrafting(m Posting, k flows.Kickoff, lead flows.UserID) Posting {
	p := Page{Kickoff: k, Viewer: lead}
	if _, err := mayBuildLadder(p); err != nil {
		return offerGists(m, p)
	}
	return onDesk(m, "Stuck on the ladder? A model can draft wordings, for you alone to see. You are shown first what it would be sent.",
		[]*slack.ButtonBlockElement{button("Draft Wordings", draftVerb+flows.DraftLadder, stageArgs(p, flows.StageFraming))})
}

func mayBuildLadder(p Page) (flows.Assumption, error) {
	if err := mayLead(p); err != nil {
		return flows.Assumption{}, err
	}
	return flows.Assumption{}, mayAnswer(p, flows.StageFraming)
}

func sentOfBrief(p Page, _ flows.Assumption) []string {
	if p.Kickoff.Brief.Why == "" {
		return []string{p.Kickoff.Brief.Problem}
	}
	return []string{p.Kickoff.Brief.Problem, p.Kickoff.Brief.Why}
}

// draftLevels are the levels of the drafts, in the order in which they come.
func draftLevels() []int { return []int{2, 1, -1, -2} }

// A draftField is where one draft stands in the form.
type draftField struct {
	level     int
	draft     string
	text, use string // the names of its two fields
}

// draftFields are those of the latest drafts. Args.N counts the requests, so
// that their names differ from round to round: what was typed over one draft
// must not show over another.
func draftFields(a Args) []draftField {
	levels, all := draftLevels(), a.Offered()
	first := len(all) - len(levels)
	if first < 0 {
		return nil
	}
	fields := make([]draftField, len(levels))
	for i, level := range levels {
		name := fmt.Sprintf("/%d/%d", a.N, level)
		fields[i] = draftField{level: level, draft: all[first+i], text: "text" + name, use: "use" + name}
	}
	return fields
}

func useWordings(p Page, _ flows.Assumption) (string, []slack.Block) {
	var blocks []slack.Block
	for _, f := range draftFields(p.Args) {
		blocks = append(blocks,
			textInput(f.text, rungName(f.level), f.draft, true, flows.MaxText, block.Optional),
			tickInput(f.use, "Use it?", nil, []block.Option{{Value: "yes", Text: "Use this one"}}, block.Optional))
	}
	return "Four drafts", append(blocks, othersRow(p)...)
}

// othersRow offers to ask once more, as long as that is allowed.
func othersRow(p Page) []slack.Block {
	left := p.Kickoff.DraftsLeft(flows.DraftLadder, p.Viewer)
	if left == 0 {
		return []slack.Block{block.Note("Drafts cannot be asked for again in this kickoff.")}
	}
	return []slack.Block{
		block.Buttons(button("Four Others", draftOthers, stageArgs(p, flows.StageFraming))),
		block.Note(fmt.Sprintf("Four others take the place of these, so add what you want to keep first. You can ask %s.", words.Count(left, "more time", "more times"))),
	}
}

func submitDrafts(p Page, v block.Values) (Answer, error) {
	fields := draftFields(p.Args)
	if fields == nil {
		return Answer{}, errors.New("there is no draft")
	}
	var out Answer
	faults := map[string]string{}
	for _, f := range fields {
		if len(v.Choices(f.use)) == 0 {
			continue
		}
		in := f.wording(p, v)
		fault, err := wordingFault(p, in, out.Intents)
		if err != nil {
			return Answer{}, err
		}
		if fault != "" {
			faults[f.text] = fault
		}
		out.Intents = append(out.Intents, in)
	}
	switch {
	case len(out.Intents) == 0:
		return faulty(fields[0].use, "Tick at least one, or press Not Now to leave them all.")
	case len(faults) > 0:
		return Answer{Errors: faults}, nil
	}
	return out, nil
}

// wording is what a ticked draft adds to the ladder. Blanks around the words
// do not make it a person's.
func (f draftField) wording(p Page, v block.Values) flows.AddWording {
	in := flows.AddWording{By: by(p), Level: f.level, Text: v.Text(f.text), Began: true}
	if strings.TrimSpace(in.Text) == strings.TrimSpace(f.draft) {
		in.Text, in.Drafted = f.draft, true
	}
	return in
}

// wordingFault says why a wording would not be taken, so that it stands at its
// field and the others are not taken without it.
func wordingFault(p Page, in flows.AddWording, others []flows.Intent) (string, error) {
	for _, other := range others {
		if strings.EqualFold(strings.TrimSpace(other.(flows.AddWording).Text), strings.TrimSpace(in.Text)) {
			return "These words stand above already. Change them, or take the tick away.", nil
		}
	}
	_, err := flows.Decide(p.Kickoff, in, p.Now)
	var refused *flows.Refusal
	switch {
	case err == nil || errors.Is(err, flows.ErrDue): // what is due is seen to as the intent is taken
		return "", nil
	case errors.As(err, &refused) && refused.Field == "text":
		return refused.Reason, nil
	}
	return "", err
}

// NoDrafts tells a lead why there are no drafts, and shows the way by hand.
func NoDrafts(p Page, why string) slack.ModalViewRequest {
	args := stageArgs(p, flows.StageFraming)
	row := []*slack.ButtonBlockElement{button("Add a Wording", "open/framing.add", args)}
	if p.Kickoff.DraftsLeft(flows.DraftLadder, p.Viewer) > 0 {
		row = append(row, button("Ask Again", draftOthers, args))
	}
	blocks := []slack.Block{block.Text("%s", why), block.Buttons(row...), block.Divider(), block.Para(block.Bold("By hand, level by level"))}
	view := form("No drafts this time", "", append(blocks, byHand(true)...)...)
	return seal("draft.none", p, view)
}
