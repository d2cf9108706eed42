package flows

import (
	"reflect"
	"testing"
	"time"

	"soundings/engine"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"soundings/flows/event"
	"soundings/flows/state"
)

// A drawer draws an intent with parameters that are often, not always, such
// as the state would take. Its actor is set by whoever draws.
type drawer func(r *rapid.T, k *state.Kickoff) Intent

// drawers has one for every intent that a person can have; TestDrawersAreWhole
// finds any that is missing.
func drawers() []drawer {
	return append(append(stageDrawers(), laterDrawers()...), leadDrawers()...)
}

func stageDrawers() []drawer {
	return []drawer{
		func(r *rapid.T, k *state.Kickoff) Intent { return MarkRead{} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Ask{Ask: text(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Answer{N: upTo(r, len(k.Brief.Questions)+1), Answer: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Finish{Stage: oneOf(r, k.Stage, k.Stage, state.StageFraming), Round: k.Window.Round}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return AddWording{Level: level(r), Text: text(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return EditWording{N: upTo(r, len(k.Framing.Wordings)+1), Level: level(r), Text: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return VoteFraming{Level: level(r), Ticks: rapid.SliceOfN(rapid.IntRange(0, len(k.Framing.Wordings)), 0, 3).Draw(r, "ticks")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return PlaceSelf{Ring: ring(r), Days: rapid.Float64Range(0, 5).Draw(r, "days")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return NamePerson{Name: text(r), User: oneOf[state.UserID](r, "", "tui", "zoe"), Ring: ring(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return AddAssumption{Text: text(r), Because: text(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ImportAssumptions{Rows: []AddAssumption{{ID: oneOf(r, "", "B1", "a2"), Text: text(r)}, {Text: text(r)}}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return EditAssumption{ID: assumption(r, k), Text: text(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return WithdrawAssumption{ID: assumption(r, k)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return SplitAssumption{ID: assumption(r, k), Parts: []Part{{Text: text(r)}, {Text: text(r), Drafted: true}}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return AskDraft{What: oneOf(r, state.DraftPlainer, state.DraftSplit, "x"), Assumption: assumption(r, k)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Rate{Round: max(k.Window.Round, 1), Assumption: assumption(r, k), Scale: oneOf(r, state.Importance, state.Evidence),
				Value: rapid.IntRange(state.CantSay, 9).Draw(r, "value")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return GiveReason{Assumption: assumption(r, k), Text: text(r), Signed: rapid.Bool().Draw(r, "signed")}
		},
	}
}

func laterDrawers() []drawer {
	return []drawer{
		func(r *rapid.T, k *state.Kickoff) Intent {
			return VoteKinds{Kinds: map[string]state.Kind{assumption(r, k): rapid.SampledFrom(state.Kinds()).Draw(r, "kind")}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return AddTest{Plan: drawPlan(r, k)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return EditTest{N: upTo(r, len(k.Backlog.Tests)+1), Plan: drawPlan(r, k)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return WithdrawTest{N: upTo(r, len(k.Backlog.Tests)+1)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return VoteWeeks{Weeks: upTo(r, 5)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return VoteOutlook{Worth: upTo(r, 9), Cost: rapid.SampledFrom(engine.Costs()).Draw(r, "cost")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Foresee{Test: upTo(r, len(k.Backlog.Tests)+1), Percent: oneOf(r, append(state.Shares(), 42)...)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return AddAction{What: text(r), Owner: somebody(r), Due: "2027-03-05"}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return FinishAction{N: upTo(r, len(k.Actions)+1)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return EditAction{N: upTo(r, len(k.Actions)+1), What: text(r), Owner: somebody(r), Due: "2027-03-06"}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ReportResult{Checkin: upTo(r, len(k.Underway.Checkins)), Test: upTo(r, len(k.Backlog.Tests)+1), K: upTo(r, 10), N: upTo(r, 12), Corrects: upTo(r, 3), Why: text(r), Again: rapid.Bool().Draw(r, "again")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return RateNew{Checkin: upTo(r, len(k.Underway.Checkins)), Ratings: map[string]state.Marking{assumption(r, k): {Importance: upTo(r, 9), Evidence: upTo(r, 9)}}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return DropTest{N: upTo(r, len(k.Backlog.Tests)+1), Why: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return TellResult{Checkin: upTo(r, len(k.Underway.Checkins)), Test: upTo(r, len(k.Backlog.Tests)+1), Told: state.Told{Learnt: text(r)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return RerateEvidence{Checkin: upTo(r, len(k.Underway.Checkins)), Evidence: map[string]int{assumption(r, k): upTo(r, 9)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return VoteConfidence{Checkin: upTo(r, len(k.Underway.Checkins)), Confidence: upTo(r, 9)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return VoteDecision{N: upTo(r, k.Underway.DecisionNumber()), Choice: choice(r), Weeks: upTo(r, 3)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return SayAlike{Sets: rapid.SliceOfN(rapid.SliceOfN(rapid.Just(assumption(r, k)), 1, 3), 0, 2).Draw(r, "sets")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return Mute{Off: rapid.Bool().Draw(r, "off")} },
		func(r *rapid.T, k *state.Kickoff) Intent { return drawHours(r) },
		func(r *rapid.T, k *state.Kickoff) Intent { return AskToJoin{Person: drawPerson(r)} },
	}
}

func leadDrawers() []drawer {
	return []drawer{
		func(r *rapid.T, k *state.Kickoff) Intent {
			return LeaveRemarks{N: rapid.SliceOfN(rapid.IntRange(1, len(k.Tidying.Remarks)+1), 0, 2).Draw(r, "remarks")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return AskAlike{People: []state.UserID{somebody(r), somebody(r)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return SendBack{N: upTo(r, len(k.Tidying.Remarks)+1), Word: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return EditBrief{Brief: state.Brief{Title: "Bicycles", Problem: text(r)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return AskDraft{What: oneOf(r, state.DraftLadder, state.DraftGist, "x"), Assumption: assumption(r, k)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return PostGist{Assumption: assumption(r, k), Text: text(r), Drafted: rapid.Bool().Draw(r, "drafted")}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return SettleFraming{Problem: text(r), Level: level(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return SettleRoles{Rings: map[state.UserID]state.Ring{somebody(r): ring(r)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return SettleRoles{Rings: map[state.UserID]state.Ring{}} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return JoinAssumptions{Keep: assumption(r, k), Join: []string{assumption(r, k)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return SetTimebox{Weeks: upTo(r, 3), Checkin: time.Weekday(rapid.IntRange(0, 6).Draw(r, "day")), StopIf: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return GiveWord{Part: oneOf(r, append(Parts(), "x")...), Text: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return ReviseBrief{Title: text(r), Why: text(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return ReviseProblem{Problem: text(r), Level: level(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ReviseRings{Rings: map[state.UserID]state.Ring{somebody(r): ring(r)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ReviseTest{N: upTo(r, len(k.Backlog.Tests)+1), Method: text(r), Owner: somebody(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return ReviseMarks{StopIf: text(r), BuildIf: text(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ReviseAnswer{N: upTo(r, len(k.Brief.Questions)+1), Answer: text(r)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return WithdrawAction{N: upTo(r, len(k.Actions)+1)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return PostSummary{GoOn: rapid.Bool().Draw(r, "go on")} },
		func(r *rapid.T, k *state.Kickoff) Intent { return GoOnHere{} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Report{News: event.ChannelSeen{Outside: rapid.Bool().Draw(r, "outside"), Canvas: oneOf(r, "", "F1")}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Report{News: event.CanvasMade{ID: oneOf(r, "F1", "F2")}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Report{News: event.CanvasLost{ID: oneOf(r, "F1", "F2")}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return Report{News: event.BookmarkAdded{ID: "Bk1"}} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Report{News: event.BookmarkRemoved{}} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Report{News: event.ExtraMissed{What: oneOf(r, AllExtras()...), Why: oneOf(r, state.FaultScope, state.FaultPlan)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return DecideNow{} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return SettleDecision{N: upTo(r, k.Underway.DecisionNumber()), Choice: choice(r), Weeks: upTo(r, 3)}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return CloseNow{} },
		func(r *rapid.T, k *state.Kickoff) Intent { return CloseNow{} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Extend{Days: upTo(r, 2)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return RemindNow{ByLead: ByLead{somebody(r)}, Stage: k.Stage, Round: k.Window.Round}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return ChooseDeal{Each: upTo(r, 3), Second: upTo(r, 3)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Reopen{} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			some := rapid.SliceOfDistinct(rapid.SampledFrom(Optional()), rapid.ID[state.Stage])
			return LeaveOut{Stages: some.Draw(r, "left out"), TakeUp: oneOf(r, nil, Passed(k), some.Draw(r, "taken up")), Own: OwnRatings(upTo(r, 2))}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return HandOver{To: somebody(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return AddLead{Person: somebody(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Invite{People: []state.Person{drawPerson(r), drawPerson(r)}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return LetGo{Person: somebody(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Left{Person: somebody(r)} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Introduce{People: []state.Person{drawPerson(r)}} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Introduce{People: []state.Person{{ID: "noor", Name: "Noor", Zone: oneOf(r, zoneNames()...)}}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Introduce{Absent: []state.UserID{somebody(r), "noor"}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ReportUnreachable{Why: oneOf(r, state.ChannelArchived, state.BotRemoved), Since: k.Version}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return ReportReachable{} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return ReportLoss{After: oneOf(r, k.Version, k.Version-1), People: []state.UserID{somebody(r)}, Posted: map[string]state.Posting{"desk/@ines": {Channel: "C1", TS: oneOf(r, "1.5", "1.6")}}}
		},
		func(r *rapid.T, k *state.Kickoff) Intent { return ReportReachable{} },
		func(r *rapid.T, k *state.Kickoff) Intent { return GoOn{} },
		func(r *rapid.T, k *state.Kickoff) Intent { return CallOff{Why: "The pier closes."} },
		func(r *rapid.T, k *state.Kickoff) Intent { return MoveChannel{To: oneOf(r, "C1", "C2")} },
		func(r *rapid.T, k *state.Kickoff) Intent { return Tick{} },
		func(r *rapid.T, k *state.Kickoff) Intent {
			return Report{News: event.MessagePosted{Slot: oneOf(r, "stage/brief", "desk/@ines"), Posting: state.Posting{Channel: "C1", TS: "1.5"}}}
		},
	}
}

func TestDrawersAreWhole(t *testing.T) {
	drawn := map[string]bool{"Start": true} // what every play begins with
	rapid.Check(t, func(r *rapid.T) {
		for _, draw := range drawers() {
			drawn[reflect.TypeOf(draw(r, &state.Kickoff{})).Name()] = true
		}
	})
	for _, row := range allIntents() {
		name := reflect.TypeOf(row.in).Name()
		assert.True(t, drawn[name], "no drawer draws %s, so random plays leave it out", name)
	}
}

func oneOf[T any](r *rapid.T, values ...T) T { return rapid.SampledFrom(values).Draw(r, "one of") }
func upTo(r *rapid.T, n int) int             { return rapid.IntRange(0, n).Draw(r, "number") }
func level(r *rapid.T) int                   { return rapid.IntRange(-2, 2).Draw(r, "level") }
func ring(r *rapid.T) state.Ring             { return rapid.SampledFrom(state.Rings()).Draw(r, "ring") }
func choice(r *rapid.T) state.Choice         { return oneOf(r, state.Build, state.Stop, state.Another) }
func text(r *rapid.T) string                 { return rapid.SampledFrom(hostileTexts()).Draw(r, "text") }

// somebody is one of those who may take part; Zoe and Maya begin outside.
func somebody(r *rapid.T) state.UserID {
	return oneOf[state.UserID](r, "ines", "ines", "tui", "kofi", "zoe", "maya")
}

func assumption(r *rapid.T, k *state.Kickoff) string {
	ids := []string{"A1"}
	for _, a := range k.Assumptions {
		ids = append(ids, a.ID)
	}
	return rapid.SampledFrom(ids).Draw(r, "assumption")
}

func drawPlan(r *rapid.T, k *state.Kickoff) state.Plan {
	return state.Plan{Assumption: assumption(r, k), Method: "A count", Learn: text(r), PassShare: rapid.Float64Range(0, 1).Draw(r, "pass"),
		EffortDays: rapid.Float64Range(0, 60).Draw(r, "effort"), LeadDays: float64(upTo(r, 10)), Owner: oneOf(r, "", somebody(r)), Size: upTo(r, 100)}
}

func drawHours(r *rapid.T) SetHours {
	from := rapid.IntRange(0, 20*60).Draw(r, "from")
	return SetHours{Zone: oneOf(r, zoneNames()...), Days: rapid.SliceOfNDistinct(rapid.IntRange(0, 6), 3, 7, rapid.ID[int]).Draw(r, "days"),
		From: from, To: from + rapid.IntRange(239, 24*60-from).Draw(r, "length")}
}

func drawPerson(r *rapid.T) state.Person {
	return state.Person{ID: somebody(r), Zone: oneOf(r, zoneNames()...), From: upTo(r, 1500), To: upTo(r, 1500), Days: []int{upTo(r, 8) - 1}}
}

// zoneNames has half hours, quarter hours, both ends of the date line, clocks that
// change at midnight, and names that are none.
func zoneNames() []string {
	return []string{"", "Europe/Lisbon", "Pacific/Auckland", "Asia/Kathmandu", "America/St_Johns", "Pacific/Kiritimati", "Pacific/Pago_Pago",
		"Africa/Cairo", "Asia/Beirut", "America/Santiago", "Australia/Lord_Howe", "Atlantis/Centre", "Local"}
}
