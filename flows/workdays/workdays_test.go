package workdays

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/zones"
	"soundings/engine"
)

// profile is what somebody's profile says of their hours.
type profile struct {
	Zone     string
	Days     []int
	From, To int
}

func (p profile) hours() engine.Hours { return Hours(new(zones.Cache), p.Zone, p.Days, p.From, p.To) }

// What makes no sense in a profile counts as not given: hours have to be
// valid whatever a journal holds, or nothing after it could be folded.
func TestHoursAreAlwaysValid(t *testing.T) {
	usual := engine.WorkingHours(time.UTC)
	with := func(change func(*engine.Hours)) engine.Hours {
		h := usual
		change(&h)
		return h
	}
	for name, row := range map[string]struct {
		p    profile
		want engine.Hours
	}{
		"nothing given":                    {profile{}, usual},
		"a zone that does not exist":       {profile{Zone: "Atlantis/Centre"}, usual},
		"the machine's own zone":           {profile{Zone: "Local"}, usual},
		"hours of one's own":               {profile{From: 600, To: 960}, with(func(h *engine.Hours) { h.From, h.To = 600, 960 })},
		"to midnight":                      {profile{From: 600, To: 1440}, with(func(h *engine.Hours) { h.From, h.To = 600, 1440 })},
		"past midnight":                    {profile{From: 600, To: 1500}, usual},
		"before midnight":                  {profile{From: -60, To: 600}, usual},
		"an end before the beginning":      {profile{From: 960, To: 600}, usual},
		"less than an hour":                {profile{From: 600, To: 659}, usual},
		"an hour":                          {profile{From: 600, To: 660}, with(func(h *engine.Hours) { h.From, h.To = 600, 660 })},
		"days of one's own":                {profile{Days: []int{0, 6}}, with(func(h *engine.Hours) { h.Days = [7]bool{0: true, 6: true} })},
		"days that do not exist":           {profile{Days: []int{-1, 7, 90}}, usual},
		"one day that exists, one that is": {profile{Days: []int{7, 3}}, with(func(h *engine.Hours) { h.Days = [7]bool{3: true} })},
	} {
		got := row.p.hours()
		assert.True(t, got == row.want, name)
		assert.NoError(t, got.Validate(), name)
	}
}

func TestDayBefore(t *testing.T) {
	for day, want := range map[Day]Day{"2027-03-01": "2027-02-28", "2028-03-01": "2028-02-29", "2027-01-01": "2026-12-31"} {
		assert.Equal(t, want, day.before(), "the day before %s", day)
	}
}

// The first working moment after a day is looked for from midnight, which some
// zones leave out on the day on which their clocks change. Cairo's went from
// 0:00 to 1:00 on Friday 30 April 2027 by the IANA rules of 2023.
func TestNextDayWhereMidnightIsLeftOut(t *testing.T) {
	for name, p := range map[string]profile{
		"round the clock":    {Zone: "Africa/Cairo", Days: []int{0, 1, 2, 3, 4, 5, 6}, From: 0, To: 1440},
		"into the night":     {Zone: "Africa/Cairo", Days: []int{0, 1, 2, 3, 4, 5, 6}, From: 1200, To: 1440},
		"from midnight on":   {Zone: "Africa/Cairo", Days: []int{0, 1, 2, 3, 4, 5, 6}, From: 0, To: 120},
		"clocks at midnight": {Zone: "America/Santiago", Days: []int{0, 1, 2, 3, 4, 5, 6}, From: 0, To: 1440},
	} {
		h := p.hours()
		for day := Day("2027-01-01"); day < "2028-01-01"; day = Day(day.date().AddDate(0, 0, 1).Format(time.DateOnly)) {
			at := StartAfter(h, day)
			assert.Greater(t, DayAt(h, at), day, "%s: after %s comes %v, which is no later day", name, day, at.In(h.Zone))
		}
	}
}
