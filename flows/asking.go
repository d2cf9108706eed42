package flows

import (
	"time"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// Owing lists who has not answered what is open now, in the order in which they
// were asked. It is for leads alone: before the channel nobody is named.
func Owing(k *state.Kickoff) []state.UserID {
	if k.Stage == state.StageEnded {
		return nil
	}
	if w := state.WaitOf(k); w.Owing != nil {
		return w.Owing(k)
	}
	return nil
}

// A NoReminder is why somebody who owes an answer is not reminded now.
type NoReminder int

// The reasons, of which the first that applies counts.
const (
	WantsNone     NoReminder = iota + 1 // has stopped the reminders
	OffWork                             // now; they are reminded when they are back, as always
	RemindedToday                       // on their own day
)

// Remindable parts those who owe an answer into those who may be reminded at
// now, and those who are left alone.
func Remindable(k *state.Kickoff, now time.Time) (who []state.UserID, not map[NoReminder][]state.UserID) {
	not = map[NoReminder][]state.UserID{}
	for _, u := range Owing(k) {
		p, _ := k.Person(u)
		h := k.HoursOf(p)
		switch last := k.Reminded[u]; {
		case p.Muted:
			not[WantsNone] = append(not[WantsNone], u)
		case !engine.NextWorking(h, now).Equal(now):
			not[OffWork] = append(not[OffWork], u)
		case last != "" && workdays.DayAt(h, now) <= last:
			not[RemindedToday] = append(not[RemindedToday], u)
		default:
			who = append(who, u)
		}
	}
	return who, not
}

// RemindNow reminds those who owe an answer and may be reminded: it is their one
// reminder of the day.
type RemindNow struct {
	ByLead
	Stage state.Stage
	Round int
}

func (i RemindNow) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if i.Stage != k.Stage || i.Round != k.Window.Round {
		return nil, refuse("“%s” has closed meanwhile, so nobody was reminded.", TitleOf(i.Stage))
	}
	who, _ := Remindable(k, now)
	if len(who) == 0 {
		return nil, nil
	}
	sent := map[state.UserID]state.LocalDay{}
	for _, u := range who {
		p, _ := k.Person(u)
		sent[u] = workdays.DayAt(k.HoursOf(p), now)
	}
	return []event.Event{event.RemindersSent{Days: sent}}, nil
}
