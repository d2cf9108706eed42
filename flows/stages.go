package flows

import (
	"fmt"
	"slices"
	"time"

	"soundings/flows/state"
)

// stages is the table of stages, in the order in which a kickoff comes to
// them. A row says everything in which its stage differs from others; the
// functions stand in the file of the stage. No field may be left empty, and a
// test names those that are: what does not apply to a stage is said as well.
var stages = []stage{
	{
		name: state.StageBrief, title: "The brief", skipped: never, opens: asPlanned,
		asks: everybody, given: gaveBrief, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle,
		clears: nothingToClear, closed: nothingMore, extended: nothingMore,
	},
	{
		name: state.StageFraming, title: "Framing the problem", skipped: never, opens: asPlanned,
		asks: everybody, given: gaveFraming, held: never,
		counts: countFraming, settles: leadsOnceClosed, silent: settleFramingAsProposed,
		clears: clearFraming, closed: nothingMore, extended: nothingMore,
	},
	{
		name: state.StageRoles, title: "Who does what", skipped: skippedRoles, opens: asPlanned,
		asks: everybody, given: gaveRoles, held: never,
		counts: nothingToCount, settles: leadsOnceClosed, silent: settleRolesAsTheyStand,
		clears: clearRoles, closed: nothingMore, extended: nothingMore,
	},
	{
		name: state.StageAssumptions, title: "What has to be true", skipped: never, opens: asPlanned,
		asks: everybody, given: gaveAssumptions, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle,
		clears: clearAllRounds, closed: showAssumptions, extended: nothingMore,
	},
	{
		name: state.StageRating, title: "Rate the assumptions", skipped: nothingToRate, opens: openFirstRound,
		asks: everybody, given: gaveRating, held: never,
		counts: countRound, settles: nobodySettles, silent: nothingToSettle,
		clears: clearRounds, closed: nothingMore, extended: nothingMore,
	},
	{
		name: state.StageBacklog, title: "Plan the tests", skipped: never, opens: asPlanned,
		asks: everybody, given: gaveBacklog, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle,
		clears: nothingToClear, closed: showBacklog, extended: nothingMore,
	},
	{
		name: state.StageTimebox, title: "How long shall we take?", skipped: never, opens: openTimebox,
		asks: everybody, given: gaveTimebox, held: never,
		counts: countWeeks, settles: leadsOnceClosed, silent: settleTimeboxAsProposed,
		clears: nothingToClear, closed: nothingMore, extended: nothingMore,
	},
	{
		name: state.StageClose, title: "Who does what next?", skipped: never, opens: asPlanned,
		asks: onlyLeads, given: nothingToGive, held: Held,
		counts: postSummary, settles: leadsWhileOpen, silent: nothingToSettle,
		clears: nothingToClear, closed: nothingMore, extended: inspectChannel,
	},
	{
		name: state.StageUnderway, title: "The discovery", skipped: never, opens: startDiscovery,
		asks: nobody, given: nothingToGive, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle,
		clears: nothingToClear, closed: nothingMore, extended: nothingMore,
	},
	{
		name: state.StageEnded, title: "The kickoff", skipped: never, opens: neverOpens,
		asks: nobody, given: nothingToGive, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle,
		clears: nothingToClear, closed: nothingMore, extended: nothingMore,
	},
}

// A stage is one row of the table. Its functions know nothing of the table:
// window.go looks the rows up and calls them.
type stage struct {
	name  state.Stage
	title string // what people call it: the heading of its message, and in a sentence

	// Opening.
	skipped func(k *state.Kickoff) bool                                       // whether a kickoff passes it over
	opens   func(k *state.Kickoff, opened StageOpened, now time.Time) []Event // what opening it is, given the window that it would have

	// While it is open.
	asks  audience
	given func(k *state.Kickoff, u state.UserID, round int) bool // whether somebody gave an answer, said to be their last or not
	held  func(k *state.Kickoff) bool                            // whether it may not close before a lead has agreed to something

	// Closing. Without anything for the leads to settle, the next stage opens.
	counts  func(k *state.Kickoff, now time.Time) (counted, again []Event) // what the answers come to, and the events that open another round of the stage
	settles settling
	silent  func(k *state.Kickoff) Event // what is settled when the leads say nothing for a working day

	// Opening again.
	clears func(k *state.Kickoff, round int) // takes back what is settled or counted anew

	// What is shown beyond the stage's own message.
	closed   func(b *reaction) // when it closes
	extended func(b *reaction) // when too few have answered, and a day is added
}

// An audience is who is asked in a stage.
type audience int

// Everybody is asked in whichever ring: rings say who works and who is told
// later, but the blind judgement of a stakeholder counts as much as that of
// the core. Only the closing words are the leads' to write.
const (
	nobody audience = iota + 1
	everybody
	onlyLeads
)

func (a audience) of(k *state.Kickoff) []state.UserID {
	switch a {
	case nobody:
		return nil
	case everybody:
		return k.Participants()
	case onlyLeads:
		return state.Leading(k)
	}
	panic(fmt.Sprintf("flows: audience %d is none", a))
}

// A settling is whether, and when, the leads settle what a stage came to.
type settling int

const (
	nobodySettles   settling = iota + 1
	leadsOnceClosed          // within a working day
	leadsWhileOpen           // by closing it
)

// stageOf is the row of a stage.
func stageOf(s state.Stage) stage {
	at := position(s)
	if at < 0 {
		panic(fmt.Sprintf("flows: stage %q is not in the table of stages", s))
	}
	return stages[at]
}

// position is the place of a stage in the table; -1 when it has none, as a
// name has that came with somebody's request.
func position(s state.Stage) int {
	return slices.IndexFunc(stages, func(row stage) bool { return row.name == s })
}

// TitleOf is what people call a stage. A name that is no stage's, as may come
// with somebody's request, has that of the end.
func TitleOf(s state.Stage) string {
	if at := position(s); at >= 0 {
		return stages[at].title
	}
	return TitleOf(state.StageEnded)
}

// Stages lists the stages in order.
func Stages() []state.Stage {
	names := make([]state.Stage, len(stages))
	for i, row := range stages {
		names[i] = row.name
	}
	return names
}

// yetToCome reports whether stage s comes after the present one.
func yetToCome(k *state.Kickoff, s state.Stage) bool { return position(k.Stage) < position(s) }

// openNext opens the next stage that this kickoff does not pass over.
func openNext(k *state.Kickoff, now time.Time) []Event {
	for _, next := range stages[position(k.Stage)+1:] {
		if !next.skipped(k) {
			return next.opens(k, openStage(k, next.name, next.asks, now), now)
		}
	}
	panic(fmt.Sprintf("flows: no stage follows %q", k.Stage))
}

// What does not apply to a stage.

func never(*state.Kickoff) bool { return false }

func asPlanned(_ *state.Kickoff, opened StageOpened, _ time.Time) []Event { return []Event{opened} }

func neverOpens(*state.Kickoff, StageOpened, time.Time) []Event {
	panic("flows: the end of a kickoff was to be opened")
}

func nothingToGive(*state.Kickoff, state.UserID, int) bool { return false }

func nothingToCount(*state.Kickoff, time.Time) (counted, again []Event) { return nil, nil }

func nothingToSettle(k *state.Kickoff) Event {
	panic(fmt.Sprintf("flows: nobody settles the stage %q", k.Stage))
}

func nothingToClear(*state.Kickoff, int) {}

func nothingMore(*reaction) {}
