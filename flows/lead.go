package flows

import (
	"slices"
	"time"
)

// This file holds what only leads can do, in whichever stage: close, extend,
// reopen, skip, and change who takes part.

// CloseNow closes the open stage. Below quorum every lead has to wish it;
// CloseAsIs says that the lead knows how few have answered.
type CloseNow struct{ ByLead }

func (i CloseNow) decide(k *Kickoff, now time.Time) ([]Event, error) {
	if k.Window.Phase != PhaseOpen {
		return nil, refuse("This stage has closed already and waits for you to settle it.")
	}
	wish := []Event{CloseWished{}}
	if k.quorate() || k.allLeadsWish(i.Who) {
		return append(wish, k.closeWindow(ClosedByLead, now)...), nil
	}
	return wish, nil
}

func (k *Kickoff) allLeadsWish(now UserID) bool {
	for _, u := range k.Leads {
		if u != now && !k.Window.Wishes[u] && k.Takes(u) {
			return false
		}
	}
	return true
}

// CloseWished notes that a lead wishes to close below quorum.
type CloseWished struct{}

func (CloseWished) kind() string { return "close-wished" }
func (CloseWished) apply(k *Kickoff, _ time.Time, by UserID) {
	put(&k.Window.Wishes, by, true)
}

// Extend gives the open stage more working days.
type Extend struct {
	ByLead
	Days int // 1 to 10
}

func (i Extend) decide(k *Kickoff, now time.Time) ([]Event, error) {
	if i.Days < 1 || i.Days > 10 {
		return nil, refuse("A stage can be extended by 1 to 10 working days at a time.")
	}
	if k.Window.Phase != PhaseOpen {
		return nil, refuse("This stage has closed already. Reopen it to take more answers.")
	}
	from := k.Window.Closes
	if now.After(from) {
		from = now
	}
	closes := k.fairClose(from, time.Duration(i.Days)*workday, k.Window.Asked)
	return []Event{WindowMoved{Stage: k.Stage, Closes: closes}}, nil
}

// WindowMoved changes when the open window closes.
type WindowMoved struct {
	Stage  Stage
	Closes time.Time
}

func (WindowMoved) kind() string                              { return "window-moved" }
func (e WindowMoved) apply(k *Kickoff, _ time.Time, _ UserID) { k.Window.Closes = e.Closes }

// Reopen takes the kickoff back to the last stage that closed. What people
// gave since then is kept and counts again when its stage comes round.
type Reopen struct{ ByLead }

func (i Reopen) decide(k *Kickoff, now time.Time) ([]Event, error) {
	if k.Stage == StageUnderway {
		return nil, refuse("The discovery is underway and its summary is out. Vote for another time box instead of going back.")
	}
	w := k.Window
	if w.Phase == PhaseOpen {
		if len(k.Past) == 0 {
			return nil, refuse("This is the first stage, so there is none to go back to.")
		}
		w = k.Past[len(k.Past)-1]
	}
	return []Event{StageReopened{Stage: w.Stage, Round: w.Round, Closes: k.fairClose(now, k.pace(), k.askedIn(w.Stage))}}, nil
}

// StageReopened opens a closed stage again, with its answers as they were.
type StageReopened struct {
	Stage  Stage
	Round  int `json:",omitempty"`
	Closes time.Time
}

func (StageReopened) kind() string { return "stage-reopened" }
func (e StageReopened) apply(k *Kickoff, at time.Time, _ UserID) {
	if k.Window.Stage != e.Stage || k.Window.Round != e.Round {
		k.Window = k.Past[len(k.Past)-1]
		k.Past = k.Past[:len(k.Past)-1]
	}
	k.Stage = e.Stage
	k.Rounds = k.Rounds[:min(len(k.Rounds), roundsAfterReopening(k.Rounds, e))]
	if e.Stage == StageRating {
		r := &k.Rounds[e.Round-1]
		r.Result, r.Splits = nil, nil
	}
	k.Framing.Settled = k.Framing.Settled && e.Stage != StageFraming
	k.Roles.Done = k.Roles.Done && e.Stage != StageRoles
	w := &k.Window
	w.Phase, w.Closes, w.Closed, w.Until = PhaseOpen, e.Closes, time.Time{}, time.Time{}
	w.Extended, w.Thin, w.Wishes, w.Done = false, false, nil, nil
	w.Opened = at
}

// roundsAfterReopening keeps the rounds up to the one that opens again. A
// stage before rating drops them all: what was rated may have changed.
func roundsAfterReopening(rounds []Round, e StageReopened) int {
	if e.Stage == StageRating {
		return e.Round
	}
	if slices.Index(Stages(), e.Stage) < slices.Index(Stages(), StageRating) {
		return 0
	}
	return len(rounds)
}

// SkipRoles leaves the stage roles out.
type SkipRoles struct{ ByLead }

func (i SkipRoles) decide(k *Kickoff, now time.Time) ([]Event, error) {
	if slices.Index(Stages(), k.Stage) > slices.Index(Stages(), StageRoles) {
		return nil, refuse("The stage “roles” is over already.")
	}
	skipped := []Event{RolesSettled{Skipped: true}}
	if k.Stage != StageRoles {
		return skipped, nil
	}
	closed := WindowClosed{Stage: StageRoles, Why: ClosedSkipped}
	return append(skipped, closed, k.open(StageAssumptions, 0, now)), nil
}

// HandOver makes another participant the lead in the actor's place; AddLead
// makes them a further one.
type HandOver struct {
	ByLead
	To UserID
}

func (i HandOver) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if !k.Takes(i.To) {
		return nil, refuseField("to", "The new lead must take part in this kickoff. Invite them first.")
	}
	leads := slices.DeleteFunc(slices.Clone(k.Leads), func(u UserID) bool { return u == i.Who || u == i.To })
	return []Event{LeadsChanged{Leads: append([]UserID{i.To}, leads...)}}, nil
}

// AddLead makes a participant a further lead.
type AddLead struct {
	ByLead
	Person UserID
}

func (i AddLead) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if !k.Takes(i.Person) {
		return nil, refuseField("to", "The new lead must take part in this kickoff. Invite them first.")
	}
	if k.IsLead(i.Person) {
		return nil, nil
	}
	return []Event{LeadsChanged{Leads: append(slices.Clone(k.Leads), i.Person)}}, nil
}

// LeadsChanged says who leads from now on, the first one first.
type LeadsChanged struct{ Leads []UserID }

func (LeadsChanged) kind() string                              { return "leads-changed" }
func (e LeadsChanged) apply(k *Kickoff, _ time.Time, _ UserID) { k.Leads = e.Leads }

// Invite lets people take part, from now on.
type Invite struct {
	ByLead
	People []Person
}

func (i Invite) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	var joining []Person
	for _, p := range i.People {
		if !k.Takes(p.ID) {
			joining = append(joining, p)
		}
	}
	if len(joining) == 0 {
		return nil, refuseField("people", "Everyone you named takes part already.")
	}
	return []Event{PeopleJoined{People: joining}}, nil
}

// PeopleJoined adds people; in the open window they are asked as well.
type PeopleJoined struct{ People []Person }

func (PeopleJoined) kind() string { return "people-joined" }
func (e PeopleJoined) apply(k *Kickoff, _ time.Time, _ UserID) {
	for _, p := range e.People {
		k.People = slices.DeleteFunc(k.People, func(old Person) bool { return old.ID == p.ID })
		k.People = append(k.People, p)
		k.Asking = slices.DeleteFunc(k.Asking, func(j JoinRequest) bool { return j.Person.ID == p.ID })
		if k.Window.Phase == PhaseOpen && k.Stage != StageClose && !slices.Contains(k.Window.Asked, p.ID) {
			k.Window.Asked = append(k.Window.Asked, p.ID)
		}
	}
}

// AskToJoin is what somebody outside may do: ask the lead.
type AskToJoin struct {
	FromOutside
	Person Person
}

func (i AskToJoin) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if k.Started.IsZero() || k.Stage == StageEnded {
		return nil, refuse("There is no open kickoff here to join.")
	}
	if k.Takes(i.Who) {
		return nil, refuse("You take part already.")
	}
	if slices.ContainsFunc(k.Asking, func(j JoinRequest) bool { return j.Person.ID == i.Who }) {
		return nil, refuse("%s has been asked already. You will hear from them.", k.Lead().Name)
	}
	return []Event{JoinAsked{Person: i.Person}}, nil
}

// JoinAsked notes that somebody outside asked to take part.
type JoinAsked struct{ Person Person }

func (JoinAsked) kind() string { return "join-asked" }
func (e JoinAsked) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Asking = append(k.Asking, JoinRequest(e))
}

// LetGo ends somebody's part: they left, were deactivated, or the lead says
// so. What they gave stays.
type LetGo struct {
	ByLead
	Person UserID
}

func (i LetGo) decide(k *Kickoff, _ time.Time) ([]Event, error) { return k.letGo(i.Person) }

// Left reports that somebody left the workplace or the channel.
type Left struct {
	FromShell
	Person UserID
}

func (i Left) decide(k *Kickoff, _ time.Time) ([]Event, error) { return k.letGo(i.Person) }

func (k *Kickoff) letGo(u UserID) ([]Event, error) {
	if !k.Takes(u) {
		return nil, nil
	}
	leads := slices.DeleteFunc(slices.Clone(k.Leads), func(l UserID) bool { return l == u })
	if len(leads) == 0 {
		return nil, refuse("A kickoff needs a lead. Hand it over first.")
	}
	events := []Event{PersonLeft{Person: u}}
	if len(leads) < len(k.Leads) {
		events = append(events, LeadsChanged{Leads: leads})
	}
	return events, nil
}

// PersonLeft ends somebody's part; nothing is asked of them any more.
type PersonLeft struct{ Person UserID }

func (PersonLeft) kind() string { return "person-left" }
func (e PersonLeft) apply(k *Kickoff, _ time.Time, _ UserID) {
	for i := range k.People {
		if k.People[i].ID == e.Person {
			k.People[i].Gone = true
		}
	}
	k.Window.Asked = slices.DeleteFunc(k.Window.Asked, func(u UserID) bool { return u == e.Person })
}
