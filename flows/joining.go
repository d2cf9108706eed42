package flows

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// This file holds who takes part: people are invited or ask to join, and they
// leave.

// Invite lets people take part, from now on.
type Invite struct {
	ByLead
	People []state.Person
}

func (i Invite) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	joining := slices.DeleteFunc(eachOnce(i.People), func(p state.Person) bool { return k.Takes(p.ID) })
	if len(joining) == 0 {
		return nil, refuseField("people", "Everyone you named takes part already.")
	}
	return afterwards(k, []event.Event{event.PeopleJoined{People: joining}}, now), nil
}

// eachOnce lists people as they come in: each of them once, and present.
func eachOnce(people []state.Person) []state.Person {
	var out []state.Person
	for _, p := range people {
		known := slices.ContainsFunc(out, func(q state.Person) bool { return q.ID == p.ID })
		if p.ID != "" && !known {
			p.Gone = false
			out = append(out, p)
		}
	}
	return out
}

// AskToJoin is what somebody outside may do: ask the lead.
type AskToJoin struct {
	FromOutside
	Person state.Person
}

func (i AskToJoin) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	asked := slices.ContainsFunc(k.Asking, func(j state.JoinRequest) bool { return j.Person.ID == i.Who })
	if err := cmp.Or(
		refuseIf(k.Started.IsZero() || k.Stage == state.StageEnded, "", "There is no open kickoff here to join."),
		refuseIf(k.Takes(i.Who), "", "You take part already."),
		refuseIf(asked, "", "%s has been asked already. You will hear from them.", leadName(k)),
	); err != nil {
		return nil, err
	}
	asking := i.Person
	asking.ID, asking.Gone = i.Who, false     // nobody asks in another's name
	if _, deserted := deserted(k); deserted { // there is nobody to ask
		return afterwards(k, []event.Event{event.PeopleJoined{People: []state.Person{asking}}, event.LeadsChanged{Leads: []state.UserID{i.Who}}}, now), nil
	}
	return []event.Event{event.JoinAsked{Person: asking}}, nil
}

// LetGo ends somebody's part: they left, were deactivated, or the lead says
// so. What they gave stays.
type LetGo struct {
	ByLead
	Person state.UserID
}

func (i LetGo) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if len(leadsWithout(k, i.Person)) == 0 {
		return nil, refuse("A kickoff needs a lead. Hand it over first.")
	}
	return afterwards(k, letGo(k, i.Person), now), nil
}

// Left reports that somebody left the workplace or the channel. When the last
// lead did, nobody can hand the kickoff over any more; it falls to the first
// of the core team, or else to the first who takes part.
type Left struct {
	FromShell
	Person state.UserID
}

func (i Left) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if k.Stage == state.StageEnded {
		return nil, nil
	}
	return afterwards(k, letGo(k, i.Person), now), nil
}

func letGo(k *state.Kickoff, u state.UserID) []event.Event {
	if !k.Takes(u) {
		return nil
	}
	events := []event.Event{event.PersonLeft{Person: u}}
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
	return append(events, event.LeadsChanged{Leads: leads})
}

// leadsWithout lists the leads who take part, but for u.
func leadsWithout(k *state.Kickoff, u state.UserID) []state.UserID {
	return slices.DeleteFunc(state.Leading(k), func(l state.UserID) bool { return l == u })
}

// successorOf is who leads when u, the last lead, has gone; empty when nobody
// else takes part.
func successorOf(k *state.Kickoff, u state.UserID) []state.UserID {
	for _, candidates := range [][]state.UserID{k.InRing(state.Core), k.Participants()} {
		for _, next := range candidates {
			if next != u && k.Takes(next) {
				return []state.UserID{next}
			}
		}
	}
	return nil
}

// afterJoining says what should follow from people coming and going.
func afterJoining(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.PeopleJoined:
		b.add(Effect{Do: ListKickoff})
		b.progress()
		for _, p := range e.People {
			b.update(ScreenJoin, string(p.ID))
			if b.k.Stage != state.StageBrief { // which the channel shows as it is
				b.tell(ScreenStanding, strconv.FormatInt(b.k.Version, 10), p.ID)
			}
		}
	case event.JoinAsked:
		b.tellLeads(ScreenJoin, string(e.Person.ID))
	case event.PersonLeft:
		b.add(Effect{Do: ListKickoff})
		b.progress()
	}
}
