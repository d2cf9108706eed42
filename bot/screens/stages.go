package screens

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/closing"
	"soundings/bot/screens/planning"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/bot/screens/underway"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// A stage is all that people see of one stage of a kickoff. Every column is
// filled in each row: a stage that has nothing of a kind says so.
type stage struct {
	short   string                                     // what comes next is called, a word or two
	asks    func(screen.Page) (screen.Asking, error)   // its message in the channel
	result  func(screen.Page) (screen.Posting, error)  // what came of it, in the channel
	settles func(screen.Page) (screen.Settling, error) // what waits for a lead's last word
	nudge   func(screen.Page) screen.Nudge             // what the viewer still owes, for a reminder and the home tab
	desk    func(screen.Page) []screen.Control         // what a lead can change about it while it is open
	forms   map[string]screen.Form                     // by the name behind "open/"
	actions map[string]screen.Action                   // by the name behind "do/"
}

// newStages is the table of stages: start here to add or change one.
func newStages() map[state.Stage]stage {
	return map[state.Stage]stage{
		state.StageBrief: {
			short: "the brief",
			asks:  briefAsks, result: none[screen.Posting], settles: none[screen.Settling],
			nudge: briefNudge, desk: briefDesk,
			forms: briefForms(), actions: briefActions},
		state.StageFraming: {
			short: "framing",
			asks:  framingAsks, result: framingResult, settles: framingSettles,
			nudge: screen.Owes("Say how broad the problem should be, and which wordings you could live with.", [2]string{"Choose", "open/framing.vote"}),
			desk:  noControls, forms: framingForms(), actions: framingActions},
		state.StageRoles: {
			short: "roles",
			asks:  rolesAsks, result: rolesResult, settles: rolesSettles,
			nudge: screen.Owes("Place yourself: core team, consulted or informed.", [2]string{"Place Myself", "open/roles.place"}),
			desk:  noControls, forms: rolesForms(), actions: rolesActions},
		state.StageAssumptions: {
			short: "assumptions",
			asks:  assumptionsAsks, result: assumptionsResult, settles: none[screen.Settling],
			nudge: screen.Owes("Add what has to be true for this to work, or press That Is All.",
				[2]string{"Add an Assumption", "open/assumptions.add"}, [2]string{"That Is All", "do/assumptions.done"}),
			desk: assumptionsDesk, forms: assumptionsForms(), actions: assumptionsActions},
		state.StageTidying: {
			short: "tidying",
			asks:  none[screen.Asking], result: none[screen.Posting], settles: tidyingSettles,
			nudge: nothingOwed, desk: noControls, forms: tidyingForms(), actions: tidyingActions},
		state.StageRating: {
			short: "rating",
			asks:  rating.Asks, result: rating.Result, settles: none[screen.Settling],
			nudge: rating.Nudge, desk: noControls,
			forms: rating.Forms(), actions: noActions},
		state.StageBacklog: {
			short: "tests",
			asks:  planning.Asks, result: planning.Result, settles: none[screen.Settling],
			nudge: screen.Owes("Say which kinds of risk these are and plan a test, or press That Is All.",
				[2]string{"Name the Risks", "open/backlog.kinds"}, [2]string{"That Is All", "do/backlog.done"}),
			desk: noControls, forms: planning.Forms(), actions: planning.Actions},
		state.StageTimebox: {
			short: "time box",
			asks:  timeboxAsks, result: timeboxResult, settles: timeboxSettles,
			nudge: screen.Owes("Say how many weeks this discovery should get.", [2]string{"Vote on the Weeks", "open/timebox.vote"}),
			desk:  noControls, forms: timeboxForms(), actions: timeboxActions},
		state.StageClose: {
			short: "actions",
			asks:  closing.Asks, result: none[screen.Posting], settles: closing.Settles,
			nudge: closing.Nudge, desk: noControls,
			forms: closing.Forms(), actions: closing.Actions},
		state.StageUnderway: {
			short: "the discovery",
			asks:  none[screen.Asking], result: none[screen.Posting], settles: underway.DecisionSettles,
			nudge: underway.Nudge, desk: underway.Desk,
			forms: underway.Forms(), actions: underway.Actions},
		state.StageEnded: {
			short: "the end",
			asks:  none[screen.Asking], result: none[screen.Posting], settles: none[screen.Settling],
			nudge: nothingOwed, desk: noControls,
			forms: noForms, actions: noActions},
	}
}

// What stands in a row where its stage has nothing of a kind.
var (
	errNone   = errors.New("the stage has none")
	noForms   = map[string]screen.Form{}
	noActions = map[string]screen.Action{}
)

func none[T any](screen.Page) (T, error) {
	var zero T
	return zero, errNone
}

func nothingOwed(screen.Page) screen.Nudge { return screen.Nudge{} }

func noControls(screen.Page) []screen.Control { return nil }

// The tables by which a name leads to what is behind it. They are filled at
// their first use: what they hold looks up other entries in turn, and Go
// refuses a variable whose first value refers to itself.
type tables struct {
	once     sync.Once
	stages   map[state.Stage]stage
	messages map[string]message
	forms    map[string]screen.Form
	actions  map[string]screen.Action
}

var theTables tables

func table() *tables {
	theTables.once.Do(theTables.fill)
	return &theTables
}

func (t *tables) fill() {
	t.stages, t.messages = newStages(), newMessages()
	t.forms, t.actions = map[string]screen.Form{}, map[string]screen.Action{}
	for _, s := range t.stages {
		maps.Copy(t.forms, s.forms)
		maps.Copy(t.actions, s.actions)
	}
	for _, some := range []map[string]screen.Form{draftingForms(), leadForms(), personalForms()} {
		maps.Copy(t.forms, some)
	}
	for _, some := range []map[string]screen.Action{leadActions, personalActions} {
		maps.Copy(t.actions, some)
	}
}

// forms are all forms by name. Names are part of what is stored in open forms
// on people's phones: do not rename lightly.
func forms() map[string]screen.Form { return table().forms }

// stageOf is the row of a stage; a stage without a row has no screens, and
// every column of it fails.
func stageOf(s state.Stage) (stage, bool) {
	row, ok := table().stages[s]
	return row, ok
}

// ofStage draws a message out of the row that a slot's argument names, such as
// "rating/2", with its stage and round in the args. "decision/1" is about the
// stage underway, which may come to several decisions.
func ofStage(draw func(stage, screen.Page) (screen.Posting, error)) message {
	return func(p screen.Page, arg string) (screen.Posting, error) {
		name, round := flows.ParseStageArg(arg)
		if name == "decision" {
			name = state.StageUnderway
		}
		row, ok := stageOf(name)
		if !ok {
			return screen.Posting{}, fmt.Errorf("there is no stage %q", arg)
		}
		p.Args.Stage, p.Args.Round = string(name), round
		return draw(row, p)
	}
}

// askMessage is the one message in which a stage asks for something. Once the
// window has closed it shrinks to a line with the outcome.
func (row stage) askMessage(p screen.Page) (screen.Posting, error) {
	a, err := row.asks(p)
	if err != nil {
		return screen.Posting{}, err
	}
	a.Title = cmp.Or(a.Title, flows.TitleOf(state.Stage(p.Args.Stage)))
	next, _ := stageOf(nextStage(p.Kickoff, state.Stage(p.Args.Stage)))
	a.Next = next.short
	return a.Posting(p), nil
}

// reopenedMessage says that a stage is open again, whose message may stand far up.
func reopenedMessage(p screen.Page, arg string) (screen.Posting, error) {
	s, _ := flows.ParseStageArg(arg)
	title, w := "Open again: "+flows.TitleOf(s), p.Kickoff.Window
	if w.Stage != s || w.Phase != state.PhaseOpen {
		return screen.Line(p, title, "It has closed since."), nil
	}
	return screen.Posting{
		Text: screen.Aloud(p.Kickoff, "%s Closes ", words.SentenceEnd(title)) + block.WhenText(w.Closes) + ".",
		Blocks: []slack.Block{block.Heading(title),
			block.Para(block.Plain("This step closes "), block.When(w.Closes), block.Plain(" your time. Its message stands further up in this channel. What waits for you is also on my home tab."))},
	}, nil
}

// nextStage is the stage that follows one in this kickoff.
func nextStage(k state.Kickoff, s state.Stage) state.Stage {
	all := state.Stages()
	for _, next := range all[slices.Index(all, s)+1:] {
		switch {
		case next == state.StageUnderway && k.LeavesOut(state.StageTimebox):
			return state.StageEnded
		case next == state.StageTidying: // of the lead alone, and only where something stands out
		case !k.LeavesOut(next) && !slices.ContainsFunc(k.Past, func(w state.Window) bool { return w.Stage == next }):
			return next
		}
	}
	return state.StageEnded
}

// settleMessage is what a lead is asked to confirm or change, or, once settled,
// a line that says so.
func (row stage) settleMessage(p screen.Page) (screen.Posting, error) {
	s, err := row.settles(p)
	if err != nil {
		return screen.Posting{}, err
	}
	if overBeforeSettled(p.Kickoff, state.Stage(p.Args.Stage)) {
		s.Over = "The kickoff has ended before this was settled. Nothing is left to do here."
	}
	return s.Posting(p), nil
}
