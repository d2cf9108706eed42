package flows

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"soundings/engine"

	"github.com/stretchr/testify/assert"

	"soundings/flows/event"
	"soundings/flows/state"
)

// rights says who may want something at all, as the design has it.
type rights string

const (
	participants rights = "participants"
	leads        rights = "leads"
	anybody      rights = "anybody"
	shell        rights = "the shell"
)

// allIntents lists every intent with who may want it. TestIntentListIsWhole
// finds any that is missing.
func allIntents() []struct {
	in  Intent
	may rights
} {
	brief := state.Brief{Title: "Room for bicycles", Problem: "Nobody can tell whether there is room."}
	test := state.Plan{Assumption: "A1", Method: "Interviews", PassShare: 0.5}
	return []struct {
		in  Intent
		may rights
	}{
		{Start{ID: "K2", Brief: brief, People: []state.Person{{ID: "ines"}}}, anybody},
		{AskToJoin{}, anybody},

		{MarkRead{}, participants},
		{Ask{Ask: "How many piers?"}, participants},
		{Answer{N: 1, Answer: "Seven."}, participants},
		{Finish{Stage: state.StageBrief}, participants},
		{AddWording{Level: 1, Text: "Nobody can plan a trip."}, participants},
		{EditWording{N: 1, Level: 1, Text: "Nobody can plan."}, participants},
		{VoteFraming{Level: 1, Ticks: []int{0}}, participants},
		{PlaceSelf{Ring: state.Core}, participants},
		{NamePerson{Name: "The harbour master", Ring: state.Consulted}, participants},
		{AddAssumption{Text: "People look."}, participants},
		{ImportAssumptions{Rows: []AddAssumption{{Text: "People look."}}}, participants},
		{EditAssumption{ID: "A1", Text: "People look."}, participants},
		{WithdrawAssumption{ID: "A1"}, participants},
		{Rate{Round: 1, Assumption: "A1", Scale: state.Importance, Value: 5}, participants},
		{SplitAssumption{ID: "A1", Parts: []Part{{Text: "People look."}, {Text: "People trust it."}}}, participants},
		{AskDraft{What: state.DraftPlainer, Assumption: "A1"}, participants},
		{GiveReason{Assumption: "A1", Text: "We counted."}, participants},
		{SayAlike{Sets: [][]string{{"A1", "A2"}}}, participants},
		{VoteKinds{Kinds: map[string]state.Kind{"A1": state.Desirability}}, participants},
		{AddTest{Plan: test}, participants},
		{EditTest{N: 1, Plan: test}, participants},
		{WithdrawTest{N: 1}, participants},
		{VoteWeeks{Weeks: 4}, participants},
		{VoteOutlook{Worth: 6, Cost: engine.CostQuarter}, participants},
		{Foresee{Test: 1, Percent: 70}, participants},
		{AddAction{What: "Ask", Owner: "ines", Due: "2027-03-05"}, participants},
		{FinishAction{N: 1}, participants},
		{EditAction{N: 1, What: "Ask", Owner: "ines", Due: "2027-03-05"}, participants},
		{ReportResult{Checkin: 1, Test: 1, K: 1, N: 2}, participants},
		{TellResult{Checkin: 1, Test: 1, Told: state.Told{Learnt: "Nobody looks."}}, participants},
		{RateNew{Checkin: 1, Ratings: map[string]state.Marking{"A9": {Importance: 5, Evidence: 5}}}, participants},
		{DropTest{N: 1, Why: "Nobody has time."}, participants},
		{RerateEvidence{Checkin: 1, Evidence: map[string]int{"A1": 5}}, participants},
		{VoteConfidence{Checkin: 1, Confidence: 5}, participants},
		{VoteDecision{N: 1, Choice: state.Build}, participants},
		{Mute{}, participants},
		{SetHours{Days: []int{1}, From: 540, To: 1020}, participants},

		{EditBrief{Brief: brief}, leads},
		{AskDraft{What: state.DraftLadder}, leads},
		{PostGist{Assumption: "A1", Text: "Some counted, others asked."}, leads},
		{SettleFraming{Problem: "Nobody can tell."}, leads},
		{SettleRoles{}, leads},
		{LeaveRemarks{}, leads},
		{AskAlike{People: []state.UserID{"tui", "kofi"}}, leads},
		{SendBack{N: 1, Word: "Which of the two?"}, leads},
		{JoinAssumptions{Keep: "A1", Join: []string{"A2"}}, leads},
		{SetTimebox{Weeks: 4}, leads},
		{PostSummary{}, leads},
		{GiveWord{Part: "roles", Text: "Thank you."}, leads},
		{ReviseBrief{Title: "Room for bicycles"}, leads},
		{ReviseProblem{Problem: "Nobody can tell."}, leads},
		{ReviseRings{Rings: map[state.UserID]state.Ring{"ines": state.Core}}, leads},
		{ReviseTest{N: 1, Method: "Interviews"}, leads},
		{ReviseMarks{StopIf: "Nobody looks."}, leads},
		{ReviseAnswer{N: 1, Answer: "Eight."}, leads},
		{WithdrawAction{N: 1}, leads},
		{DecideNow{}, leads},
		{SettleDecision{N: 1, Choice: state.Build}, leads},
		{CloseNow{}, leads},
		{RemindNow{}, leads},
		{Extend{Days: 1}, leads},
		{ChooseDeal{Each: 15, Second: 12}, leads},
		{Reopen{}, leads},
		{LeaveOut{Stages: []state.Stage{state.StageRoles}}, leads},
		{HandOver{To: "tui"}, leads},
		{AddLead{Person: "tui"}, leads},
		{Invite{People: []state.Person{{ID: "zoe"}}}, leads},
		{LetGo{Person: "tui"}, leads},
		{GoOn{}, leads},
		{CallOff{Why: "The pier closes."}, leads},
		{GoOnHere{}, leads},

		{Tick{}, shell},
		{Left{Person: "tui"}, shell},
		{Introduce{People: []state.Person{{ID: "tui", Name: "Tui", Zone: "Pacific/Auckland"}}}, shell},
		{Report{News: event.MessagePosted{Slot: "stage/brief", Posting: state.Posting{Channel: "C1", TS: "1.2"}}}, shell},
		{MoveChannel{To: "C9"}, shell},
		{ReportUnreachable{Why: state.ChannelArchived}, shell},
		{ReportReachable{}, shell},
		{ReportLoss{After: 3, People: []state.UserID{"tui"}}, shell},
		{Report{News: event.ChannelSeen{Outside: true, Canvas: "F9"}}, shell},
		{Report{News: event.CanvasMade{ID: "F1"}}, shell},
		{Report{News: event.CanvasLost{ID: "F1"}}, shell},
		{Report{News: event.BookmarkAdded{ID: "Bk1"}}, shell},
		{Report{News: event.BookmarkRemoved{}}, shell},
		{Report{News: event.ExtraMissed{What: state.ExtraCanvas, Why: state.FaultScope}}, shell},
	}
}

func TestIntentListIsWhole(t *testing.T) {
	listed, rows := map[string]bool{}, map[string]bool{}
	for _, row := range allIntents() {
		name := reflect.TypeOf(row.in).Name()
		as := fmt.Sprintf("%T for %v", wish(row.in), row.may) // who may want drafts hangs on what they are of
		assert.False(t, rows[as], "%s is listed twice", as)
		listed[name], rows[as] = true, true
	}
	inSource := receivers(t, ".", "decide", 2)
	for name := range inSource {
		assert.True(t, listed[name], "intent %s is not in the list of this test: say there who may want it", name)
	}
	for name := range listed {
		assert.True(t, inSource[name], "%s is listed, and is no intent", name)
	}
}

// wish is what tells an intent from others: of a report, the event.
func wish(in Intent) any {
	if report, ok := in.(Report); ok {
		return report.News
	}
	return in
}

// as gives an intent to an actor.
func as(in Intent, who state.UserID) Intent {
	v := reflect.New(reflect.TypeOf(in)).Elem()
	v.Set(reflect.ValueOf(in))
	if f := v.FieldByName("Who"); f.IsValid() {
		f.SetString(string(who))
	}
	return v.Interface().(Intent)
}

// moments are kickoffs at each of their stages, with Kofi let go.
func moments(t *testing.T) map[string]state.Kickoff {
	t.Helper()
	all := map[string]state.Kickoff{}
	for _, stage := range []string{"brief", "framing", "framing settling", "roles", "roles settling", "assumptions", "rating/1",
		"rating/2", "backlog", "timebox", "timebox settling", "close", "underway"} {
		all[stage] = usual(t, stage).k
	}
	all["tidying"] = beforeTidying(t).k
	w := usual(t, "underway")
	w.must(t, DecideNow{ByLead: ByLead{"ines"}})
	all["decision"] = w.k
	w.must(t, SettleDecision{ByLead: ByLead{"ines"}, N: 1, Choice: state.Stop})
	all["ended"] = w.k
	return all
}

// outcome says in one word what Decide makes of an intent: who it is closed
// to, or that it is open.
func outcome(k state.Kickoff, in Intent, now time.Time) (string, error) {
	events, err := Decide(k, in, now)
	var r *Refusal
	switch {
	case err == nil && len(events) == 0:
		return "nothing", nil
	case err == nil:
		return "events", nil
	case !errors.As(err, &r):
		return "failure", err
	case strings.Contains(r.Reason, "not part of this kickoff"):
		return "outside", err
	case strings.Contains(r.Reason, "Only the lead can do that"):
		return "not a lead", err
	case strings.Contains(r.Reason, "has ended") || strings.Contains(r.Reason, "no open kickoff"):
		return "ended", err
	case strings.Contains(r.Reason, "no kickoff here yet"):
		return "not begun", err
	}
	return "rule", err
}

// TestWhoMayDoWhat holds every intent, at every stage, to the rule on who may
// want it. Whether the stage then takes it is for the transcripts.
func TestWhoMayDoWhat(t *testing.T) {
	for stage, k := range moments(t) {
		if stage == "ended" {
			continue
		}
		former := k
		former.People = append([]state.Person{{ID: "maya", Gone: true}}, k.People...)
		for _, row := range allIntents() {
			for _, actor := range []struct {
				who    state.UserID
				refuse map[rights]string
			}{
				{"zoe", map[rights]string{participants: "outside", leads: "outside"}},
				{"maya", map[rights]string{participants: "outside", leads: "outside"}},
				{"tui", map[rights]string{leads: "not a lead"}},
				{"ines", nil},
			} {
				got, err := outcome(former, as(row.in, actor.who), monday)
				want := actor.refuse[row.may]
				assert.False(t, want != "" && got != want, "%s: %T by %s: %s (%v), want %s", stage, row.in, actor.who, got, err, want)
				assert.False(t, want == "" && got != "events" && got != "nothing" && got != "rule", "%s: %T by %s: %s (%v), want it allowed, or refused by a rule of the stage", stage, row.in, actor.who, got, err)
			}
		}
	}
}

func TestNobodyChangesAnEndedKickoff(t *testing.T) {
	k := moments(t)["ended"]
	for _, row := range allIntents() {
		for _, who := range []state.UserID{"ines", "tui"} {
			got, err := outcome(k, as(row.in, who), monday)
			want := map[rights]string{participants: "ended", leads: "ended", anybody: "ended"}[row.may]
			if row.may == leads && who != "ines" {
				want = "not a lead"
			}
			switch wish(row.in).(type) {
			case event.MessagePosted, ReportLoss, MoveChannel, event.ChannelSeen, event.CanvasMade, event.BookmarkAdded, event.ExtraMissed: // its last messages still go out, wherever the channel goes
				want = "events"
			case Tick, Left, Introduce, ReportUnreachable, ReportReachable, event.CanvasLost, event.BookmarkRemoved:
				want = "nothing"
			}
			assert.Equal(t, want, got, "%T by %s: %s (%v)", wish(row.in), who, got, err)
		}
	}
}

func TestBeforeTheKickoffThereIsOnlyStart(t *testing.T) {
	for _, row := range allIntents() {
		got, err := outcome(begin(), as(row.in, "ines"), monday)
		want := map[rights]string{participants: "not begun", leads: "not begun", anybody: "ended", shell: "nothing"}[row.may]
		if _, start := row.in.(Start); start {
			want = "events"
		}
		assert.Equal(t, want, got, "%T: %s (%v)", row.in, got, err)
	}
}

// TestRefusalsAreSentences holds what people read to plain sentences.
func TestRefusalsAreSentences(t *testing.T) {
	for stage, k := range moments(t) {
		for _, row := range allIntents() {
			for _, who := range []state.UserID{"zoe", "tui", "ines"} {
				_, err := Decide(k, as(row.in, who), monday)
				var r *Refusal
				if !errors.As(err, &r) {
					continue
				}
				first := r.Reason[0]
				assert.False(t, first >= 'a' && first <= 'z', "%s: %T: %q is no plain sentence", stage, row.in, r.Reason)
				assert.True(t, strings.HasSuffix(r.Reason, "."), "%s: %T: %q is no plain sentence", stage, row.in, r.Reason)
				assert.NotContains(t, r.Reason, "%!", "%s: %T: %q is no plain sentence", stage, row.in, r.Reason)
			}
		}
	}
}
