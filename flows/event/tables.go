package event

import (
	"fmt"
	"slices"

	"soundings/flows/state"
)

// kinds is the format of the journal: all kinds of event, by their names
// there. A test finds any that is missing.
var kinds = map[string]Event{
	"started": Started{}, "stages-left-out": StagesLeftOut{}, "summary-ended": SummaryEnded{}, "brief-edited": BriefEdited{}, "brief-read": BriefRead{},
	"question-asked": QuestionAsked{}, "question-answered": QuestionAnswered{},
	"stage-opened": StageOpened{}, "finished-stage": FinishedStage{}, "quorum-missed": QuorumMissed{},
	"window-closed": WindowClosed{},
	"window-moved":  WindowMoved{}, "stage-reopened": StageReopened{}, "close-wished": CloseWished{},
	"leads-changed": LeadsChanged{},
	"people-joined": PeopleJoined{}, "people-known": PeopleKnown{}, "person-left": PersonLeft{}, "join-asked": JoinAsked{},
	"reminders-sent": RemindersSent{}, "reminders-put-off": RemindersPutOff{}, "reminder-muted": ReminderMuted{},
	"hours-changed": HoursChanged{},
	"wording-added": WordingAdded{}, "wording-edited": WordingEdited{}, "framing-voted": FramingVoted{},
	"framing-counted": FramingCounted{}, "framing-settled": FramingSettled{},
	"placed-self": PlacedSelf{}, "person-named": PersonNamed{}, "roles-settled": RolesSettled{},
	"assumption-added": AssumptionAdded{}, "assumption-edited": AssumptionEdited{},
	"assumption-withdrawn": AssumptionWithdrawn{}, "assumptions-joined": AssumptionsJoined{},
	"remarks-listed": RemarksListed{}, "remarks-left": RemarksLeft{}, "assumption-sent-back": AssumptionSentBack{},
	"alike-asked": AlikeAsked{}, "alike-found": AlikeFound{},
	"deal-chosen": DealChosen{}, "ballots-dealt": BallotsDealt{},
	"round-opened": RoundOpened{}, "rated": Rated{}, "round-counted": RoundCounted{},
	"reason-given": ReasonGiven{}, "gist-posted": GistPosted{},
	"kind-voted": KindVoted{}, "test-added": TestAdded{}, "test-edited": TestEdited{},
	"test-withdrawn": TestWithdrawn{},
	"weeks-proposed": WeeksProposed{}, "weeks-voted": WeeksVoted{}, "outlook-voted": OutlookVoted{}, "weeks-counted": WeeksCounted{},
	"timebox-set":  TimeboxSet{},
	"action-added": ActionAdded{}, "action-edited": ActionEdited{}, "action-withdrawn": ActionWithdrawn{}, "action-done": ActionDone{},
	"summary-posted": SummaryPosted{},
	"part-changed":   PartChanged{}, "word-given": WordGiven{}, "marks-changed": MarksChanged{},
	"box-started": BoxStarted{}, "checkin-opened": CheckinOpened{}, "result-reported": ResultReported{}, "result-told": ResultTold{}, "test-dropped": TestDropped{}, "new-rated": NewRated{},
	"foreseen": Foreseen{}, "foresight-counted": ForesightCounted{},
	"evidence-rerated": EvidenceRerated{}, "confidence-voted": ConfidenceVoted{},
	"checkin-closed": CheckinClosed{}, "decision-opened": DecisionOpened{}, "decision-voted": DecisionVoted{},
	"decision-counted": DecisionCounted{}, "decision-made": DecisionMade{},
	"abandoned": Abandoned{}, "channel-shut": ChannelUnreachable{}, "channel-opened": ChannelReachable{},
	"channel-seen": ChannelSeen{}, "outside-agreed": OutsideAgreed{}, "entries-lost": EntriesLost{}, "summary-held": SummaryHeld{},
	"canvas-made": CanvasMade{}, "canvas-lost": CanvasLost{}, "bookmark-added": BookmarkAdded{},
	"bookmark-removed": BookmarkRemoved{}, "extra-missed": ExtraMissed{},
	"message-posted": MessagePosted{}, "channel-moved": ChannelMoved{},
	"drafts-asked": DraftsAsked{}, "ballots-emptied": BallotsEmptied{},
}

// A foldedStage is what has to be known of a stage to fold what happens in it.
type foldedStage struct {
	name   state.Stage
	asks   audience
	clears func(k *state.Kickoff, round int) // takes back what is settled or counted anew when it is opened again
}

// folded is the table of it, a row for each stage.
var folded = []foldedStage{
	{name: state.StageBrief, asks: everybody, clears: nothingToClear},
	{name: state.StageFraming, asks: everybody, clears: clearFraming},
	{name: state.StageRoles, asks: everybody, clears: clearRoles},
	{name: state.StageAssumptions, asks: everybody, clears: clearAllRounds},
	{name: state.StageTidying, asks: nobody, clears: nothingToClear},
	{name: state.StageRating, asks: whoRates, clears: clearRounds},
	{name: state.StageBacklog, asks: everybody, clears: nothingToClear},
	{name: state.StageTimebox, asks: everybody, clears: nothingToClear},
	{name: state.StageClose, asks: onlyLeads, clears: nothingToClear},
	{name: state.StageUnderway, asks: nobody, clears: nothingToClear},
	{name: state.StageEnded, asks: nobody, clears: nothingToClear},
}

func foldedAs(s state.Stage) foldedStage {
	at := slices.IndexFunc(folded, func(row foldedStage) bool { return row.name == s })
	if at < 0 {
		panic(fmt.Sprintf("events: stage %q is not in the table of stages", s))
	}
	return folded[at]
}

// An audience is who is asked in a stage.
type audience int

// Everybody is asked in whichever ring: rings say who works and who is told
// later, but the blind judgement of a stakeholder counts as much as that of
// the core. Only the closing words are the leads' to write.
const (
	nobody audience = iota + 1
	everybody
	whoRates // everybody, but for a lead who chose not to
	onlyLeads
)

// AskedIn lists who is asked when a stage opens now.
func AskedIn(k *state.Kickoff, s state.Stage) []state.UserID {
	switch a := foldedAs(s).asks; a {
	case nobody:
		return nil
	case everybody:
		return k.Participants()
	case whoRates:
		return k.Raters()
	case onlyLeads:
		return state.Leading(k)
	default:
		panic(fmt.Sprintf("events: audience %d is none", a))
	}
}

func nothingToClear(*state.Kickoff, int) {}
