package flows

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"soundings/flows/workdays"
)

// DecideNow opens the decision before the time box has ended.
type DecideNow struct{ ByLead }

func (i DecideNow) decide(k *Kickoff, now time.Time) ([]Event, error) {
	if err := cmp.Or(
		refuseIf(k.Stage != StageUnderway, "", "There is nothing to decide before the discovery is underway."),
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

func openDecision(k *Kickoff, early bool, now time.Time) DecisionOpened {
	return DecisionOpened{Early: early, Closes: fairClose(k, now, workday, k.Participants())}
}

// DecisionOpened asks everybody: build, stop, or another time box?
type DecisionOpened struct {
	Early  bool `json:",omitempty"`
	Closes time.Time
}

func (e DecisionOpened) apply(k *Kickoff, at time.Time, _ UserID) {
	earlier := k.Underway.Decision.Earlier
	k.Underway.Decision = Decision{Opened: at, Closes: e.Closes, Early: e.Early, Phase: PhaseOpen, Earlier: earlier}
}

// Once the vote is open there is none to open, so the controls change too.
func (DecisionOpened) react(b *reaction) {
	b.show(ScreenDecision, b.decisionArg())
	b.controls()
}

func owingDecision(k *Kickoff) []UserID {
	return keep(k.Participants(), func(u UserID) bool { return !has(k.Underway.Decision.Votes, u) })
}

// everybodyDecided reports that everybody has voted, so that there is nobody to
// wait for.
func everybodyDecided(k *Kickoff) bool {
	return len(owingDecision(k)) == 0 && len(k.Participants()) > 0
}

// DecisionNumber numbers the decisions of a kickoff from 1: the open one, or
// the one that comes next.
func (u Underway) DecisionNumber() int { return len(u.Decision.Earlier) + 1 }

// VoteDecision is the actor's choice; the last one counts. Its number keeps a
// button of one vote from counting in the next.
type VoteDecision struct {
	By
	N      int // of the decision, from 1
	Choice Choice
	Weeks  int // for Another
}

func (i VoteDecision) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	switch {
	case i.N < k.Underway.DecisionNumber():
		return nil, refuse("That vote is over, so this was not counted. If another one is open, its message is the newest in the channel.")
	case k.Stage != StageUnderway || i.N > k.Underway.DecisionNumber() || k.Underway.Decision.Phase != PhaseOpen:
		return nil, refuse("The vote is not open at the moment.")
	}
	return provided(checkChoice(i.Choice, i.Weeks), DecisionVoted(newVote(i.Choice, i.Weeks)))
}

func checkChoice(c Choice, weeks int) error {
	switch c {
	case Build, Stop:
		return nil
	case Another:
		return checkWeeks(weeks)
	}
	return refuseField("choice", "Choose build, stop, or another time box.")
}

// newVote is a choice with its weeks, which count only for another box.
func newVote(c Choice, weeks int) DecisionVote {
	if c != Another {
		weeks = 0
	}
	return DecisionVote{Choice: c, Weeks: weeks}
}

// DecisionVoted is one person's choice.
type DecisionVoted struct {
	Choice Choice
	Weeks  int `json:",omitempty"`
}

func (e DecisionVoted) apply(k *Kickoff, _ time.Time, by UserID) {
	put(k, &k.Underway.Decision.Votes, by, DecisionVote(e))
}
func (DecisionVoted) react(b *reaction) { b.refresh(ScreenDecision, b.decisionArg()) }

func (b *reaction) decisionArg() string { return strconv.Itoa(b.k.Underway.DecisionNumber()) }

// A DecisionTally is what the votes came to when they were counted.
type DecisionTally struct {
	Votes []ChoiceCount
	Voted int           // of those who take part
	Plain *DecisionVote `json:",omitempty"` // what a silent lead's decision is; nil where the votes make none plain
}

// A ChoiceCount is how many chose the same.
type ChoiceCount struct {
	DecisionVote
	N int
}

// countDecision counts the votes, unless they were.
func countDecision(k *Kickoff) *DecisionTally {
	d := k.Underway.Decision
	if d.Counted != nil {
		return nil
	}
	tally := &DecisionTally{Votes: d.Tally(), Voted: d.VotedOf(k.Participants())}
	if vote, plain := k.PlainChoice(); plain {
		tally.Plain = &vote
	}
	return tally
}

// Tally counts who chose what, in a stable order.
func (d Decision) Tally() []ChoiceCount {
	if d.Counted != nil {
		return d.Counted.Votes
	}
	counts := map[DecisionVote]int{}
	for _, v := range d.Votes {
		counts[v]++
	}
	var tally []ChoiceCount
	for v, n := range counts {
		tally = append(tally, ChoiceCount{v, n})
	}
	slices.SortFunc(tally, func(a, b ChoiceCount) int {
		return cmp.Or(cmp.Compare(a.Choice, b.Choice), cmp.Compare(a.Weeks, b.Weeks))
	})
	return tally
}

// VotedOf counts who of those asked has voted.
func (d Decision) VotedOf(asked []UserID) int {
	if d.Counted != nil {
		return min(d.Counted.Voted, len(asked))
	}
	return len(keep(asked, func(u UserID) bool { return has(d.Votes, u) }))
}

// DecisionCounted ends the vote; the lead settles it.
type DecisionCounted struct {
	Until   time.Time
	Counted *DecisionTally `json:",omitempty"` // nil when the leads are only asked again
}

func (e DecisionCounted) apply(k *Kickoff, _ time.Time, _ UserID) {
	d := &k.Underway.Decision
	d.Phase, d.Until, d.Counted = PhaseSettling, e.Until, cmp.Or(e.Counted, d.Counted)
}

func (e DecisionCounted) react(b *reaction) {
	b.show(ScreenDecision, b.decisionArg())
	b.tellLeads(ScreenSettle, "decision/"+b.decisionArg())
}

// dueDecision settles for a silent lead only what the vote made plain. About
// anything else the leads are asked again each working day: no machine should
// stop, or build, what people are divided on.
func dueDecision(k *Kickoff, now time.Time) []Event {
	d := k.Underway.Decision
	if now.Before(d.Until) {
		return nil
	}
	if vote, plain := k.PlainChoice(); plain {
		return settleDecision(k, vote, now)
	}
	until := workdays.Had(k.LeadHours(), now, workday)
	again := []Event{DecisionCounted{Until: until}}
	return append(again, dueReminders(k, wait{opened: d.Opened, end: &until, owing: leading}, now)...)
}

// PlainChoice is what a silent lead's decision would be: what more than half of those who voted chose, provided that
// half of those asked have voted. How many weeks another box has is then what
// most of these said, of a tie the fewest.
func (k *Kickoff) PlainChoice() (DecisionVote, bool) {
	if counted := k.Underway.Decision.Counted; counted != nil {
		if counted.Plain == nil {
			return DecisionVote{}, false
		}
		return *counted.Plain, true
	}
	votes, choices, voters := map[DecisionVote]int{}, map[Choice]int{}, 0
	asked := k.Participants()
	for _, u := range asked {
		if v, voted := k.Underway.Decision.Votes[u]; voted {
			votes[v]++
			choices[v.Choice]++
			voters++
		}
	}
	best, most := DecisionVote{}, 0
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
	Choice Choice
	Weeks  int
}

func (i SettleDecision) decide(k *Kickoff, now time.Time) ([]Event, error) {
	switch {
	case i.N < k.Underway.DecisionNumber():
		return nil, refuse("That decision is made and the time box was renewed, so nothing was changed. A later vote has a message of its own.")
	case k.Stage != StageUnderway || i.N > k.Underway.DecisionNumber() || k.Underway.Decision.Phase == "":
		return nil, refuse("The vote has not been opened. Open it first, so that everybody is heard.")
	}
	if err := checkChoice(i.Choice, i.Weeks); err != nil {
		return nil, err
	}
	return settleDecision(k, DecisionVote{Choice: i.Choice, Weeks: i.Weeks}, now), nil
}

func settleDecision(k *Kickoff, v DecisionVote, now time.Time) []Event {
	made := DecisionMade{N: k.Underway.DecisionNumber(), Choice: v.Choice, Counted: countDecision(k)}
	var events []Event
	if made.Counted != nil { // the lead did not wait for the vote to close
		events = emptied(decisionBox)
	}
	if v.Choice != Another {
		return append([]Event{made}, events...)
	}
	made.Weeks = v.Weeks
	return append(append([]Event{made}, events...), startBox(k, v.Weeks, now))
}

// DecisionMade ends the time box: to build, to stop, or with another one.
type DecisionMade struct {
	N      int // of the decision, from 1
	Choice Choice
	Weeks  int `json:",omitempty"`

	Counted *DecisionTally `json:",omitempty"` // where they were not before
}

func (e DecisionMade) apply(k *Kickoff, at time.Time, by UserID) {
	d := k.Underway.Decision
	if e.Counted != nil {
		d.Counted, d.Votes = e.Counted, nil
	}
	d.Phase, d.Set, d.Weeks, d.SetBy, d.At = PhaseClosed, e.Choice, e.Weeks, by, at
	if e.Choice == Another {
		earlier := d.Earlier
		d.Earlier = nil
		add(k, &earlier, d)
		k.Underway.Decision = Decision{Earlier: earlier}
		return
	}
	k.Underway.Decision = d
	k.Stage = StageEnded
	k.Window.Stage, k.Window.Phase = StageEnded, PhaseClosed
}

func (e DecisionMade) react(b *reaction) {
	n := strconv.Itoa(e.N)
	b.show(ScreenDecision, n)
	b.tellLeads(ScreenSettle, "decision/"+n)
	b.show(ScreenOutcome, n)
	b.show(ScreenSummary, "")
	if e.Choice != Another {
		b.tellLeads(ScreenDesk, "")
		if !b.k.Held() {
			b.add(Effect{Do: ShareFiles, Slot: Slot{Screen: ScreenOutcome, Arg: n}})
		}
		b.add(Effect{Do: Unpin, Slot: Slot{Screen: ScreenSummary}})
		b.add(Effect{Do: ReleaseChannel})
		b.add(Effect{Do: RemoveBookmark})
	}
	b.canvas(UpdateCanvas)
}
