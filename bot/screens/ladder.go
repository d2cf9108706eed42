package screens

import (
	"errors"
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/prompts"
)

// Drafts of wordings for the ladder.

// OfferDrafting puts buttons for drafts onto a lead's desk: while the ladder
// is being built, and once there are reasons to sum up. It returns every other
// message as it is.
func OfferDrafting(m screen.Posting, k state.Kickoff, lead state.UserID) screen.Posting {
	p := screen.Page{Kickoff: k, Viewer: lead}
	if mayBuildLadder(p) != nil {
		return offerGists(m, p)
	}
	return onDesk(m, "Stuck on the ladder? A model can draft wordings, for you alone to see. You are shown first what it would be sent.",
		[]*slack.ButtonBlockElement{screen.Button("Draft Wordings", draftVerb+state.DraftLadder, screen.StageArgs(p, state.StageFraming))})
}

func mayBuildLadder(p screen.Page) error {
	return screen.Both(screen.MayLead, screen.Answering(state.StageFraming))(p)
}

func sentOfBrief(p screen.Page, _ state.Assumption) []string {
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
func draftFields(a screen.Args) []draftField {
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

func drawWordings(p screen.Page, f *block.Form, _ state.Assumption) flows.Intent {
	f.Title = "Four drafts"
	for _, d := range draftFields(p.Args) {
		f.Text(d.text, rungName(d.level), d.draft, block.Optional)
		f.Tick(d.use, "Use it?", "yes", "Use this one")
	}
	left := flows.DraftsLeft(&p.Kickoff, state.DraftLadder, p.Viewer)
	if left == 0 {
		f.Add(block.Note("Drafts cannot be asked for again in this kickoff."))
		return nil
	}
	f.Add(block.Buttons(screen.Button("Four Others", draftOthers, screen.StageArgs(p, state.StageFraming))),
		block.Note(fmt.Sprintf("Four others take the place of these, so add what you want to keep first. You can ask %s.", words.Count(left, "more time", "more times"))))
	return nil
}

func submitWordings(p screen.Page, v block.Values) (screen.Answer, error) {
	fields := draftFields(p.Args)
	if fields == nil {
		return screen.Answer{}, errors.New("there is no draft")
	}
	var out screen.Answer
	faults := map[string]string{}
	for _, d := range fields {
		if len(v.Choices(d.use)) == 0 {
			continue
		}
		in := flows.AddWording{By: screen.By(p), Level: d.level, Began: true}
		in.Text, in.Drafted = usedText(v.Text(d.text), d.draft)
		fault, err := wordingFault(p, in, out.Intents)
		if err != nil {
			return screen.Answer{}, err
		}
		if fault != "" {
			faults[d.text] = fault
		}
		out.Intents = append(out.Intents, in)
	}
	switch {
	case len(out.Intents) == 0:
		return screen.Faulty(fields[0].use, "Tick at least one, or press Not Now to leave them all.")
	case len(faults) > 0:
		return screen.Answer{Errors: faults}, nil
	}
	return out, nil
}

// wordingFault says why a wording would not be taken, so that it stands at its
// field and the others are not taken without it.
func wordingFault(p screen.Page, in flows.AddWording, others []flows.Intent) (string, error) {
	for _, other := range others {
		if sameWords(other.(flows.AddWording).Text, in.Text) {
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

// noDrafts tells a lead why there are no drafts, and shows the way by hand.
func noDrafts(p screen.Page, why string) slack.ModalViewRequest {
	args := screen.StageArgs(p, state.StageFraming)
	row := []*slack.ButtonBlockElement{screen.Button("Add a Wording", "open/framing.add", args)}
	if flows.DraftsLeft(&p.Kickoff, state.DraftLadder, p.Viewer) > 0 {
		row = append(row, screen.Button("Ask Again", draftOthers, args))
	}
	f := block.Form{Title: "No drafts this time"}
	f.Add(block.Text("%s", why), block.Buttons(row...), block.Divider(), block.Para(block.Bold("By hand, level by level")))
	f.Add(byHand(true)...)
	return screen.Seal("draft.none", p, &f)
}

// The way to a wording by hand: what to ask oneself on each level, and how a
// wording may begin.

// allLevels are the levels of the ladder, the broadest first.
var allLevels = []int{2, 1, 0, -1, -2}

// byHand lists the questions of each level, and with openings those as well.
func byHand(openings bool) []slack.Block {
	var blocks []slack.Block
	for _, level := range allLevels {
		blocks = append(blocks, block.Para(block.Bold("%s", rungName(level))), block.Sentences(prompts.Questions(level)))
		if openings {
			blocks = append(blocks, block.Para(block.Italic("It may begin: "), block.Plain("%s", strings.Join(prompts.Openings(level), " / "))))
		}
	}
	return blocks
}

// openingOptions are all openings, each with its level.
func openingOptions() []block.Option {
	var all []block.Option
	for _, level := range allLevels {
		for i, text := range prompts.Openings(level) {
			all = append(all, block.Option{Value: fmt.Sprintf("%d/%d", level, i), Text: text, About: rungName(level)})
		}
	}
	return all
}

// openingOf is the opening behind an option's value; empty for none.
func openingOf(value string) string {
	for _, o := range openingOptions() {
		if o.Value == value {
			return o.Text
		}
	}
	return ""
}

// gap stands in an opening for what people fill in.
const gap = "…"

// completed puts what somebody typed into an opening: one line for each gap,
// or one line that goes on after the first words. fault says what is wrong
// with it.
func completed(opening, typed string) (text, fault string) {
	if opening == "" || typed == "" {
		return typed, ""
	}
	lines, gaps := fillings(typed), strings.Count(opening, gap)
	switch {
	case len(lines) == gaps:
		runs := strings.Split(opening, gap)
		text = runs[0]
		for i, line := range lines {
			text += line + runs[i+1]
		}
	case len(lines) == 1:
		before, _, _ := strings.Cut(opening, gap)
		text = strings.TrimSpace(before) + " " + lines[0]
	default:
		return "", fmt.Sprintf("This opening has %s. Write as many lines, one for each, or a single line that goes on after its first words.",
			words.Count(gaps, "gap", "gaps"))
	}
	return screen.FullStop(text), ""
}

// fillings are the lines that hold something, without full stops at their end.
func fillings(typed string) []string {
	var lines []string
	for line := range strings.Lines(typed) {
		if line = strings.TrimRight(strings.TrimSpace(line), "."); line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}
