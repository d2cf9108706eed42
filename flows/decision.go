package flows

import (
	"cmp"
	"strconv"
	"strings"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// DecideNow opens the decision before the time box has ended.
type DecideNow struct{ ByLead }

func (i DecideNow) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := cmp.Or(
		refuseIf(k.Stage != state.StageUnderway, "", "There is nothing to decide before the discovery is underway."),
		refuseIf(k.Underway.Decision.Phase != "", "", "The decision is open already."),
	); err != nil {
		return nil, err
	}
	var events []event.Event
	if c := state.OpenCheckin(k); c != nil {
		events = append(events, closeCheckin(k, c)...)
	}
	return append(events, openDecision(k, true, now)), nil
}

func openDecision(k *state.Kickoff, early bool, now time.Time) event.DecisionOpened {
	return event.DecisionOpened{Early: early, Closes: fairClose(k, now, workday, k.Participants())}
}

// everybodyDecided reports that everybody has voted, so that there is nobody to
// wait for.
func everybodyDecided(k *state.Kickoff) bool {
	return len(state.OwingDecision(k)) == 0 && len(k.Participants()) > 0
}

// VoteDecision is the actor's choice; the last one counts. Its number keeps a
// button of one vote from counting in the next.
type VoteDecision struct {
	By
	N      int // of the decision, from 1
	Choice state.Choice
	Weeks  int // for Another
}

func (i VoteDecision) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	switch {
	case i.N < k.Underway.DecisionNumber():
		return nil, refuse("That vote is over, so this was not counted. If another one is open, its message is the newest in the channel.")
	case k.Stage != state.StageUnderway || i.N > k.Underway.DecisionNumber() || k.Underway.Decision.Phase != state.PhaseOpen:
		return nil, refuse("The vote is not open at the moment.")
	}
	return provided(checkChoice(i.Choice, i.Weeks), event.DecisionVoted(newVote(i.Choice, i.Weeks)))
}

func checkChoice(c state.Choice, weeks int) error {
	switch c {
	case state.Build, state.Stop:
		return nil
	case state.Another:
		return checkWeeks(weeks)
	}
	return refuseField("choice", "Choose build, stop, or another time box.")
}

// newVote is a choice with its weeks, which count only for another box.
func newVote(c state.Choice, weeks int) state.DecisionVote {
	if c != state.Another {
		weeks = 0
	}
	return state.DecisionVote{Choice: c, Weeks: weeks}
}

func (b *reaction) decisionArg() string { return strconv.Itoa(b.k.Underway.DecisionNumber()) }

// countDecision counts the votes, unless they were.
func countDecision(k *state.Kickoff) *state.DecisionTally {
	d := k.Underway.Decision
	if d.Counted != nil {
		return nil
	}
	tally := &state.DecisionTally{Votes: d.Tally(), Voted: d.VotedOf(k.Participants()), Core: coreTally(k)}
	if vote, plain := PlainChoice(k); plain {
		tally.Plain = &vote
	}
	return tally
}

// coreTally is what the core team voted, provided that neither it nor the others
// are so few that it would give single votes away.
func coreTally(k *state.Kickoff) []state.ChoiceCount {
	ofCore := map[state.UserID]state.DecisionVote{}
	for u, v := range k.Underway.Decision.Votes {
		if k.RingOf(u) == state.Core {
			ofCore[u] = v
		}
	}
	others := len(k.Underway.Decision.Votes) - len(ofCore)
	if min(len(ofCore), others) < state.FewestRaters {
		return nil
	}
	return state.TallyOf(ofCore)
}

// dueDecision settles for a silent lead only what the vote made plain. About
// anything else the leads are asked again each working day: no machine should
// stop, or build, what people are divided on.
func dueDecision(k *state.Kickoff, now time.Time) []event.Event {
	d := k.Underway.Decision
	if now.Before(d.Until) {
		return nil
	}
	if vote, plain := PlainChoice(k); plain {
		return settleDecision(k, vote, "", now)
	}
	until := workdays.Had(k.LeadHours(), now, workday)
	again := []event.Event{event.DecisionCounted{Until: until}}
	return append(again, dueReminders(k, state.Wait{Opened: d.Opened, End: &until, Owing: state.Leading}, now)...)
}

// PlainChoice is what a silent lead's decision would be: what more than half of those who voted chose, provided that
// half of those asked have voted. How many weeks another box has is then what
// most of these said, of a tie the fewest.
func PlainChoice(k *state.Kickoff) (state.DecisionVote, bool) {
	if counted := k.Underway.Decision.Counted; counted != nil {
		if counted.Plain == nil {
			return state.DecisionVote{}, false
		}
		return *counted.Plain, true
	}
	votes, choices, voters := map[state.DecisionVote]int{}, map[state.Choice]int{}, 0
	asked := k.Participants()
	for _, u := range asked {
		if v, voted := k.Underway.Decision.Votes[u]; voted {
			votes[v]++
			choices[v.Choice]++
			voters++
		}
	}
	best, most := state.DecisionVote{}, 0
	for v, n := range votes {
		if 2*choices[v.Choice] > voters && (n > most || n == most && v.Weeks < best.Weeks) {
			best, most = v, n
		}
	}
	return best, most > 0 && 2*voters >= len(asked)
}

// SettleDecision is the lead's word on how the time box ends.
type SettleDecision struct {
	ByLead
	N      int // of the decision, from 1
	Choice state.Choice
	Weeks  int
	Why    string // one sentence, where it goes against the marks or the votes
}

// Against says what a lead's settlement would go against: what was written
// beforehand, or, once they are counted, most votes. It is empty where it goes
// against neither.
func Against(k *state.Kickoff, c state.Choice) string {
	votes, all, most := map[state.Choice]int{}, 0, false
	if k.Underway.Decision.Counted != nil {
		for _, v := range k.Underway.Decision.Tally() {
			votes[v.Choice] += v.N
			all += v.N
		}
	}
	for choice, n := range votes {
		most = most || choice != c && 2*n > all
	}
	switch marks := state.AgainstMarks(k, c); {
	case marks && most:
		return "what was written beforehand and most votes"
	case marks:
		return "what was written beforehand"
	case most:
		return "most votes"
	}
	return ""
}

func (i SettleDecision) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	switch {
	case i.N < k.Underway.DecisionNumber():
		return nil, refuse("That decision is made and the time box was renewed, so nothing was changed. A later vote has a message of its own.")
	case k.Stage != state.StageUnderway || i.N > k.Underway.DecisionNumber() || k.Underway.Decision.Phase == "":
		return nil, refuse("The vote has not been opened. Open it first, so that everybody is heard.")
	}
	against := Against(k, i.Choice)
	if err := cmp.Or(
		checkChoice(i.Choice, i.Weeks),
		checkText("why", "sentence", i.Why, MaxSentence, false),
		refuseIf(against != "" && strings.TrimSpace(i.Why) == "", "why", "This goes against %s. Say in one sentence why; it is shown with the decision.", against),
	); err != nil {
		return nil, err
	}
	return settleDecision(k, state.DecisionVote{Choice: i.Choice, Weeks: i.Weeks}, i.Why, now), nil
}

func settleDecision(k *state.Kickoff, v state.DecisionVote, why string, now time.Time) []event.Event {
	made := event.DecisionMade{N: k.Underway.DecisionNumber(), Choice: v.Choice, Why: why, Counted: countDecision(k)}
	var events []event.Event
	if made.Counted != nil { // the lead did not wait for the vote to close
		events = event.Empty(event.DecisionBox)
	}
	if v.Choice != state.Another {
		return append(append([]event.Event{made}, events...), forgetForesight(k)...)
	}
	made.Weeks = v.Weeks
	return append(append([]event.Event{made}, events...), startBox(k, v.Weeks, now))
}

// afterDecision says what should follow from the decision.
func afterDecision(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.DecisionOpened:
		// Once the vote is open there is none to open, so the controls change too.
		b.show(ScreenDecision, b.decisionArg())
		b.controls()
	case event.DecisionVoted:
		b.refresh(ScreenDecision, b.decisionArg())
		b.desksLater()
	case event.DecisionCounted:
		b.show(ScreenDecision, b.decisionArg())
		b.tellLeads(ScreenSettle, "decision/"+b.decisionArg())
	case event.DecisionMade:
		n := strconv.Itoa(e.N)
		b.show(ScreenDecision, n)
		b.tellLeads(ScreenSettle, "decision/"+n)
		b.show(ScreenOutcome, n)
		b.show(ScreenSummary, "")
		if !Held(b.k) {
			b.add(Effect{Do: ShareFiles, Slot: Slot{Screen: ScreenOutcome, Arg: n}})
		}
		if e.Choice != state.Another {
			b.tellLeads(ScreenDesk, "")
			b.add(Effect{Do: Unpin, Slot: Slot{Screen: ScreenSummary}})
			b.add(Effect{Do: ReleaseChannel})
			b.add(Effect{Do: RemoveBookmark})
		}
		b.canvas(UpdateCanvas)
	}
}
