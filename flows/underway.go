package flows

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/tally"
	"soundings/flows/workdays"
)

func startDiscovery(k *state.Kickoff, _ event.StageOpened, now time.Time) []event.Event {
	return append(event.EmptyStages(k), startBox(k, k.Timebox.Weeks, now))
}

// startBox ends at the close of a working day of the lead's.
func startBox(k *state.Kickoff, weeks int, now time.Time) event.BoxStarted {
	return event.BoxStarted{Weeks: weeks, Ends: workdays.Close(k.LeadHours(), now, weeks)}
}

// halfWeek is the least time before a check-in: there is nothing to tell on
// the morning after the start, and the lead's new hours, or a new lead's, must
// not open a second check-in on the day of the first.
const halfWeek = 84 * time.Hour

// CheckinTimes lists when check-ins open, from the start of the discovery to
// the end of its present box: on the chosen day of each week, an hour into the
// lead's working day. The first half week has none, unless it has the only
// one; and one that falls into a vote on the end of a box is left out when its
// time comes.
func CheckinTimes(k *state.Kickoff) []time.Time {
	starts := k.Timebox.Starts
	if starts.IsZero() {
		return nil
	}
	times := workdays.Weekly(k.LeadHours(), k.Timebox.Checkin, starts, k.Timebox.Ends)
	if len(times) > 1 && times[0].Before(starts.Add(halfWeek)) {
		times = times[1:]
	}
	return times
}

// nextCheckin is when the next check-in opens; zero when there is none left
// in the present box.
func nextCheckin(k *state.Kickoff) time.Time {
	after := BoxBegan(k)
	if n := len(k.Underway.Checkins); n > 0 {
		if last := k.Underway.Checkins[n-1].Opened.Add(halfWeek); last.After(after) {
			after = last
		}
	}
	for _, at := range CheckinTimes(k) {
		if at.After(after) {
			return at
		}
	}
	return time.Time{}
}

// BoxBegan is when the present time box began.
func BoxBegan(k *state.Kickoff) time.Time {
	if n := len(k.Underway.Decision.Earlier); n > 0 {
		return k.Underway.Decision.Earlier[n-1].At
	}
	return k.Timebox.Starts
}

// dueUnderway opens and closes check-ins and the decision, and tells people what
// they have to do today.
func dueUnderway(k *state.Kickoff, now time.Time) []event.Event {
	if events := dueLook(k, now); len(events) > 0 {
		return events
	}
	return dueWords(k, now)
}

// dueLook opens and closes check-ins and the decision.
func dueLook(k *state.Kickoff, now time.Time) []event.Event {
	if c := state.OpenCheckin(k); c != nil {
		if !now.Before(c.Closes) {
			return closeCheckin(k, c)
		}
		return dueReminders(k, state.WaitOf(k), now)
	}
	d := k.Underway.Decision
	switch {
	case d.Phase == state.PhaseOpen && (!now.Before(d.Closes) || everybodyDecided(k)):
		counted := event.DecisionCounted{Until: workdays.Had(k.LeadHours(), now, workday), Counted: countDecision(k)}
		return append([]event.Event{counted}, event.Empty(event.DecisionBox)...)
	case d.Phase == state.PhaseOpen:
		return dueReminders(k, state.WaitOf(k), now)
	case d.Phase == state.PhaseSettling:
		return dueDecision(k, now)
	case !now.Before(k.Timebox.Ends):
		return []event.Event{openDecision(k, false, now)}
	}
	if at := nextCheckin(k); !at.IsZero() && !now.Before(at) {
		n := len(k.Underway.Checkins) + 1
		return []event.Event{event.CheckinOpened{N: n, Closes: fairClose(k, now, workday, k.InRing(state.Core))}}
	}
	return nil
}

// needsCheckin refuses what belongs to another check-in than the open one:
// what somebody found out by last week must not count as this week's.
func needsCheckin(k *state.Kickoff, n int) error {
	switch c := state.OpenCheckin(k); {
	case c != nil && c.N == n:
		return nil
	case c != nil && 1 <= n && n < c.N:
		return refuse("Check-in %d is over, so this was not taken. Check-in %d is open: its message is in the channel.", n, c.N)
	case n >= 1 && n <= len(k.Underway.Checkins):
		return refuse("Check-in %d is over, so this was not taken. The next one is announced in the channel.", n)
	}
	return refuse("No check-in is open at the moment. The next one is announced in the channel.")
}

// RerateEvidence says how solid the actor finds the evidence now.
type RerateEvidence struct {
	By
	Checkin  int            // its number, from 1
	Evidence map[string]int // assumption -> 1 to 9
}

func (i RerateEvidence) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(needsCheckin(k, i.Checkin), mayRate(k, i.Who)); err != nil {
		return nil, err
	}
	for id, value := range i.Evidence {
		if _, ok := k.Scored(id); !ok {
			return nil, refuseField("evidence", "%s was not rated in this kickoff.", id)
		}
		if value < 1 || value > 9 {
			return nil, refuseField("evidence", "A rating is a whole number from 1 to 9.")
		}
	}
	return when(len(i.Evidence) > 0, event.EvidenceRerated{Evidence: i.Evidence})
}

// RateNew rates assumptions that came after the map was made, as a ballot does.
type RateNew struct {
	By
	Checkin int // its number, from 1
	Ratings map[string]state.Marking
}

func (i RateNew) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(needsCheckin(k, i.Checkin), mayRate(k, i.Who)); err != nil {
		return nil, err
	}
	for id, m := range i.Ratings {
		valid := func(v int) bool { return v == state.CantSay || v >= 0 && v <= 9 }
		if err := cmp.Or(
			refuseIf(!slices.Contains(tally.ToPlace(k, i.Checkin), id), "rate", "%s is not to be rated at this check-in.", id),
			refuseIf(!valid(m.Importance) || !valid(m.Evidence), "rate", "A rating is a whole number from 1 to 9."),
		); err != nil {
			return nil, err
		}
	}
	return when(len(i.Ratings) > 0, event.NewRated{Ratings: i.Ratings})
}

// VoteConfidence says how confident the actor is in the opportunity as a
// whole.
type VoteConfidence struct {
	By
	Checkin    int // its number, from 1
	Confidence int // 1 to 9
}

func (i VoteConfidence) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return provided(cmp.Or(
		needsCheckin(k, i.Checkin),
		refuseIf(i.Confidence < 1 || i.Confidence > 9, "confidence", "Confidence is a whole number from 1 to 9."),
	), event.ConfidenceVoted{Confidence: i.Confidence})
}

func (b *reaction) checkin() {
	if c := state.OpenCheckin(b.k); c != nil {
		b.refresh(ScreenCheckin, strconv.Itoa(c.N))
	}
}

// closeCheckin counts what was said.
func closeCheckin(k *state.Kickoff, c *state.Checkin) []event.Event {
	said := state.SaidOf(c.Confidence)
	_, ofCore := c.Voters(k.InRing(state.Core))
	closed := event.CheckinClosed{N: c.N, Moved: tally.Moves(k, c), Placed: tally.Places(k, c),
		Counted: &state.CheckinConfidence{Median: said.Median, IQR: said.IQR, Third: said.Third, Voters: said.N, Core: ofCore}}
	return append([]event.Event{closed}, event.Empty(event.CheckinBox)...)
}

// afterUnderway says what should follow from check-ins.
func afterUnderway(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.BoxStarted:
		b.tellLeads(ScreenDesk, "")
		b.refresh(ScreenSummary, "")
	case event.CheckinOpened:
		if _, posted := b.k.Posted[ScreenForesight]; posted && e.N == 1 { // from now on the check-ins ask
			b.refresh(ScreenForesight, "")
		}
		b.show(ScreenCheckin, strconv.Itoa(e.N))
		b.controls()
	case event.EvidenceRerated, event.NewRated:
		b.checkin()
	case event.ConfidenceVoted:
		b.checkin()
		b.desksLater()
	case event.CheckinClosed:
		n := strconv.Itoa(e.N)
		b.show(ScreenCheckin, n)
		b.show(ScreenMoved, n)
		if figured := lists.Keep(e.Moved, func(m state.Move) bool { return m.To.Defined() }); len(figured)+len(e.Placed) > 0 {
			b.add(Effect{Do: ShareMap, Slot: Slot{Screen: ScreenMoved, Arg: n}})
		}
		b.show(ScreenSummary, "")
		for _, u := range b.k.InRing(state.Informed) {
			b.tell(ScreenDigest, n, u)
		}
		b.canvas(UpdateCanvas)
		b.controls()
	}
}
