package engine

import (
	"errors"
	"fmt"
	"iter"
	"math"
	"time"
)

// Hours is when somebody works: the same hours on each of their working days,
// by the clock on their wall.
type Hours struct {
	Zone *time.Location
	Days [7]bool // indexed by time.Weekday
	From int     // minutes from midnight, 0 to 1439
	To   int     // minutes from midnight, above From, at most 1440
}

// WorkingHours are the hours of those who did not name any: Monday to Friday,
// 9 to 17, in their own zone.
func WorkingHours(zone *time.Location) Hours {
	return Hours{
		Zone: zone,
		Days: [7]bool{time.Monday: true, time.Tuesday: true, time.Wednesday: true, time.Thursday: true, time.Friday: true},
		From: 9 * 60, To: 17 * 60,
	}
}

// Validate refuses hours in which no work is ever done, in one plain sentence.
func (h Hours) Validate() error {
	switch {
	case h.Zone == nil:
		return errors.New("working hours need a time zone")
	case h.Days == [7]bool{}:
		return errors.New("working hours need at least one working day")
	case h.From < 0 || h.To > minutesPerDay:
		return fmt.Errorf("a working day must lie within 0:00 and 24:00; it is %s", h.day())
	case h.From >= h.To:
		return fmt.Errorf("a working day must end after it begins; it is %s", h.day())
	}
	return nil
}

// day writes the working day as people do: 9:00 to 17:00.
func (h Hours) day() string {
	return fmt.Sprintf("%s to %s", wallClock(h.From), wallClock(h.To))
}

func wallClock(minutes int) string {
	sign := ""
	if minutes < 0 {
		sign, minutes = "-", -minutes
	}
	return fmt.Sprintf("%s%d:%02d", sign, minutes/60, minutes%60)
}

const (
	minutesPerDay = 24 * 60
	secondsPerDay = minutesPerDay * 60
)

// WorkingTime is how long somebody with these hours works from one instant to
// another; 0 when to is not after from, and for hours that [Hours.Validate]
// refuses.
//
// The clock on the wall decides and true time is counted: where clocks go
// forward over working hours that day is shorter, where they go back the
// repeated hour counts twice, and a date that a zone leaves out has no work.
func WorkingTime(h Hours, from, to time.Time) time.Duration {
	var sum time.Duration
	for start, end := range h.spans(from) {
		if !start.Before(to) {
			break
		}
		sum += max(0, earlier(end, to).Sub(later(start, from)))
	}
	return sum
}

// NextWorking is t itself when it lies inside working hours, else the next
// moment at which they begin. Both ends of the day count as inside, so that a
// window may close at the stroke of five. Hours that [Hours.Validate] refuses
// leave t as it is.
func NextWorking(h Hours, t time.Time) time.Time {
	for start := range h.spans(t) {
		return later(start, t).In(t.Location())
	}
	return t
}

// spans yields the stretches of working time that end at from or later, in
// order and for ever; none for hours that are not valid. The first may begin
// before from.
//
// It goes from one change of the zone's offset to the next. Between two
// changes local time is a plain sum, so days are found by division, and a
// stretch during which clocks change is cut in two there. Nothing depends on
// what time.Date makes of a local time that does not exist, or exists twice.
func (h Hours) spans(from time.Time) iter.Seq2[time.Time, time.Time] {
	return func(yield func(start, end time.Time) bool) {
		if h.Validate() != nil {
			return
		}
		first := from.Unix()
		if from.Nanosecond() > 0 {
			first++ // what ends within this second has ended before from
		}
		// An hour early, so that a stretch which a change ends at from is seen.
		for p := periodAt(h.Zone, first-3600); ; p = periodAt(h.Zone, p.end) {
			for day := p.dayOf(max(p.start, first)) - 1; p.at(day, h.From) < p.end; day++ {
				start, end := max(p.at(day, h.From), p.start), min(p.at(day, h.To), p.end)
				if !h.Days[weekdayOf(day)] || start >= end || end < first {
					continue
				}
				if !yield(time.Unix(start, 0), time.Unix(end, 0)) {
					return
				}
			}
		}
	}
}

// A period is a stretch of time, in Unix seconds, over which a zone keeps one
// offset. It may end before the offset changes.
type period struct{ start, end, offset int64 }

// periodAt gives the period that begins at the second at.
func periodAt(zone *time.Location, at int64) period {
	t := time.Unix(at, 0).In(zone)
	_, offset := t.Zone()
	p := period{start: at, end: math.MaxInt64, offset: int64(offset)}
	if _, end := t.ZoneBounds(); end.After(t) {
		p.end = end.Unix()
	} else if !end.IsZero() {
		// On the last day of a leap year ZoneBounds may name that day's start
		// as the end (golang/go#81583). The rule it read holds to the year's end.
		p.end = at - at%secondsPerDay + secondsPerDay
	}
	return p
}

// dayOf is the local date at the second at, in days since 1 January 1970.
func (p period) dayOf(at int64) int64 {
	local := at + p.offset
	day := local / secondsPerDay
	if local%secondsPerDay < 0 {
		day--
	}
	return day
}

// at is the second at which the clock shows the given minute of a local date.
func (p period) at(day int64, minute int) int64 {
	return day*secondsPerDay + int64(minute)*60 - p.offset
}

// weekdayOf gives the weekday of a date in days since 1 January 1970, which
// was a Thursday.
func weekdayOf(day int64) time.Weekday {
	return time.Weekday(((day+int64(time.Thursday))%7 + 7) % 7)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// longestNeed is the working time that a window may give at most; more is a
// slip, and would be searched for over centuries.
const longestNeed = 10_000 * time.Hour

// FairClose is when a window closes that opened at opened: the first instant
// at which each of people has had at least need of working time since then,
// moved on, where it lies outside, to the next moment inside the lead's
// working hours. Both ends of the lead's day count as inside; the grain is a
// minute, rounded up. The result is in the time zone of opened.
//
// Whoever works least, or furthest away, decides: nobody's evening or weekend
// is counted on. How clock changes count is told at [WorkingTime].
//
// It refuses, in one plain sentence, a need that is not above 0 or is above
// 10,000 hours, an empty list of people, and hours that [Hours.Validate]
// refuses.
func FairClose(opened time.Time, need time.Duration, people []Hours, lead Hours) (time.Time, error) {
	if err := checkWindow(need, people, lead); err != nil {
		return time.Time{}, err
	}
	closes := opened
	for _, h := range people {
		closes = later(closes, worked(h, opened, need))
	}
	return NextWorking(lead, wholeMinute(closes)).In(opened.Location()), nil
}

func checkWindow(need time.Duration, people []Hours, lead Hours) error {
	switch {
	case need <= 0:
		return errors.New("the working time that people get must be above 0")
	case need > longestNeed:
		return fmt.Errorf("the working time that people get must be at most %.0f hours", longestNeed.Hours())
	case len(people) == 0:
		return errors.New("a window needs at least one person to wait for")
	}
	for i, h := range people {
		if err := h.Validate(); err != nil {
			return fmt.Errorf("person %d: %w", i+1, err)
		}
	}
	if err := lead.Validate(); err != nil {
		return fmt.Errorf("the lead: %w", err)
	}
	return nil
}

// worked is the first instant at which somebody with hours h, which are valid,
// has had need of working time since from.
func worked(h Hours, from time.Time, need time.Duration) time.Time {
	for start, end := range h.spans(from) {
		start = later(start, from)
		if had := end.Sub(start); had < need {
			need -= had
			continue
		}
		return start.Add(need)
	}
	panic(fmt.Sprintf("engine: hours %v have no end of working time", h))
}

// wholeMinute rounds t up to a whole minute.
func wholeMinute(t time.Time) time.Time {
	whole := t.Truncate(time.Minute)
	if whole.Before(t) {
		return whole.Add(time.Minute)
	}
	return whole
}
