package flows

import (
	"fmt"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// stages is the table of stages, in the order in which a kickoff comes to
// them. A row says everything in which its stage differs from others; the
// functions stand in the file of the stage. No field may be left empty, and a
// test names those that are: what does not apply to a stage is said as well.
var stages = []stage{
	{
		name: state.StageBrief, title: "The brief", comes: always, skipped: neverSkipped, opens: asPlanned,
		given: gaveBrief, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle, early: never,
		closed: nothingMore, extended: nothingMore, after: afterBrief,
	},
	{
		name: state.StageFraming, title: "Framing the problem", comes: optional, skipped: neverSkipped, opens: asPlanned,
		given: gaveFraming, held: never,
		counts: countFraming, settles: leadsOnceClosed, silent: settleFramingAsProposed, early: never,
		closed: nothingMore, extended: nothingMore, after: afterFraming,
	},
	{
		name: state.StageRoles, title: "Who does what", comes: optional, skipped: neverSkipped, opens: asPlanned,
		given: gaveRoles, held: never,
		counts: nothingToCount, settles: leadsOnceClosed, silent: settleRolesAsTheyStand, early: never,
		closed: nothingMore, extended: nothingMore, after: afterRoles,
	},
	{
		name: state.StageAssumptions, title: "What has to be true", comes: optional, skipped: neverSkipped, opens: asPlanned,
		given: gaveAssumptions, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle, early: never,
		closed: showAssumptions, extended: nothingMore, after: afterAssumptions,
	},
	{
		name: state.StageTidying, title: "Tidy the list", comes: always, skipped: nothingToTidy, opens: openTidying,
		given: nothingToGive, held: never,
		counts: nothingToCount, settles: leadsAlone, silent: leaveTheRest, early: tidied,
		closed: nothingMore, extended: nothingMore, after: afterTidying,
	},
	{
		name: state.StageRating, title: "Rate the assumptions", comes: always, skipped: nothingToRate, opens: openFirstRound,
		given: gaveRating, held: never,
		counts: countRound, settles: nobodySettles, silent: nothingToSettle, early: never,
		closed: ratingClosed, extended: nothingMore, after: afterRating,
	},
	{
		name: state.StageBacklog, title: "Plan the tests", comes: optional, skipped: neverSkipped, opens: asPlanned,
		given: gaveBacklog, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle, early: never,
		closed: showBacklog, extended: nothingMore, after: afterBacklog,
	},
	{
		name: state.StageTimebox, title: "How long shall we take?", comes: optional, skipped: neverSkipped, opens: openTimebox,
		given: gaveTimebox, held: never,
		counts: countWeeks, settles: leadsOnceClosed, silent: settleTimeboxAsProposed, early: never,
		closed: nothingMore, extended: nothingMore, after: afterTimebox,
	},
	{
		name: state.StageClose, title: "Who does what next?", comes: always, skipped: neverSkipped, opens: openClose,
		given: nothingToGive, held: Held,
		counts: postSummary, settles: leadsWhileOpen, silent: nothingToSettle, early: never,
		closed: nothingMore, extended: inspectChannel, after: afterClose,
	},
	{
		name: state.StageUnderway, title: "The discovery", comes: always, skipped: withoutTimebox, opens: startDiscovery,
		given: nothingToGive, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle, early: never,
		closed: nothingMore, extended: nothingMore, after: afterUnderway,
	},
	{
		name: state.StageEnded, title: "The kickoff", comes: always, skipped: neverSkipped, opens: endWithSummary,
		given: nothingToGive, held: never,
		counts: nothingToCount, settles: nobodySettles, silent: nothingToSettle, early: never,
		closed: nothingMore, extended: nothingMore, after: nothingFollows,
	},
}

// A stage is one row of the table. Its functions know nothing of the table:
// window.go looks the rows up and calls them.
type stage struct {
	name  state.Stage
	title string // what people call it: the heading of its message, and in a sentence

	// Opening.
	comes   presence                                                                      // whether a lead may leave it out
	skipped func(k *state.Kickoff, now time.Time) bool                                    // whether a kickoff passes it over by itself
	opens   func(k *state.Kickoff, opened event.StageOpened, now time.Time) []event.Event // what opening it is, given the window that it would have

	// While it is open.
	given func(k *state.Kickoff, u state.UserID, round int) bool // whether somebody gave an answer, said to be their last or not
	held  func(k *state.Kickoff) bool                            // whether it may not close before a lead has agreed to something

	// Closing. Without anything for the leads to settle, the next stage opens.
	counts  func(k *state.Kickoff, now time.Time) (counted, again []event.Event) // what the answers come to, and the events that open another round of the stage
	settles settling
	silent  func(k *state.Kickoff) event.Event // what is settled when the leads say nothing for a working day
	early   func(k *state.Kickoff) bool        // whether nothing is left to settle before that day is over

	// What is shown beyond the stage's own message.
	closed   func(b *reaction)                       // when it closes
	extended func(b *reaction)                       // when too few have answered, and a day is added
	after    func(b *reaction, happened event.Event) // after an event of the stage's own file
}

// A presence is whether a kickoff always comes to a stage.
type presence int

const (
	always   presence = iota + 1
	optional          // unless a lead has left it out
)

// A settling is whether, and when, the leads settle what a stage came to.
type settling int

const (
	nobodySettles   settling = iota + 1
	leadsOnceClosed          // within a working day
	leadsWhileOpen           // by closing it
	leadsAlone               // within a working day; nobody else is asked, so it is no step and has no message in the channel
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
	return slices.Index(state.Stages(), s)
}

// TitleOf is what people call a stage. A name that is no stage's, as may come
// with somebody's request, has that of the end.
func TitleOf(s state.Stage) string {
	if at := position(s); at >= 0 {
		return stages[at].title
	}
	return TitleOf(state.StageEnded)
}

// yetToCome reports whether stage s comes after the present one.
func yetToCome(k *state.Kickoff, s state.Stage) bool { return position(k.Stage) < position(s) }

// openNext opens the next stage that this kickoff does not pass over. After one that
// was taken up later than its turn, what was done meanwhile does not come again.
func openNext(k *state.Kickoff, now time.Time) []event.Event {
	for _, next := range stages[position(k.Stage)+1:] {
		done := slices.ContainsFunc(k.Past, func(w state.Window) bool { return w.Stage == next.name })
		if !done && !k.LeavesOut(next.name) && !next.skipped(k, now) {
			return next.opens(k, openStage(k, next.name, now), now)
		}
	}
	panic(fmt.Sprintf("flows: no stage follows %q", k.Stage))
}

// What does not apply to a stage.

func never(*state.Kickoff) bool { return false }

func neverSkipped(*state.Kickoff, time.Time) bool { return false }

func asPlanned(_ *state.Kickoff, opened event.StageOpened, _ time.Time) []event.Event {
	return []event.Event{opened}
}

func nothingToGive(*state.Kickoff, state.UserID, int) bool { return false }

func nothingToCount(*state.Kickoff, time.Time) (counted, again []event.Event) { return nil, nil }

func nothingToSettle(k *state.Kickoff) event.Event {
	panic(fmt.Sprintf("flows: nobody settles the stage %q", k.Stage))
}

func nothingMore(*reaction) {}

func nothingFollows(*reaction, event.Event) {}
