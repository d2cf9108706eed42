package engine

import (
	"errors"
	"fmt"
	"time"
)

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
