package screens

import (
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// The size of a kickoff: which steps it has.

// A size is what a kickoff may be started as.
type size struct {
	name, says string
	leaves     func() []state.Stage
}

// sizes are what the form that begins a kickoff offers; the first is the usual one.
func sizes() []size {
	return []size{
		{"all", "Everything, in about two weeks", func() []state.Stage { return nil }},
		{"list", "I have a list of assumptions: rate, test, decide", flows.Listing},
		{"rate", "Only rate a list, in about two days", flows.Small},
		{chooses, "Let me choose the steps next", func() []state.Stage { return nil }},
	}
}

// chooses is the size of a kickoff whose steps are ticked one by one, on the page after
// the first.
const chooses = "steps"

// stepsNext is that page. The kickoff has begun by then, with all its steps; who closes
// the page keeps them.
func stepsNext(p screen.Page) *slack.ModalViewRequest {
	begun := state.Kickoff{Stage: state.StageBrief, Window: state.Window{Stage: state.StageBrief, Phase: state.PhaseOpen}}
	return redrawn("lead.steps", screen.Page{Kickoff: begun, Viewer: p.Viewer, Now: p.Now, Args: screen.Args{Kickoff: p.Args.Kickoff, Stage: string(state.StageBrief)}})
}

// chosenSize is the size that somebody chose; the usual one where they chose none.
func chosenSize(name string) size {
	all := sizes()
	if at := slices.IndexFunc(all, func(s size) bool { return s.name == name }); at >= 0 {
		return all[at]
	}
	return all[0]
}

func sizeEntry(f *block.Form, chosen string) string {
	var options []block.Option
	for _, s := range sizes() {
		options = append(options, block.Option{Value: s.name, Text: s.says})
	}
	return f.Select("size", "What do you need?", chosenSize(chosen).name, options,
		block.Hint("Have a list? You paste it on the next page."))
}

func hasSteps(p screen.Page) error {
	if !canChooseSteps(p.Kickoff) {
		return screen.Refuse("No step that could be left out is still to come.")
	}
	return nil
}

func canChooseSteps(k state.Kickoff) bool { return len(flows.Choosable(&k))+len(flows.Passed(&k)) > 0 }

// chosenSteps lets a lead say which steps the kickoff has. What is ticked stays, and
// what was passed over comes after all.
func chosenSteps(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Choose the steps", "Save"
	var options []block.Option
	var stands []string
	choosable := flows.Choosable(&p.Kickoff)
	for _, s := range choosable {
		options = append(options, block.Option{Value: string(s), Text: flows.TitleOf(s)})
		if !slices.Contains(p.Kickoff.LeftOut, s) {
			stands = append(stands, string(s))
		}
	}
	passed := flows.Passed(&p.Kickoff)
	for _, s := range passed {
		options = append(options, block.Option{Value: string(s), Text: flows.TitleOf(s) + " (left out so far)"})
	}
	f.Add(block.Text("The kickoff has the steps that are ticked, besides the brief, the rating and the summary."))
	if len(passed) > 0 {
		f.Add(block.Text("What was left out so far opens at once when you tick it. “%s” comes again after it, with the answers that it has.", flows.TitleOf(p.Kickoff.Stage)))
	}
	if s := p.Kickoff.Stage; slices.Contains(choosable, s) {
		f.Add(block.Text("“%s” is open now. Without its tick it ends at once: votes in it are destroyed, and the next step opens.", flows.TitleOf(s)))
	}
	kept := f.Ticks("steps", "Steps", stands, options, block.Optional, block.Hint("Without a time box the kickoff ends with its summary."))
	own := ownRatings(p, f)
	isKept := func(s state.Stage) bool { return slices.Contains(kept, string(s)) }
	return flows.LeaveOut{ByLead: screen.ByLead(p), Stages: slices.DeleteFunc(choosable, isKept), TakeUp: lists.Keep(passed, isKept), Own: own}
}

// ownRatings lets a lead say beforehand that the others rate without them.
func ownRatings(p screen.Page, f *block.Form) flows.OwnRatings {
	if !flows.RatingToCome(&p.Kickoff) {
		return flows.OwnAsBefore
	}
	var ticked []string
	if !p.Kickoff.Rates(p.Viewer) {
		ticked = []string{"out"}
	}
	options := []block.Option{{Value: "out", Text: "Leave out my ratings"}}
	if chosen := f.Ticks("own", "Your own ratings", ticked, options, block.Optional,
		block.Hint("The others rate without you, and the result says so. You see the list and can still give reasons.")); len(chosen) > 0 {
		return flows.OwnLeftOut
	}
	return flows.OwnCount
}

func stepsHint(k state.Kickoff) string {
	if flows.RatingToCome(&k) {
		return "Leave out steps, or your ratings."
	}
	return "Leave some out, or take them up."
}
