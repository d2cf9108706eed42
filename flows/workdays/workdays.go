// Package workdays is the calendar of one person at work: their hours as a
// profile gives them, their dates, and moments counted from both. How several
// people's hours meet is the engine's; who has to be waited for, and what is
// due, is for package flows. Start with Hours and Had.
package workdays

import (
	"fmt"
	"time"

	"soundings/engine"
)

// Length is the working hours of one day.
const Length = 8 * time.Hour

// Zones gives time zones by their IANA names. It is handed in, since time
// zones are files, which are not the same on every machine.
type Zones interface {
	Zone(name string) (zone *time.Location, known bool)
}

// Hours gives somebody's working hours. What makes no sense, since a profile
// may hold anything, counts as not given: a wrong hour beats a kickoff that
// stops.
func Hours(zones Zones, zone string, days []int, from, to int) engine.Hours {
	h := engine.WorkingHours(zoneOf(zones, zone))
	if FullHour(from, to) {
		h.From, h.To = from, to
	}
	var given [7]bool
	for _, d := range days {
		if 0 <= d && d < len(given) {
			given[d] = true
		}
	}
	if given != [7]bool{} {
		h.Days = given
	}
	return h
}

// zoneOf finds a time zone; one that is not known counts as UTC.
func zoneOf(zones Zones, name string) *time.Location {
	if zone, known := zones.Zone(name); known {
		return zone
	}
	return time.UTC
}

// FullHour reports whether a working day has an hour at least. With minutes a
// day, a window of a few working hours would stand open for months.
func FullHour(from, to int) bool { return 0 <= from && from+60 <= to && to <= 24*60 }

// Had is when somebody with hours h has had need of working time since from.
func Had(h engine.Hours, from time.Time, need time.Duration) time.Time {
	at, err := engine.FairClose(from, need, []engine.Hours{h}, h)
	if err != nil {
		panic(fmt.Sprintf("workdays: no working time in %v after %v: %v", h, from, err))
	}
	return at
}

// A Day is a date in somebody's own time zone, as 2006-01-02.
type Day string

// DayAt is the date at t for somebody with hours h.
func DayAt(h engine.Hours, t time.Time) Day { return Day(t.In(h.Zone).Format(time.DateOnly)) }

// DayAfter is the date of somebody's n-th working day after the day of t.
func DayAfter(h engine.Hours, t time.Time, n int) Day {
	day := t.In(h.Zone)
	for n > 0 {
		day = day.AddDate(0, 0, 1)
		if h.Days[day.Weekday()] {
			n--
		}
	}
	return Day(day.Format(time.DateOnly))
}

// date is the day at midnight UTC, to reckon with.
func (d Day) date() time.Time {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		panic("workdays: " + string(d) + " is no day")
	}
	return t
}

// before is the day before d.
func (d Day) before() Day { return Day(d.date().AddDate(0, 0, -1).Format(time.DateOnly)) }

// StartAfter is an hour into somebody's first working day after day.
func StartAfter(h engine.Hours, day Day) time.Time {
	d := day.date()
	start := engine.NextWorking(h, time.Date(d.Year(), d.Month(), d.Day()+1, 0, 0, 0, 0, h.Zone))
	for DayAt(h, start) <= day { // where clocks change at midnight, it may be the evening before
		start = engine.NextWorking(h, start.Add(time.Hour))
	}
	return Had(h, start, time.Hour)
}

// StartBy is an hour into somebody's last working day up to and with day.
func StartBy(h engine.Hours, day Day) time.Time {
	for range 7 { // of seven days at least one is a working day
		before := day.before()
		if at := StartAfter(h, before); DayAt(h, at) <= day {
			return at
		}
		day = before
	}
	return StartAfter(h, day)
}

// PutOff is the day whose StartAfter comes when somebody who is off work now
// is back at work, or at least later than now.
func PutOff(h engine.Hours, back, now time.Time) Day {
	day := DayAt(h, back)
	if before := day.before(); StartAfter(h, before).After(now) {
		return before
	}
	return day
}

// Close is the close of a working day so many weeks from now or, where that
// date is none, of the next: a date that can be said aloud.
func Close(h engine.Hours, now time.Time, weeks int) time.Time {
	day := now.In(h.Zone).AddDate(0, 0, 7*weeks)
	for !h.Days[day.Weekday()] {
		day = day.AddDate(0, 0, 1)
	}
	return atMinute(day, h.To)
}

func atMinute(day time.Time, minute int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), 0, minute, 0, 0, day.Location()).UTC()
}

// Weekly lists the moments after starts, up to ends, that lie an hour into
// the working hours on one day of each week.
func Weekly(h engine.Hours, on time.Weekday, starts, ends time.Time) []time.Time {
	day := starts.In(h.Zone)
	ahead := (int(on) - int(day.Weekday()) + 7) % 7
	var times []time.Time
	for day = day.AddDate(0, 0, ahead); ; day = day.AddDate(0, 0, 7) {
		at := atMinute(day, h.From+60)
		if at.After(ends) {
			return times
		}
		if at.After(starts) {
			times = append(times, at)
		}
	}
}

// DatesUntil counts the dates from now until ends where somebody lives,
// whatever the length of days; negative when ends has passed.
func DatesUntil(h engine.Hours, ends, now time.Time) int {
	return dateNumber(ends.In(h.Zone)) - dateNumber(now.In(h.Zone))
}

func dateNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / (24 * 60 * 60))
}
