package engine

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// zoneOf loads a zone; a machine without zone data cannot run these tests.
func zoneOf(t testing.TB, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	require.NoError(t, err)
	return zone
}

func instant(t testing.TB, s string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s)
	require.NoError(t, err)
	return at
}

// worksAt is the naive reading of working hours: what does the wall clock show?
func worksAt(h Hours, t time.Time) bool {
	local := t.In(h.Zone)
	minute := local.Hour()*60 + local.Minute()
	return h.Days[local.Weekday()] && minute >= h.From && minute < h.To
}

// workingTimeByMinutes is the naive twin of WorkingTime, for whole minutes.
func workingTimeByMinutes(h Hours, from, to time.Time) time.Duration {
	var sum time.Duration
	for ; from.Before(to); from = from.Add(time.Minute) {
		if worksAt(h, from) {
			sum += time.Minute
		}
	}
	return sum
}

// nextWorkingByMinutes is the naive twin of NextWorking, for whole minutes:
// inside is where work goes on, or has just ended.
func nextWorkingByMinutes(h Hours, t time.Time) time.Time {
	for !worksAt(h, t) && !worksAt(h, t.Add(-time.Minute)) {
		t = t.Add(time.Minute)
	}
	return t
}

// turns are moments near which clocks change, or seem to, somewhere.
var turns = []struct{ zone, at string }{
	{"Europe/Paris", "2026-03-29T01:00:00Z"},
	{"Europe/Paris", "2026-10-25T01:00:00Z"},
	{"Europe/Lisbon", "2027-03-28T01:00:00Z"},
	{"Europe/Dublin", "2026-10-25T01:00:00Z"},
	{"America/New_York", "2026-03-08T07:00:00Z"},
	{"America/New_York", "2026-11-01T06:00:00Z"},
	{"America/St_Johns", "2026-03-08T05:30:00Z"},
	{"Australia/Lord_Howe", "2026-04-04T15:00:00Z"},
	{"Australia/Lord_Howe", "2026-10-03T15:30:00Z"},
	{"Pacific/Chatham", "2026-04-04T14:00:00Z"},
	{"Pacific/Chatham", "2026-09-26T14:00:00Z"},
	{"Africa/Cairo", "2026-04-23T22:00:00Z"}, // midnight is skipped
	{"Africa/Cairo", "2026-10-29T21:00:00Z"}, // the last hour comes twice
	{"America/Santiago", "2026-04-05T03:00:00Z"},
	{"America/Santiago", "2026-09-06T04:00:00Z"},
	{"Pacific/Apia", "2011-12-30T10:00:00Z"}, // a whole day is skipped
	{"Pacific/Kwajalein", "1993-08-21T12:00:00Z"},
	{"Asia/Kathmandu", "2026-07-01T00:00:00Z"},
	{"Asia/Kolkata", "2026-12-31T18:30:00Z"},
	{"Pacific/Auckland", "2026-12-31T11:00:00Z"},
	{"America/New_York", "2028-12-31T12:00:00Z"}, // ZoneBounds errs there
	{"Europe/Warsaw", "2040-12-31T12:00:00Z"},
	{"Antarctica/Troll", "2026-03-29T01:00:00Z"}, // two hours at once
	{"UTC", "2026-02-28T23:00:00Z"},
}

// drawHours draws somebody's hours in a zone, at least one working day.
func drawHours(t *rapid.T, zone *time.Location) Hours {
	h := Hours{Zone: zone, From: rapid.IntRange(0, minutesPerDay-1).Draw(t, "from")}
	h.To = rapid.IntRange(h.From+1, minutesPerDay).Draw(t, "to")
	for d := range h.Days {
		h.Days[d] = rapid.IntRange(0, 9).Draw(t, "day") < 7
	}
	h.Days[rapid.IntRange(0, 6).Draw(t, "working day")] = true
	return h
}

// drawTurn draws a zone, and a whole minute within a day and a half of a turn.
func drawTurn(t *rapid.T) (*time.Location, time.Time) {
	turn := rapid.SampledFrom(turns).Draw(t, "turn")
	zone, err := time.LoadLocation(turn.zone)
	require.NoError(t, err)
	at, err := time.Parse(time.RFC3339, turn.at)
	require.NoError(t, err)
	return zone, at.Add(time.Duration(rapid.IntRange(-36*60, 36*60).Draw(t, "minutes from the turn")) * time.Minute)
}

func TestWorkingTimeAgreesWithMinuteSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone, from := drawTurn(t)
		h := drawHours(t, zone)
		to := from.Add(time.Duration(rapid.IntRange(-60, 3*minutesPerDay).Draw(t, "minutes")) * time.Minute)
		got, want := WorkingTime(h, from, to), workingTimeByMinutes(h, from, to)
		require.Equal(t, want, got, "WorkingTime(%s %s, %s, %s) = %v, by minutes", zone, h.day(), from, to, got)
	})
}

func TestNextWorkingAgreesWithMinuteSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone, at := drawTurn(t)
		h := drawHours(t, zone)
		got, want := NextWorking(h, at), nextWorkingByMinutes(h, at)
		require.True(t, got.Equal(want), "NextWorking(%s %s, %s) = %s, by minutes %s", zone, h.day(), at, got.In(zone), want.In(zone))
	})
}

// Working time adds up: it does not matter where a stretch is cut.
func TestWorkingTimeAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone, from := drawTurn(t)
		h := drawHours(t, zone)
		second := func(label string) time.Duration {
			return time.Duration(rapid.Int64Range(0, int64(40*time.Hour)).Draw(t, label))
		}
		mid := from.Add(second("first part"))
		to := mid.Add(second("second part"))
		got, want := WorkingTime(h, from, mid)+WorkingTime(h, mid, to), WorkingTime(h, from, to)
		require.Equal(t, want, got, "parts give %v, the whole", got)
	})
}

// On the last day of a leap year ZoneBounds may name an end that has passed
// (golang/go#81583): from the year 2028 or 2040 on, by the form of the zone
// data. The offset must still change in the spring after.
func TestWorkingTimeBeyondALeapYear(t *testing.T) {
	for _, row := range []struct{ zone, from, to string }{
		{"America/New_York", "2028-12-31T12:00:00Z", "2029-04-30T12:00:00Z"},
		{"Europe/Warsaw", "2040-12-31T12:00:00Z", "2041-04-30T12:00:00Z"},
	} {
		h := WorkingHours(zoneOf(t, row.zone))
		h.From, h.To = 0, 3*60 // the change is inside
		h.Days[time.Sunday] = true
		from, to := instant(t, row.from), instant(t, row.to)
		got, want := WorkingTime(h, from, to), workingTimeByMinutes(h, from, to)
		assert.Equal(t, want, got, "%s: %v from %s to %s, by minutes", row.zone, got, row.from, row.to)
	}
}

func TestWorkingTimeByHand(t *testing.T) {
	for _, row := range []struct {
		rule, zone, from, to string
		want                 time.Duration
	}{
		{"a working day", "Europe/Lisbon", "2027-03-01T00:00:00Z", "2027-03-02T00:00:00Z", 8 * time.Hour},
		{"a weekend has none", "Europe/Lisbon", "2027-03-06T00:00:00Z", "2027-03-08T09:00:00Z", 0},
		{"seconds count", "Europe/Lisbon", "2027-03-01T08:59:30Z", "2027-03-01T09:00:15Z", 15 * time.Second},
		{"backwards has none", "Europe/Lisbon", "2027-03-02T00:00:00Z", "2027-03-01T00:00:00Z", 0},
		{"a half-hour zone", "Asia/Kolkata", "2027-03-01T03:30:00Z", "2027-03-01T04:00:00Z", 30 * time.Minute},
	} {
		h := WorkingHours(zoneOf(t, row.zone))
		assert.Equal(t, row.want, WorkingTime(h, instant(t, row.from), instant(t, row.to)), row.rule)
	}
}

func TestNextWorkingByHand(t *testing.T) {
	for _, row := range []struct{ rule, zone, at, want string }{
		{"inside stays", "Europe/Lisbon", "2027-03-01T12:34:56Z", "2027-03-01T12:34:56Z"},
		{"the first moment is inside", "Europe/Lisbon", "2027-03-01T09:00:00Z", "2027-03-01T09:00:00Z"},
		{"the last moment is inside", "Europe/Lisbon", "2027-03-01T17:00:00Z", "2027-03-01T17:00:00Z"},
		{"a moment after is not", "Europe/Lisbon", "2027-03-01T17:00:00.000000001Z", "2027-03-02T09:00:00Z"},
		{"Friday evening to Monday", "Europe/Lisbon", "2027-03-05T18:00:00Z", "2027-03-08T09:00:00Z"},
		{"Monday comes early in the east", "Pacific/Auckland", "2027-03-07T12:00:00Z", "2027-03-07T20:00:00Z"},
	} {
		got := NextWorking(WorkingHours(zoneOf(t, row.zone)), instant(t, row.at))
		want := instant(t, row.want)
		assert.True(t, got.Equal(want), "%s: %s, want %s", row.rule, got.UTC().Format(time.RFC3339Nano), row.want)
	}
}

func TestHoursThatAreRefused(t *testing.T) {
	good := WorkingHours(time.UTC)
	for _, row := range []struct {
		rule  string
		spoil func(*Hours)
		says  string
	}{
		{"no zone", func(h *Hours) { h.Zone = nil }, "time zone"},
		{"no working day", func(h *Hours) { h.Days = [7]bool{} }, "at least one working day"},
		{"17 to 9", func(h *Hours) { h.From, h.To = 17*60, 9*60 }, "end after it begins; it is 17:00 to 9:00"},
		{"9 to 9", func(h *Hours) { h.To = h.From }, "end after it begins"},
		{"before midnight", func(h *Hours) { h.From = -30 }, "within 0:00 and 24:00; it is -0:30 to 17:00"},
		{"beyond midnight", func(h *Hours) { h.To = 24*60 + 1 }, "within 0:00 and 24:00"},
	} {
		h := good
		row.spoil(&h)
		err := h.Validate()
		assert.Error(t, err, "%s: error", row.rule)
		assert.Contains(t, err.Error(), row.says, "%s: error", row.rule)
		at := instant(t, "2027-03-01T12:00:00Z")
		got := WorkingTime(h, at, at.Add(100*time.Hour))
		assert.Equal(t, time.Duration(0), got, "%s: %v of working time", row.rule, got)
		assert.True(t, NextWorking(h, at).Equal(at), "%s: next working %s", row.rule, NextWorking(h, at))
	}
	assert.NoError(t, good.Validate(), "good hours are refused")
}

// onTheClock are hours of one minute, at which a wall clock shows local.
func onTheClock(t *testing.T, zone *time.Location, local string) Hours {
	t.Helper()
	shown, err := time.Parse("2006-01-02T15:04", local)
	require.NoError(t, err)
	h := Hours{Zone: zone, From: shown.Hour()*60 + shown.Minute()}
	h.To, h.Days[shown.Weekday()] = h.From+1, true
	return h
}

// Each instant of the vectors is a working minute of who works when their
// wall clock shows what the vectors say, and of nobody else.
func TestZoneVectors(t *testing.T) {
	eachVector(t, "tz_offsets", func(t *testing.T, c vectorCase) {
		var in struct {
			Zone string
			UTC  []time.Time
		}
		var want struct {
			Offset []int `json:"offset_minutes"`
			Local  []string
		}
		c.read(t, &in, &want)
		zone := zoneOf(t, in.Zone)
		for i, at := range in.UTC {
			shown := WorkingTime(onTheClock(t, zone, want.Local[i]), at, at.Add(time.Minute))
			assert.Equal(t, time.Minute, shown, "%s at %s: the clock shows %s", in.Zone, at, want.Local[i])
			got := periodAt(zone, at.Unix()).offset
			assert.Equal(t, int64(want.Offset[i])*60, got, "%s at %s: offset %d s, want %d min", in.Zone, at, got, want.Offset[i])
		}
	})
}

// Minutes that a clock skips are nobody's working time.
func TestSkippedMinuteVectors(t *testing.T) {
	eachVector(t, "local_time_gap", func(t *testing.T, c vectorCase) {
		var in struct {
			Zone    []string
			Missing []string `json:"local_missing"`
		}
		var want struct{ Exists []bool }
		c.read(t, &in, &want)
		for i, local := range in.Missing {
			got := aroundDay(t, in.Zone[i], local, onTheClock(t, zoneOf(t, in.Zone[i]), local))
			assert.Equal(t, want.Exists[i], got > 0, "%s: %s lasts %v", in.Zone[i], local, got)
		}
	})
}

// Minutes that a clock shows twice are working time twice.
func TestRepeatedMinuteVectors(t *testing.T) {
	eachVector(t, "local_time_overlap", func(t *testing.T, c vectorCase) {
		var in struct {
			Zone  []string
			Twice []string `json:"local_twice"`
		}
		var want struct {
			First  []string `json:"utc_first"`
			Second []string `json:"utc_second"`
		}
		c.read(t, &in, &want)
		for i, local := range in.Twice {
			h := onTheClock(t, zoneOf(t, in.Zone[i]), local)
			for _, at := range []string{want.First[i], want.Second[i]} {
				from := instant(t, at+":00Z")
				shown := WorkingTime(h, from, from.Add(time.Minute))
				assert.Equal(t, time.Minute, shown, "%s: %s is shown at %s", in.Zone[i], local, at)
			}
			assert.Equal(t, 2*time.Minute, aroundDay(t, in.Zone[i], local, h), "how long %s lasts in %s", local, in.Zone[i])
		}
	})
}

// Who works around the clock on one day works as long as that day is.
func TestDayLengthVectors(t *testing.T) {
	eachVector(t, "local_day_length_minutes", func(t *testing.T, c vectorCase) {
		var in struct{ Zone, Date []string }
		var want struct{ Minutes []int }
		c.read(t, &in, &want)
		for i, date := range in.Date {
			h := onTheClock(t, zoneOf(t, in.Zone[i]), date+"T00:00")
			h.From, h.To = 0, minutesPerDay
			lasts := aroundDay(t, in.Zone[i], date+"T00:00", h)
			assert.Equal(t, time.Duration(want.Minutes[i])*time.Minute, lasts, "how long %s lasts in %s", date, in.Zone[i])
		}
	})
}

// aroundDay is the working time within two days of a local time.
func aroundDay(t *testing.T, zone, local string, h Hours) time.Duration {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02T15:04", local, zoneOf(t, zone))
	require.NoError(t, err)
	return WorkingTime(h, at.Add(-48*time.Hour), at.Add(48*time.Hour))
}

// Rules that governments changed in 2026: what holds depends on the age of the
// zone data of this machine, which is told by its answer to the last instant
// on which old and new differ. Data of the other age skips, visibly.
func TestZoneVectorsThatDependOnTheAgeOfTheData(t *testing.T) {
	eachVector(t, "tz_offsets_version_dependent", func(t *testing.T, c vectorCase) {
		var in struct {
			Zone   string
			UTC    []time.Time
			TZData string
		}
		var want struct {
			Offset []int `json:"offset_minutes"`
			New    []int `json:"offset_minutes_2026f"`
			Old    []int `json:"offset_minutes_2025c"`
		}
		c.read(t, &in, &want)
		zone := zoneOf(t, in.Zone)
		var got []int
		for _, at := range in.UTC {
			got = append(got, int(periodAt(zone, at.Unix()).offset/60))
		}
		switch {
		case fmt.Sprint(got) == fmt.Sprint(want.Offset):
		case want.Offset != nil:
			checkOtherAge(t, in.Zone, in.TZData, zone)
		case fmt.Sprint(got) == fmt.Sprint(want.New):
		case fmt.Sprint(got) == fmt.Sprint(want.Old):
			t.Logf("zone data older than 2026c: %s is still %v", in.Zone, got)
		default:
			t.Errorf("%s: offsets %v, want %v (2026f) or %v (2025c)", in.Zone, got, want.New, want.Old)
		}
	})
}

// checkOtherAge skips when the zone data is of another age than a case needs.
// Morocco gave up its +1 for good in September 2026.
func checkOtherAge(t *testing.T, zone, needs string, loaded *time.Location) {
	t.Helper()
	_, offset := instant(t, "2026-12-01T12:00:00Z").In(loaded).Zone()
	if isNew, wantsNew := offset == 0, needs != "2025c"; isNew != wantsNew {
		t.Skipf("zone data of another age: this case needs %s", needs)
	}
	t.Errorf("%s: offsets are neither those of 2025c nor those of 2026c", zone)
}
