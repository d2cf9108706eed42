package main

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"time"

	"soundings/engine"
)

// windowFlags are the flags of window, as they were typed.
type windowFlags struct {
	json  bool
	from  string
	hours float64
	zones []string
	lead  string
	day   string
}

// A windowAsked is what they mean.
type windowAsked struct {
	from   time.Time
	need   time.Duration
	people []engine.Hours
	lead   engine.Hours
}

// read finds out what the flags mean, or what is wrong with one of them.
func (f windowFlags) read() (w windowAsked, err error) {
	if w.from, err = time.Parse(time.RFC3339, f.from); err != nil {
		return w, fmt.Errorf("--from takes a date and time with its offset, such as 2027-03-26T09:00:00Z; it is %q", f.from)
	}
	if w.need, err = workingHours(f.hours); err != nil {
		return w, err
	}
	day, err := workingDay(f.day)
	if err != nil {
		return w, err
	}
	for _, zone := range f.zones {
		h, err := day.in("zone", zone)
		if err != nil {
			return w, err
		}
		w.people = append(w.people, h)
	}
	w.lead = w.people[0]
	if f.lead != "" {
		w.lead, err = day.in("lead", f.lead)
	}
	return w, err
}

// workingHours makes a duration of hours, in whole seconds: 7.1 hours are
// 25,560 seconds, and a hair more would move the close by a minute.
func workingHours(hours float64) (time.Duration, error) {
	const most = 10_000
	if !(hours > 0 && hours <= most) {
		return 0, fmt.Errorf("--hours must be above 0 and at most %d, such as 8 or 7.5; it is %g", most, hours)
	}
	return time.Duration(max(1, math.Round(hours*3600))) * time.Second, nil
}

// A dayHours is when a working day begins and ends, in minutes from midnight.
type dayHours struct{ from, to int }

var dayPattern = regexp.MustCompile(`^(\d{1,2})(?::([0-5]\d))?-(\d{1,2})(?::([0-5]\d))?$`)

// workingDay reads the hours of a day: 9-17, 9:30-17:15, 0-24.
func workingDay(text string) (dayHours, error) {
	parts := dayPattern.FindStringSubmatch(text)
	if parts == nil {
		return dayHours{}, fmt.Errorf("--day takes the hours of a working day, such as 9-17 or 9:30-17:15; it is %q", text)
	}
	d := dayHours{
		from: 60*digits(parts[1]) + digits(parts[2]),
		to:   60*digits(parts[3]) + digits(parts[4]),
	}
	if d.from >= d.to || d.to > 24*60 {
		return dayHours{}, fmt.Errorf("--day must begin before it ends, within 0:00 and 24:00, such as 9-17; it is %q", text)
	}
	return d, nil
}

// digits reads what dayPattern found: one or two digits, or none for 0.
func digits(text string) int {
	n, _ := strconv.Atoi(text) // no digits are 0
	return n
}

// in gives the day in a zone, from Monday to Friday. The names "" and Local
// are refused, since they mean another zone on each machine.
func (d dayHours) in(flag, name string) (engine.Hours, error) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return engine.Hours{}, fmt.Errorf("--%s takes a time zone of the IANA list, such as Europe/Lisbon; it is %q", flag, name)
	}
	h := engine.WorkingHours(zone)
	h.From, h.To = d.from, d.to
	return h, nil
}
