package report

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/emersion/go-ical"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/state"
)

// calendarOf reads the calendar of a kickoff with a parser that is not the library
// that wrote it, and holds each line to RFC 5545, 3.1: it ends with CR and LF, and
// has at most 75 octets, which part no character.
func calendarOf(t *testing.T, k state.Kickoff) []ical.Event {
	t.Helper()
	file := calendarFile(k)
	require.True(t, bytes.HasSuffix(file.Data, []byte("END:VCALENDAR\r\n")))
	for line := range strings.SplitSeq(string(file.Data), "\r\n") {
		assert.NotContains(t, line, "\n")
		assert.NotContains(t, line, "\r")
		assert.LessOrEqual(t, len(line), 75, line)
		assert.True(t, utf8.ValidString(line), "%q", line)
	}
	cal, err := ical.NewDecoder(bytes.NewReader(file.Data)).Decode()
	require.NoError(t, err)
	require.NoError(t, ical.NewEncoder(new(bytes.Buffer)).Encode(cal), "it lacks what RFC 5545 requires")
	return cal.Events()
}

// What a calendar program goes by when it takes over a newer file.
type dated struct {
	sequence int
	stamp    time.Time
	start    time.Time
	status   string
}

func entriesOf(t *testing.T, k state.Kickoff) map[string]dated {
	t.Helper()
	all := map[string]dated{}
	for _, e := range calendarOf(t, k) {
		uid, err := e.Props.Text(ical.PropUID)
		require.NoError(t, err)
		require.NotContains(t, all, uid)
		sequence, err := e.Props.Get(ical.PropSequence).Int()
		require.NoError(t, err)
		stamp, err := e.Props.DateTime(ical.PropDateTimeStamp, time.UTC)
		require.NoError(t, err)
		start, err := e.DateTimeStart(time.UTC)
		require.NoError(t, err)
		status, err := e.Props.Text(ical.PropStatus)
		require.NoError(t, err)
		address, err := e.Props.URI(ical.PropURL)
		require.NoError(t, err)
		assert.Equal(t, "https://slack.com/app_redirect?channel=C1&team=T1", address.String())
		all[uid] = dated{sequence, stamp, start, status}
	}
	return all
}

const hardTitle = "Fähren, 自転車 и велосипеды; room on board, or “full”\\soon\nfor every one of the sailings that we have in the high season"

func boxed() state.Kickoff {
	starts := time.Date(2027, 4, 1, 15, 0, 0, 0, time.UTC)
	return flows.WithZones(state.Kickoff{ID: "C1-1", Team: "T1", Channel: "C1", Started: starts.AddDate(0, 0, -9), Stage: state.StageUnderway,
		Brief: state.Brief{Title: hardTitle}, Leads: []state.UserID{"U1"}, People: []state.Person{{ID: "U1", Zone: "Pacific/Auckland"}},
		Timebox: state.Timebox{Weeks: 2, Checkin: time.Wednesday, Starts: starts, Ends: starts.AddDate(0, 0, 14)}}, new(zones.Cache))
}

func TestCalendarBeforeTheTimeBox(t *testing.T) {
	k := boxed()
	k.Timebox = state.Timebox{}
	events := calendarOf(t, k)
	require.Len(t, events, 1, "a calendar without an entry is none")
	start := events[0].Props.Get(ical.PropDateTimeStart)
	assert.Equal(t, ical.ValueDate, start.ValueType())
	assert.Equal(t, "20270324", start.Value, "the day on which it began, where the lead is")

	says := func(k state.Kickoff) string {
		about, err := calendarOf(t, k)[0].Props.Text(ical.PropDescription)
		require.NoError(t, err)
		return about
	}
	assert.Contains(t, says(k), "has not begun")
	k.Stage = state.StageEnded
	assert.NotContains(t, says(k), "has not begun", "it never will")
	k.LeftOut = []state.Stage{state.StageTimebox}
	assert.Equal(t, "This kickoff has no time box. It ends with its summary.", says(k))
}

func TestCalendarKeepsWhatPeopleTyped(t *testing.T) {
	for _, e := range calendarOf(t, boxed()) {
		title, err := e.Props.Text(ical.PropSummary)
		require.NoError(t, err)
		assert.True(t, strings.HasSuffix(title, ": "+hardTitle), "%q", title)
	}
}

// A further box, and an end before the time: whoever takes the newer file has what
// is true by then. RFC 5546, 2.1.5: of two entries with one UID the higher SEQUENCE
// counts, and with one SEQUENCE the later DTSTAMP.
func TestCalendarIsTakenOver(t *testing.T) {
	first := boxed()
	was := entriesOf(t, first)
	require.Len(t, was, 3)

	renewed := first
	at := first.Timebox.Ends.Add(-time.Hour)
	renewed.Timebox.Renewals, renewed.Timebox.Ends = []int{2}, first.Timebox.Ends.AddDate(0, 0, 14)
	renewed.Underway.Decision.Earlier = []state.Decision{{Set: state.Another, Weeks: 2, At: at}}

	stopped := renewed
	stopped.Stage = state.StageEnded
	stopped.Underway.Decision.Set, stopped.Underway.Decision.At = state.Stop, at.AddDate(0, 0, 8)

	abandoned := renewed
	abandoned.Stage = state.StageEnded
	abandoned.Window.Closed = at.AddDate(0, 0, 8)

	now := entriesOf(t, renewed)
	assert.Len(t, now, 5)
	assert.Equal(t, renewed.Timebox.Ends.Add(-length), now["C1-1-end@soundings"].start, "the end moves")
	mustSucceed(t, was, now)
	for _, ended := range []state.Kickoff{stopped, abandoned} {
		last := entriesOf(t, ended)
		mustSucceed(t, now, last)
		cancelled := 0
		for uid, e := range last {
			over := e.start.After(at.AddDate(0, 0, 8))
			assert.Equal(t, over, e.status == "CANCELLED", "%s at %s: %s", uid, e.start, e.status)
			if over {
				cancelled++
			}
		}
		assert.Equal(t, 2, cancelled, "one check-in, and the end")
		assert.Len(t, last, 5)
	}
}

func mustSucceed(t *testing.T, older, newer map[string]dated) {
	t.Helper()
	for uid, was := range older {
		now, there := newer[uid]
		require.True(t, there, "%s is gone, and stays in calendars for ever", uid)
		assert.Greater(t, now.sequence, was.sequence, uid)
		assert.True(t, now.stamp.After(was.stamp), uid)
	}
}
