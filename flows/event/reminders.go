package event

import (
	"time"

	"soundings/flows/state"
)

// RemindersPutOff notes, for people who were off work when their reminder
// came, the day after which they are next reminded. Were it not noted, the
// reminder would stay due all night.
type RemindersPutOff struct {
	Days map[state.UserID]state.LocalDay
}

func (e RemindersPutOff) Apply(k *state.Kickoff, at time.Time, by state.UserID) {
	RemindersSent(e).Apply(k, at, by)
}

// RemindersSent notes who was reminded, on which day of theirs.
type RemindersSent struct {
	Days map[state.UserID]state.LocalDay
}

func (e RemindersSent) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	for u, day := range e.Days {
		state.Put(k, &k.Reminded, u, day)
	}
}

// ReminderMuted says whether somebody wants reminders.
type ReminderMuted struct{ Muted bool }

func (e ReminderMuted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	changePerson(k, by, func(p *state.Person) { p.Muted = e.Muted })
}

// HoursChanged says when somebody works.
type HoursChanged struct {
	Zone     string `json:",omitempty"`
	Days     []int
	From, To int
}

func (e HoursChanged) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	changePerson(k, by, func(p *state.Person) {
		p.Days, p.From, p.To = e.Days, e.From, e.To
		// A form shows the lead's zone where theirs is not known: to leave it there is
		// not to say that they live in it.
		if guessed := p.Sought && e.Zone == k.Lead().Zone; e.Zone != "" && !guessed {
			p.Zone = e.Zone
		}
	})
}

func changePerson(k *state.Kickoff, u state.UserID, change func(*state.Person)) {
	for i, p := range k.People {
		if p.ID == u {
			change(&state.Own(k, &k.People)[i])
		}
	}
}
