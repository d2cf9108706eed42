package report

import (
	"fmt"
	"net/url"
	"time"

	ics "github.com/arran4/golang-ical"

	"soundings/flows"
	"soundings/flows/state"
)

// A calendar puts a kickoff into anybody's calendar. Whoever takes a later file
// of the same kickoff has the newer dates in the place of the older ones: an
// entry keeps its UID, its SEQUENCE and DTSTAMP rise as the kickoff goes on, and what
// does not take place any more is cancelled (RFC 5545, 3.8.7.4, and RFC 5546, 2.1.5).
type calendar struct {
	*ics.Calendar
	k        state.Kickoff
	sequence int
	stamp    time.Time
}

// length is how long an entry lasts in the calendar. What it stands for is open
// for days.
const length = 30 * time.Minute

// calendarFile holds the check-ins and the end of the time box. Before there is
// one it holds the day on which the kickoff began, since a calendar without any
// entry is none (RFC 5545, 3.6).
func calendarFile(k state.Kickoff) File {
	sequence, stamp := passed(k)
	c := calendar{ics.NewCalendar(), k, sequence, stamp}
	c.SetProductId("-//Soundings//Soundings//EN")
	c.SetMethod(ics.MethodPublish)
	for i, at := range flows.CheckinTimes(&k) {
		c.entry(fmt.Sprintf("checkin-%d", i+1), at, "Check-in: "+k.Brief.Title,
			"Owners report how their tests went; the core team says what it now thinks. It is open for one working day, in the channel.")
	}
	if ends := k.Timebox.Ends; !ends.IsZero() {
		c.entry("end", ends.Add(-length), "The time box ends: "+k.Brief.Title, "Build, stop, or another time box: the vote opens in the channel.")
	} else {
		c.beginning()
	}
	title := "Check-ins and the end, for your calendar"
	if k.LeavesOut(state.StageTimebox) {
		title = "The kickoff, for your calendar"
	}
	return File{Name: "checkins.ics", Title: title, Data: []byte(c.Serialize(ics.WithNewLine("\r\n")))}
}

func (c calendar) entry(which string, at time.Time, title, about string) {
	e := c.add(which, title, about)
	e.SetStartAt(at.UTC())
	e.SetEndAt(at.Add(length).UTC())
	if ended := endedAt(c.k); !ended.IsZero() && at.After(ended) {
		e.SetStatus(ics.ObjectStatusCancelled)
	}
}

// beginning takes nobody's time: it lasts all day, and shows nobody as busy.
func (c calendar) beginning() {
	about := "The time box has not begun. Once it has, this file holds the check-ins and the end."
	switch {
	case c.k.LeavesOut(state.StageTimebox):
		about = "This kickoff has no time box. It ends with its summary."
	case c.k.Stage == state.StageEnded:
		about = "The kickoff ended before its time box began."
	}
	e := c.add("kickoff", "Kickoff: "+c.k.Brief.Title, about)
	e.SetAllDayStartAt(c.k.Started.In(c.k.LeadHours().Zone))
	e.SetTimeTransparency(ics.TransparencyTransparent)
}

func (c calendar) add(which, title, about string) *ics.VEvent {
	e := c.AddEvent(c.k.ID + "-" + which + "@soundings")
	e.SetDtStampTime(c.stamp)
	e.SetSequence(c.sequence)
	e.SetSummary(title)
	e.SetDescription(about)
	e.SetURL(channelAddress(c.k))
	return e
}

// channelAddress leads to the channel from anywhere, for whoever may see it.
// Source: api.slack.com/docs/deep-linking, "app_redirect".
func channelAddress(k state.Kickoff) string {
	return "https://slack.com/app_redirect?" + url.Values{"team": {k.Team}, "channel": {k.Channel}}.Encode()
}

// passed counts what has passed in a kickoff that dates could have changed with, and
// says when the last of it did. The same kickoff gives the same bytes, whatever went
// wrong on its way.
func passed(k state.Kickoff) (n int, last time.Time) {
	last = k.Started
	moments := []time.Time{k.Timebox.Starts, endedAt(k)}
	for _, w := range k.Past {
		moments = append(moments, w.Closed)
	}
	for _, c := range k.Underway.Checkins {
		moments = append(moments, c.Opened, c.Closed)
	}
	for _, d := range k.Underway.Decision.Earlier {
		moments = append(moments, d.At)
	}
	for _, at := range moments {
		if !at.IsZero() {
			n++
		}
		if at.After(last) {
			last = at
		}
	}
	return n, last
}

// endedAt is when a kickoff ended, decided or abandoned; zero while it goes on.
func endedAt(k state.Kickoff) time.Time {
	switch {
	case k.Stage != state.StageEnded:
		return time.Time{}
	case !k.Underway.Decision.At.IsZero():
		return k.Underway.Decision.At
	}
	return k.Window.Closed
}
