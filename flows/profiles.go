package flows

import (
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// This file holds what a kickoff does about people whose names and time zones
// are not known when it begins. Asking the chat platform for hundreds of them
// takes minutes, and nobody should wait for that: they take part at once, in
// the lead's working hours, and who they are follows.

// MaxPeople bounds who takes part from the start. Beyond it, a kickoff is for
// those who decide or do the work, and not for everybody in a channel.
const MaxPeople = 500

// Sought lists those who take part and are still to be looked up.
func Sought(k *state.Kickoff) []state.UserID {
	var out []state.UserID
	for _, p := range k.People {
		if p.Sought && !p.Gone {
			out = append(out, p.ID)
		}
	}
	return out
}

// Introduce reports who people are. Absent are those among them who would
// never answer: apps and closed accounts.
type Introduce struct {
	FromShell
	People []state.Person
	Absent []state.UserID
}

func (i Introduce) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if k.Stage == state.StageEnded {
		return nil, nil
	}
	sought := map[state.UserID]bool{}
	for _, u := range Sought(k) {
		sought[u] = true
	}
	var events []event.Event
	take := func(more ...event.Event) {
		for _, e := range more {
			e.Apply(k, now, "")
		}
		events = append(events, more...)
	}
	guessed := fairEnd(k)
	known := event.PeopleKnown{People: slices.DeleteFunc(eachOnce(i.People), func(p state.Person) bool { return !sought[p.ID] })}
	if len(known.People) > 0 {
		take(known)
	}
	for _, u := range i.Absent {
		if sought[u] {
			take(letGo(k, u)...)
		}
	}
	if len(events) > 0 {
		take(fairAgain(k, guessed)...)
	}
	return events, nil
}

// fairEnd is when the open window would close had nobody moved it; zero where
// none is open.
func fairEnd(k *state.Kickoff) time.Time {
	if k.Window.Phase != state.PhaseOpen {
		return time.Time{}
	}
	return fairClose(k, k.Window.Opened, paceOf(k), k.Window.Asked)
}

// fairAgain moves the close of the open window to where it is fair by the time
// zones that are known now. guessed is where it was fair by those before. One
// that somebody has moved is only ever made later, so that a lead's word stands.
func fairAgain(k *state.Kickoff, guessed time.Time) []event.Event {
	closes, fair := k.Window.Closes, fairEnd(k)
	moved := !closes.Equal(guessed)
	if fair.IsZero() || fair.Equal(closes) || moved && fair.Before(closes) {
		return nil
	}
	return []event.Event{event.WindowMoved{Stage: k.Stage, Closes: fair}}
}

// afterProfiles says what should follow from people becoming known.
func afterProfiles(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.PeopleKnown:
		b.contents(state.StageBrief)
	}
}
