package report

import (
	"fmt"
	"time"

	ics "github.com/arran4/golang-ical"

	"soundings/flows"
)

// calendarFile holds the check-ins and the end of the time box, to be put
// into anybody's calendar.
func calendarFile(k flows.Kickoff) (File, error) {
	cal := ics.NewCalendarFor("soundings")
	cal.SetMethod(ics.MethodPublish)
	for i, at := range k.CheckinTimes() {
		calendarEntry(cal, k, fmt.Sprintf("checkin-%d", i+1), at, 30*time.Minute, "Check-in: "+k.Brief.Title,
			"Owners report how their tests went; the core team says what it now thinks. It is open for one working day, in the channel.")
	}
	if !k.Timebox.Ends.IsZero() {
		calendarEntry(cal, k, "end", k.Timebox.Ends.Add(-30*time.Minute), 30*time.Minute, "The time box ends: "+k.Brief.Title,
			"Build, stop, or another time box: the vote opens in the channel.")
	}
	return File{Name: "checkins.ics", Title: "Check-ins and the end, for your calendar", Data: []byte(cal.Serialize())}, nil
}

// calendarEntry stamps entries with the day on which the box began, so that
// the same kickoff gives the same bytes.
func calendarEntry(cal *ics.Calendar, k flows.Kickoff, which string, at time.Time, length time.Duration, title, about string) {
	e := cal.AddEvent(fmt.Sprintf("%s-%s@soundings", k.ID, which))
	e.SetDtStampTime(k.Timebox.Starts.UTC().Truncate(24 * time.Hour))
	e.SetStartAt(at.UTC())
	e.SetEndAt(at.Add(length).UTC())
	e.SetSummary(title)
	e.SetDescription(about)
}
