package screens

import (
	"errors"
	"maps"
	"sync"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// A stage is all that people see of one stage of a kickoff. Every column is
// filled in each row: a stage that has nothing of a kind says so.
type stage struct {
	title   string                                 // what it is called on screens, and the heading of its message
	asks    func(Page) (asking, error)             // its message in the channel
	result  func(Page) (Posting, error)            // what came of it, in the channel
	settles func(Page) (settling, error)           // what waits for a lead's last word
	nudge   func(Page) nudge                       // what the viewer still owes, for a reminder and the home tab
	desk    func(Page) []*slack.ButtonBlockElement // what a lead can change about it while it is open
	forms   map[string]Form                        // by the name behind "open/"
	actions map[string]action                      // by the name behind "do/"
}

// newStages is the table of stages: start here to add or change one.
func newStages() map[flows.Stage]stage {
	return map[flows.Stage]stage{
		flows.StageBrief: {title: "The brief",
			asks: briefAsks, result: none[Posting], settles: none[settling],
			nudge: briefNudge, desk: briefDesk,
			forms: briefForms(), actions: briefActions},
		flows.StageFraming: {title: "Framing the problem",
			asks: framingAsks, result: framingResult, settles: framingSettles,
			nudge: owes("Say how broad the problem should be, and which wordings you could live with.", 3, [2]string{"Choose", "open/framing.vote"}),
			desk:  noButtons, forms: framingForms(), actions: framingActions},
		flows.StageRoles: {title: "Who does what",
			asks: rolesAsks, result: rolesResult, settles: rolesSettles,
			nudge: owes("Place yourself: core team, consulted or informed.", 1, [2]string{"Place Myself", "open/roles.place"}),
			desk:  noButtons, forms: rolesForms(), actions: rolesActions},
		flows.StageAssumptions: {title: "What has to be true",
			asks: assumptionsAsks, result: assumptionsResult, settles: none[settling],
			nudge: owes("Add what has to be true for this to work, or press That Is All.", 5,
				[2]string{"Add an Assumption", "open/assumptions.add"}, [2]string{"That Is All", "do/assumptions.done"}),
			desk: assumptionsDesk, forms: assumptionsForms(), actions: assumptionsActions},
		flows.StageRating: {title: "Rate the assumptions",
			asks: ratingAsks, result: ratingResult, settles: none[settling],
			nudge: ratingNudge, desk: noButtons,
			forms: ratingForms(), actions: noActions},
		flows.StageBacklog: {title: "Plan the tests",
			asks: backlogAsks, result: backlogResult, settles: none[settling],
			nudge: owes("Say which kinds of risk these are and plan a test, or press That Is All.", 5,
				[2]string{"Say Which Kind of Risk", "open/backlog.kinds"}, [2]string{"That Is All", "do/backlog.done"}),
			desk: noButtons, forms: backlogForms(), actions: backlogActions},
		flows.StageTimebox: {title: "How long shall we take?",
			asks: timeboxAsks, result: timeboxResult, settles: timeboxSettles,
			nudge: owes("Say how many weeks this discovery should get.", 2, [2]string{"Vote on the Weeks", "open/timebox.vote"}),
			desk:  noButtons, forms: timeboxForms(), actions: timeboxActions},
		flows.StageClose: {title: "Who does what next?",
			asks: closeAsks, result: none[Posting], settles: closeSettles,
			nudge: closeNudge, desk: noButtons,
			forms: closeForms(), actions: closeActions},
		flows.StageUnderway: {title: "The discovery",
			asks: none[asking], result: none[Posting], settles: decisionSettles,
			nudge: underwayNudge, desk: underwayDesk,
			forms: underwayForms(), actions: underwayActions},
		flows.StageEnded: {title: "The kickoff",
			asks: none[asking], result: none[Posting], settles: none[settling],
			nudge: nothingOwed, desk: noButtons,
			forms: noForms, actions: noActions},
	}
}

// What stands in a row where its stage has nothing of a kind.
var (
	errNone   = errors.New("the stage has none")
	noForms   = map[string]Form{}
	noActions = map[string]action{}
)

func none[T any](Page) (T, error) {
	var zero T
	return zero, errNone
}

func nothingOwed(Page) nudge { return nudge{} }

func noButtons(Page) []*slack.ButtonBlockElement { return nil }

// The tables by which a name leads to what is behind it. They are filled at
// their first use: what they hold looks up other entries in turn, and Go
// refuses a variable whose first value refers to itself.
type tables struct {
	once     sync.Once
	stages   map[flows.Stage]stage
	messages map[string]message
	forms    map[string]Form
	actions  map[string]action
}

var theTables tables

func table() *tables {
	theTables.once.Do(theTables.fill)
	return &theTables
}

func (t *tables) fill() {
	t.stages, t.messages = newStages(), newMessages()
	t.forms, t.actions = map[string]Form{}, map[string]action{}
	for _, s := range t.stages {
		maps.Copy(t.forms, s.forms)
		maps.Copy(t.actions, s.actions)
	}
	for _, some := range []map[string]Form{draftingForms(), leadForms(), personalForms()} {
		maps.Copy(t.forms, some)
	}
	for _, some := range []map[string]action{leadActions, personalActions} {
		maps.Copy(t.actions, some)
	}
}

// forms are all forms by name. Names are part of what is stored in open forms
// on people's phones: do not rename lightly.
func forms() map[string]Form { return table().forms }

// stageOf is the row of a stage; a stage without a row has no screens, and
// every column of it fails.
func stageOf(s flows.Stage) (stage, bool) {
	row, ok := table().stages[s]
	return row, ok
}

// stageName is what a stage is called on screens, as in its message. A button
// may name a stage that does not exist: it is read back as it was sent.
func stageName(s flows.Stage) string {
	if row, ok := stageOf(s); ok {
		return row.title
	}
	return stageName(flows.StageEnded)
}
