package flows

import (
	"cmp"
	"strconv"
	"strings"
	"time"

	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// DecideNow opens the decision before the time box has ended.
type DecideNow struct{ ByLead }

func (i DecideNow) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	if err := cmp.Or(
		refuseIf(k.Stage != state.StageUnderway, "", "There is nothing to decide before the discovery is underway."),
		refuseIf(k.Underway.Decision.Phase != "", "", "The decision is open already."),
	); err != nil {
		return nil, err
	}
	var events []Event
	if c := openCheckin(k); c != nil {
		events = append(events, closeCheckin(k, c)...)
	}
	return append(events, openDecision(k, true, now)), nil
}

func openDecision(k *state.Kickoff, early bool, now time.Time) DecisionOpened {
	return DecisionOpened{Early: early, Closes: fairClose(k, now, workday, k.Participants())}
}

// DecisionOpened asks everybody: build, stop, or another time box?
type DecisionOpened struct {
	Early  bool `json:",omitempty"`
	Closes time.Time
}

func (e DecisionOpened) apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	earlier := k.Underway.Decision.Earlier
	k.Underway.Decision = state.Decision{Opened: at, Closes: e.Closes, Early: e.Early, Phase: state.PhaseOpen, Earlier: earlier}
}

// Once the vote is open there is none to open, so the controls change too.
func (DecisionOpened) react(b *reaction) {
	b.show(ScreenDecision, b.decisionArg())
	b.controls()
}

func owingDecision(k *state.Kickoff) []state.UserID {
	return lists.Keep(k.Participants(), func(u state.UserID) bool { return !lists.Has(k.Underway.Decision.Votes, u) })
}

// everybodyDecided reports that everybody has voted, so that there is nobody to
// wait for.
func everybodyDecided(k *state.Kickoff) bool {
	return len(owingDecision(k)) == 0 && len(k.Participants()) > 0
}

// VoteDecision is the actor's choice; the last one counts. Its number keeps a
// button of one vote from counting in the next.
type VoteDecision struct {
	By
	N      int // of the decision, from 1
	Choice state.Choice
	Weeks  int // for Another
}

func (i VoteDecision) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	switch {
	case i.N < k.Underway.DecisionNumber():
		return nil, refuse("That vote is over, so this was not counted. If another one is open, its message is the newest in the channel.")
	case k.Stage != state.StageUnderway || i.N > k.Underway.DecisionNumber() || k.Underway.Decision.Phase != state.PhaseOpen:
		return nil, refuse("The vote is not open at the moment.")
	}
	return provided(checkChoice(i.Choice, i.Weeks), DecisionVoted(newVote(i.Choice, i.Weeks)))
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

// DecisionVoted is one person's choice.
type DecisionVoted struct {
	Choice state.Choice
	Weeks  int `json:",omitempty"`
}

func (e DecisionVoted) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Underway.Decision.Votes, by, state.DecisionVote(e))
}
func (DecisionVoted) react(b *reaction) { b.refresh(ScreenDecision, b.decisionArg()) }

func (b *reaction) decisionArg() string { return strconv.Itoa(b.k.Underway.DecisionNumber()) }

// countDecision counts the votes, unless they were.
func countDecision(k *state.Kickoff) *state.DecisionTally {
	d := k.Underway.Decision
	if d.Counted != nil {
		return nil
	}
	tally := &state.DecisionTally{Votes: d.Tally(), Voted: d.VotedOf(k.Participants())}
	if vote, plain := PlainChoice(k); plain {
		tally.Plain = &vote
	}
	return tally
}

// DecisionCounted ends the vote; the lead settles it.
type DecisionCounted struct {
	Until   time.Time
	Counted *state.DecisionTally `json:",omitempty"` // nil when the leads are only asked again
}

func (e DecisionCounted) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	d := &k.Underway.Decision
	d.Phase, d.Until, d.Counted = state.PhaseSettling, e.Until, cmp.Or(e.Counted, d.Counted)
}

func (e DecisionCounted) react(b *reaction) {
	b.show(ScreenDecision, b.decisionArg())
	b.tellLeads(ScreenSettle, "decision/"+b.decisionArg())
}

// dueDecision settles for a silent lead only what the vote made plain. About
// anything else the leads are asked again each working day: no machine should
// stop, or build, what people are divided on.
func dueDecision(k *state.Kickoff, now time.Time) []Event {
	d := k.Underway.Decision
	if now.Before(d.Until) {
		return nil
	}
	if vote, plain := PlainChoice(k); plain {
		return settleDecision(k, vote, "", now)
	}
	until := workdays.Had(k.LeadHours(), now, workday)
	again := []Event{DecisionCounted{Until: until}}
	return append(again, dueReminders(k, wait{opened: d.Opened, end: &until, owing: state.Leading}, now)...)
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

func (i SettleDecision) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
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

func settleDecision(k *state.Kickoff, v state.DecisionVote, why string, now time.Time) []Event {
	made := DecisionMade{N: k.Underway.DecisionNumber(), Choice: v.Choice, Why: why, Counted: countDecision(k)}
	var events []Event
	if made.Counted != nil { // the lead did not wait for the vote to close
		events = emptied(decisionBox)
	}
	if v.Choice != state.Another {
		return append([]Event{made}, events...)
	}
	made.Weeks = v.Weeks
	return append(append([]Event{made}, events...), startBox(k, v.Weeks, now))
}

// DecisionMade ends the time box: to build, to stop, or with another one.
type DecisionMade struct {
	N      int // of the decision, from 1
	Choice state.Choice
	Weeks  int    `json:",omitempty"`
	Why    string `json:",omitempty"`

	Counted *state.DecisionTally `json:",omitempty"` // where they were not before
}

func (e DecisionMade) apply(k *state.Kickoff, at time.Time, by state.UserID) {
	d := k.Underway.Decision
	if e.Counted != nil {
		d.Counted, d.Votes = e.Counted, nil
	}
	d.Phase, d.Set, d.Weeks, d.SetBy, d.Why, d.At = state.PhaseClosed, e.Choice, e.Weeks, by, e.Why, at
	if e.Choice == state.Another {
		earlier := d.Earlier
		d.Earlier = nil
		state.Add(k, &earlier, d)
		k.Underway.Decision = state.Decision{Earlier: earlier}
		return
	}
	k.Underway.Decision = d
	k.Stage = state.StageEnded
	k.Window.Stage, k.Window.Phase = state.StageEnded, state.PhaseClosed
}

func (e DecisionMade) react(b *reaction) {
	n := strconv.Itoa(e.N)
	b.show(ScreenDecision, n)
	b.tellLeads(ScreenSettle, "decision/"+n)
	b.show(ScreenOutcome, n)
	b.show(ScreenSummary, "")
	if e.Choice != state.Another {
		b.tellLeads(ScreenDesk, "")
		if !Held(b.k) {
			b.add(Effect{Do: ShareFiles, Slot: Slot{Screen: ScreenOutcome, Arg: n}})
		}
		b.add(Effect{Do: Unpin, Slot: Slot{Screen: ScreenSummary}})
		b.add(Effect{Do: ReleaseChannel})
		b.add(Effect{Do: RemoveBookmark})
	}
	b.canvas(UpdateCanvas)
}
