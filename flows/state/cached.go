package state

import "time"

// cached is what a state has worked out once it was kept, so that an answer
// does not have to look at everybody. It rests on maps and lists that no state
// changes in place, so it holds for every later state that still has them.
type cached struct {
	people identity       // of People
	places map[UserID]int // where somebody stands among People

	reminders identityOfReminders
	at        map[UserID]time.Time // when each is due a reminder, whether they owe anything or not

	owing identityOfOwing
	next  time.Time // when the first of those owing is due a reminder
}

// An identity tells a map or a list from others; two of the same identity are
// the same, not merely alike.
type identity struct {
	place any
	n     int
}

func mapIdentity[K comparable, V any](m map[K]V) identity { return identity{placeOf(m), len(m)} }
func listIdentity[T any](list []T) identity               { return identity{placeOf(list), len(list)} }

// identityOfReminders is all that moments of reminders rest on.
type identityOfReminders struct {
	people, reminded, leads identity // the lead's hours are those of who is not known yet
	opened, end             time.Time
}

func remindersOf(k *Kickoff, opened, end time.Time) identityOfReminders {
	return identityOfReminders{listIdentity(k.People), mapIdentity(k.Reminded), listIdentity(k.Leads), opened, end}
}

// identityOfOwing is what the first reminder rests on besides: who owes.
type identityOfOwing struct {
	reminders                                   identityOfReminders
	stage                                       Stage
	phase                                       Phase
	asked, done, self, settled, checkins, votes identity
}

func owingOf(k *Kickoff, opened, end time.Time) identityOfOwing {
	return identityOfOwing{remindersOf(k, opened, end), k.Stage, k.Window.Phase, listIdentity(k.Window.Asked), mapIdentity(k.Window.Done),
		mapIdentity(k.Roles.Self), mapIdentity(k.Roles.Settled), listIdentity(k.Underway.Checkins), mapIdentity(k.Underway.Decision.Votes)}
}

// ReminderOf is when somebody is due a reminder of what lasts from opened to
// end, if that is worked out already; zero when never.
func ReminderOf(k *Kickoff, u UserID, opened, end time.Time) (at time.Time, known bool) {
	at, known = k.cached.at[u]
	return at, known && k.cached.reminders == remindersOf(k, opened, end)
}

// FirstReminder is when the first of those owing is due a reminder, if that is
// worked out already; zero when never.
func FirstReminder(k *Kickoff, opened, end time.Time) (at time.Time, known bool) {
	return k.cached.next, k.cached.owing == owingOf(k, opened, end)
}

// CacheReminders works out when people are due reminders of what lasts from
// opened to end, where that has changed: each by one function, the first of
// those owing by the other.
func CacheReminders(k *Kickoff, opened, end time.Time, each func(Person) time.Time, first func() time.Time) {
	if of := remindersOf(k, opened, end); k.cached.reminders != of {
		k.cached.reminders, k.cached.at = of, make(map[UserID]time.Time, len(k.People))
		for _, p := range k.People {
			if !p.Gone {
				k.cached.at[p.ID] = each(p)
			}
		}
	}
	if of := owingOf(k, opened, end); k.cached.owing != of {
		k.cached.owing, k.cached.next = of, first()
	}
}

// cachePlaces works out where people stand in the list, where it has changed.
func cachePlaces(k *Kickoff) {
	if people := listIdentity(k.People); k.cached.people != people {
		k.cached.people, k.cached.places = people, make(map[UserID]int, len(k.People))
		for i, p := range k.People {
			k.cached.places[p.ID] = i
		}
	}
}
