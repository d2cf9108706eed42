package screens

import (
	"errors"
	"fmt"
	"maps"
	"strings"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// Drafting: somebody sees what would be sent, sends it, and uses, changes or
// discards what comes. Nobody else sees any of it. This file has the ladder.

// Terms say where drafts would come from and what would be sent for them. The
// zero Terms are drafting switched off.
type Terms struct {
	Host    string
	Model   string
	Request string // to the letter
	Said    string // why no others came, where earlier drafts are shown again
}

// The buttons of drafting have a verb of their own, since what is behind them
// takes a model and not only a kickoff.
const (
	draftLadder = "draft/ladder"
	draftOthers = "draft/others" // asks once more; Args.Choice says for what, the ladder unless it does
	draftHalves = "draft/halves" // takes what stands in the form apart, by hand
)

func draftingForms() map[string]Form {
	all := map[string]Form{
		"draft.ladder": {Open: openLadder, Submit: submitLadder},
		"draft.use":    {Open: openDrafts, Submit: submitDrafts},
	}
	maps.Copy(all, beliefDraftForms())
	maps.Copy(all, gistForms())
	return all
}

// OfferDrafting puts buttons for drafts onto a lead's desk: while the ladder
// is being built, and once there are reasons to sum up. It returns every other
// message as it is.
func OfferDrafting(m Posting, k flows.Kickoff, lead flows.UserID) Posting {
	p := Page{Kickoff: k, Viewer: lead}
	if mayLead(p) != nil || mayAnswer(p, flows.StageFraming) != nil {
		return offerGists(m, p)
	}
	return onDesk(m, "Stuck on the ladder? A model can draft wordings, for you alone to see. You are shown first what it would be sent.",
		[]*slack.ButtonBlockElement{button("Draft Wordings", draftLadder, stageArgs(p, flows.StageFraming))})
}

// mayDraft refuses a request for drafts that would not be taken.
func mayDraft(p Page) error {
	if err := mayLead(p); err != nil {
		return err
	}
	if err := mayAnswer(p, flows.StageFraming); err != nil {
		return err
	}
	if draftsLeft(p.Kickoff) == 0 {
		return refusal("Drafts were asked for %d times in this kickoff, which is the most. You can still add wordings by hand.", flows.MostDrafts)
	}
	return nil
}

func draftsLeft(k flows.Kickoff) int { return max(0, flows.MostDrafts-k.Framing.Drafts) }

func openLadder(p Page) (slack.ModalViewRequest, error) {
	if err := mayDraft(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	if err := mayAskModel(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	b := p.Kickoff.Brief
	sent := []string{b.Problem}
	if b.Why != "" {
		sent = append(sent, b.Why)
	}
	return request{
		title: "Draft wordings",
		says:  "A model drafts two broader and two narrower wordings. Only you see them. You use, change or discard them; nothing is posted by itself.",
		sent:  sent, left: draftsLeft(p.Kickoff),
		more: []string{"“Four Others” sends the drafts offered before as well."},
	}.view(p), nil
}

func submitLadder(p Page, _ Values) (Answer, error) {
	if err := mayLead(p); err != nil {
		return Answer{}, err
	}
	return awaiting(flows.AskDrafts{ByLead: byLead(p), What: flows.DraftLadder})
}

// Drafting is what a lead sees while a model is at it.
func Drafting() slack.ModalViewRequest {
	return Notice("Drafting…", "The model is being asked. Its drafts appear here, mostly within half a minute. If you close this, they are not kept.")
}

// draftLevels are the levels of the drafts, in the order in which they come.
func draftLevels() []int { return []int{2, 1, -1, -2} }

// longestArgs is how many characters may travel with a form.
const longestArgs = 3000

// WithDrafts lets drafts travel with a form, the latest last. Of the earlier
// ones as many are kept as fit, the latest.
func (a Args) WithDrafts(drafts []string) Args {
	all := append(a.Offered(), drafts...)
	for {
		a.Drafts = strings.Join(all, "\n")
		if len(all) <= len(drafts) || utf8.RuneCountInString(a.String()) <= longestArgs {
			return a
		}
		all = all[1:]
	}
}

// Offered are the drafts that travel with a form, the latest last.
func (a Args) Offered() []string {
	if a.Drafts == "" {
		return nil
	}
	return strings.Split(a.Drafts, "\n")
}

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

func openDrafts(p Page) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	fields := draftFields(p.Args)
	if fields == nil {
		return slack.ModalViewRequest{}, errors.New("there is no draft")
	}
	var blocks []slack.Block
	if p.Drafting.Said != "" {
		blocks = append(blocks, para(bold("No others came. "), plain("%s These are the earlier ones.", p.Drafting.Said)))
	}
	blocks = append(blocks, para(plain("Drafted by "), typed(p.Drafting.Model, 100), plain(" at "), typed(p.Drafting.Host, 100),
		plain(". Only you see them. Tick what is worth arguing with, and change the words as you like: a draft that you change is yours, one that you leave as it is stands on the ladder as a machine's draft.")))
	for _, f := range fields {
		blocks = append(blocks,
			textInput(f.text, rungName(f.level), f.draft, true, flows.MaxText, optional),
			tickInput(f.use, "Use it?", nil, []option{{Value: "yes", Text: "Use this one"}}, optional))
	}
	return form("Four drafts", "Add to the Ladder", append(blocks, othersRow(p)...)...), nil
}

// othersRow offers to ask once more, as long as that is allowed.
func othersRow(p Page) []slack.Block {
	left := draftsLeft(p.Kickoff)
	if left == 0 {
		return []slack.Block{note("Drafts cannot be asked for again in this kickoff.")}
	}
	return []slack.Block{
		buttons(button("Four Others", draftOthers, stageArgs(p, flows.StageFraming))),
		note(fmt.Sprintf("Four others take the place of these, so add what you want to keep first. You can ask %s.", count(left, "more time", "more times"))),
	}
}

func submitDrafts(p Page, v Values) (Answer, error) {
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
func (f draftField) wording(p Page, v Values) flows.AddWording {
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
	if draftsLeft(p.Kickoff) > 0 {
		row = append(row, button("Ask Again", draftOthers, args))
	}
	blocks := []slack.Block{para(plain("%s", why)), buttons(row...), slack.NewDividerBlock(), para(bold("By hand, level by level"))}
	view := form("No drafts this time", "", append(blocks, byHand(true)...)...)
	return seal("draft.none", p, view)
}

// DraftsTooLate tells a lead that the ladder has closed meanwhile.
func DraftsTooLate() slack.ModalViewRequest {
	return Notice("No drafts any more", fmt.Sprintf("“%s” has closed meanwhile, so no drafts were made.", stageName(flows.StageFraming)))
}
