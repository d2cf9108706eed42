package flows

import (
	"cmp"
	"slices"
	"time"
)

// This file holds who takes part: people are invited or ask to join, and they
// leave.

// Invite lets people take part, from now on.
type Invite struct {
	ByLead
	People []Person
}

func (i Invite) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	joining := slices.DeleteFunc(eachOnce(i.People), func(p Person) bool { return k.Takes(p.ID) })
	return provided(refuseIf(len(joining) == 0, "people", "Everyone you named takes part already."), PeopleJoined{People: joining})
}

// eachOnce lists people as they come in: each of them once, and present.
func eachOnce(people []Person) []Person {
	var out []Person
	for _, p := range people {
		known := slices.ContainsFunc(out, func(q Person) bool { return q.ID == p.ID })
		if p.ID != "" && !known {
			p.Gone = false
			out = append(out, p)
		}
	}
	return out
}

// PeopleJoined adds people; in the open window they are asked as well.
type PeopleJoined struct{ People []Person }

func (e PeopleJoined) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Deserted = time.Time{}
	for _, p := range e.People {
		remove(k, &k.People, func(old Person) bool { return old.ID == p.ID })
		add(k, &k.People, p)
		remove(k, &k.Asking, func(j JoinRequest) bool { return j.Person.ID == p.ID })
		if k.Window.Phase == PhaseOpen && stageOf(k.Stage).asks == everybody && !slices.Contains(k.Window.Asked, p.ID) {
			add(k, &k.Window.Asked, p.ID)
		}
	}
}

func (e PeopleJoined) react(b *reaction) {
	b.add(Effect{Do: ListKickoff})
	b.progress()
	for _, p := range e.People {
		b.update(ScreenJoin, string(p.ID))
	}
}

// AskToJoin is what somebody outside may do: ask the lead.
type AskToJoin struct {
	FromOutside
	Person Person
}

func (i AskToJoin) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	asked := slices.ContainsFunc(k.Asking, func(j JoinRequest) bool { return j.Person.ID == i.Who })
	if err := cmp.Or(
		refuseIf(k.Started.IsZero() || k.Stage == StageEnded, "", "There is no open kickoff here to join."),
		refuseIf(k.Takes(i.Who), "", "You take part already."),
		refuseIf(asked, "", "%s has been asked already. You will hear from them.", leadName(k)),
	); err != nil {
		return nil, err
	}
	asking := i.Person
	asking.ID, asking.Gone = i.Who, false     // nobody asks in another's name
	if _, deserted := deserted(k); deserted { // there is nobody to ask
		return []Event{PeopleJoined{People: []Person{asking}}, LeadsChanged{Leads: []UserID{i.Who}}}, nil
	}
	return []Event{JoinAsked{Person: asking}}, nil
}

// JoinAsked notes that somebody outside asked to take part.
type JoinAsked struct{ Person Person }

func (e JoinAsked) apply(k *Kickoff, _ time.Time, _ UserID) {
	add(k, &k.Asking, JoinRequest(e))
}
func (e JoinAsked) react(b *reaction) { b.tellLeads(ScreenJoin, string(e.Person.ID)) }

// LetGo ends somebody's part: they left, were deactivated, or the lead says
// so. What they gave stays.
type LetGo struct {
	ByLead
	Person UserID
}

func (i LetGo) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return provided(refuseIf(len(leadsWithout(k, i.Person)) == 0, "", "A kickoff needs a lead. Hand it over first."),
		letGo(k, i.Person)...)
}

// Left reports that somebody left the workplace or the channel. When the last
// lead did, nobody can hand the kickoff over any more; it falls to the first
// of the core team, or else to the first who takes part.
type Left struct {
	FromShell
	Person UserID
}

func (i Left) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if k.Stage == StageEnded {
		return nil, nil
	}
	return letGo(k, i.Person), nil
}

func letGo(k *Kickoff, u UserID) []Event {
	if !k.Takes(u) {
		return nil
	}
	events := []Event{PersonLeft{Person: u}}
	if !k.IsLead(u) {
		return events
	}
	leads := leadsWithout(k, u)
	if len(leads) == 0 {
		leads = successorOf(k, u)
	}
	if len(leads) == 0 {
		return events // nobody is left who could lead
	}
	return append(events, LeadsChanged{Leads: leads})
}

// leadsWithout lists the leads who take part, but for u.
func leadsWithout(k *Kickoff, u UserID) []UserID {
	return slices.DeleteFunc(leading(k), func(l UserID) bool { return l == u })
}

// successorOf is who leads when u, the last lead, has gone; empty when nobody
// else takes part.
func successorOf(k *Kickoff, u UserID) []UserID {
	for _, candidates := range [][]UserID{k.InRing(Core), k.Participants()} {
		for _, next := range candidates {
			if next != u && k.Takes(next) {
				return []UserID{next}
			}
		}
	}
	return nil
}

// PersonLeft ends somebody's part; nothing is asked of them any more.
type PersonLeft struct{ Person UserID }

func (e PersonLeft) apply(k *Kickoff, at time.Time, _ UserID) {
	changePerson(k, e.Person, func(p *Person) { p.Gone = true })
	remove(k, &k.Window.Asked, func(u UserID) bool { return u == e.Person })
	if len(k.Participants()) == 0 {
		k.Deserted = at
	}
}
func (PersonLeft) react(b *reaction) {
	b.add(Effect{Do: ListKickoff})
	b.progress()
}
