package engine

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// fairCloseByMinutes is the naive twin: it looks at every clock every minute.
func fairCloseByMinutes(opened time.Time, need time.Duration, people []Hours, lead Hours) time.Time {
	had := make([]time.Duration, len(people))
	at := opened
	for !allHad(had, need) {
		for i, h := range people {
			if worksAt(h, at) {
				had[i] += time.Minute
			}
		}
		at = at.Add(time.Minute)
	}
	return nextWorkingByMinutes(lead, at)
}

func allHad(had []time.Duration, need time.Duration) bool {
	for _, d := range had {
		if d < need {
			return false
		}
	}
	return true
}

func TestFairCloseAgreesWithMinuteSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone, opened := drawTurn(t)
		people := []Hours{drawHours(t, zone)}
		for range rapid.IntRange(0, 2).Draw(t, "more people") {
			other, _ := drawTurn(t)
			people = append(people, drawHours(t, other))
		}
		leadZone, _ := drawTurn(t)
		lead := drawHours(t, leadZone)
		need := time.Duration(rapid.IntRange(1, 90).Draw(t, "minutes needed")) * time.Minute
		got, err := FairClose(opened, need, people, lead)
		require.NoError(t, err)
		want := fairCloseByMinutes(opened, need, people, lead)
		require.True(t, got.Equal(want), "FairClose = %s, by minutes %s", got.UTC(), want.UTC())
	})
}

// Instants and needs that are not whole minutes: the close is the first whole
// minute at which the working time of everyone is enough, unless the lead
// moves it.
func TestFairCloseIsTheFirstMinuteThatWillDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone, opened := drawTurn(t)
		h := drawHours(t, zone)
		opened = opened.Add(time.Duration(rapid.Int64Range(0, int64(time.Minute)).Draw(t, "nanoseconds")))
		need := time.Duration(rapid.Int64Range(1, int64(30*time.Hour)).Draw(t, "need"))
		always := Hours{Zone: time.UTC, Days: [7]bool{true, true, true, true, true, true, true}, To: minutesPerDay}
		got, err := FairClose(opened, need, []Hours{h}, always)
		require.NoError(t, err)
		require.True(t, got.Equal(got.Truncate(time.Minute)), "%s is no whole minute", got)
		had := WorkingTime(h, opened, got)
		require.GreaterOrEqual(t, had, need, "closes at %s after %v of working time", got, had)
		had = WorkingTime(h, opened, got.Add(-time.Minute))
		require.Less(t, had, need, "closes at %s, a minute earlier there were %v, enough for", got, had)
	})
}

func TestFairCloseByHand(t *testing.T) {
	for _, row := range []struct {
		rule   string
		opened string
		need   time.Duration
		zones  []string
		lead   string
		want   string
	}{
		{"one person, one working day, to the end of it", "2027-03-01T09:00:00Z", 8 * time.Hour,
			[]string{"Europe/Lisbon"}, "Europe/Lisbon", "2027-03-01T17:00:00Z"},
		{"a minute late runs into the next day", "2027-03-01T09:01:00Z", 8 * time.Hour,
			[]string{"Europe/Lisbon"}, "Europe/Lisbon", "2027-03-02T09:01:00Z"},
		{"half a minute late is rounded up", "2027-03-01T09:00:30Z", 8 * time.Hour,
			[]string{"Europe/Lisbon"}, "Europe/Lisbon", "2027-03-02T09:01:00Z"},
		{"opened at night counts from the morning", "2027-03-01T02:00:00Z", 4 * time.Hour,
			[]string{"Europe/Lisbon"}, "Europe/Lisbon", "2027-03-01T13:00:00Z"},
		{"a weekend is nobody's time", "2027-03-05T16:00:00Z", 2 * time.Hour,
			[]string{"Europe/Lisbon"}, "Europe/Lisbon", "2027-03-08T10:00:00Z"},
		// Auckland is 13 hours ahead: Tuesday 9 to 17 there is Monday 20:00 to
		// Tuesday 4:00 UTC. The lead in Lisbon begins at 9.
		{"the furthest decides, the lead's morning closes", "2027-03-01T09:00:00Z", 8 * time.Hour,
			[]string{"Europe/Lisbon", "Pacific/Auckland"}, "Europe/Lisbon", "2027-03-02T09:00:00Z"},
		// Kolkata's 9 to 17 is 3:30 to 11:30 UTC.
		{"a half-hour zone", "2027-03-01T05:00:00Z", 8 * time.Hour,
			[]string{"Asia/Kolkata"}, "Asia/Kolkata", "2027-03-02T05:00:00Z"},
		// New York goes forward on 14 March 2027: 9 to 17 is 14:00 to 22:00 UTC
		// on Friday and 13:00 to 21:00 on Monday.
		{"summer time begins between two days", "2027-03-12T18:00:00Z", 8 * time.Hour,
			[]string{"America/New_York"}, "America/New_York", "2027-03-15T17:00:00Z"},
		{"the end of the lead's day is still inside", "2027-03-01T12:00:00Z", 4 * time.Hour,
			[]string{"America/Sao_Paulo"}, "Europe/London", "2027-03-01T16:00:00Z"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			var people []Hours
			for _, z := range row.zones {
				people = append(people, WorkingHours(zoneOf(t, z)))
			}
			got, err := FairClose(instant(t, row.opened), row.need, people, WorkingHours(zoneOf(t, row.lead)))
			want := instant(t, row.want)
			assert.NoError(t, err, "FairClose = %s, %v, want %s", got.UTC().Format(time.RFC3339), err, row.want)
			assert.True(t, got.Equal(want), "FairClose = %s, %v, want %s", got.UTC().Format(time.RFC3339), err, row.want)
		})
	}
}

// Who works at night works an hour less when clocks go forward over it.
func TestFairCloseOverNightsOnWhichClocksChange(t *testing.T) {
	night := WorkingHours(zoneOf(t, "Europe/Paris"))
	night.Days = [7]bool{true, true, true, true, true, true, true}
	night.From, night.To = 0, 6*60
	for _, row := range []struct {
		rule, opened, want string
	}{
		{"forward: five hours by six, the last one the night after", "2026-03-28T23:00:00Z", "2026-03-29T23:00:00Z"},
		{"back: seven hours by six", "2026-10-24T22:00:00Z", "2026-10-25T04:00:00Z"},
	} {
		got, err := FairClose(instant(t, row.opened), 6*time.Hour, []Hours{night}, night)
		want := instant(t, row.want)
		assert.NoError(t, err, "%s: %s, %v, want %s", row.rule, got.UTC().Format(time.RFC3339), err, row.want)
		assert.True(t, got.Equal(want), "%s: %s, %v, want %s", row.rule, got.UTC().Format(time.RFC3339), err, row.want)
	}
}

// More people, or more time, never close a window earlier; who is first in
// the list does not matter.
func TestFairCloseIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone, opened := drawTurn(t)
		other, _ := drawTurn(t)
		a, b := drawHours(t, zone), drawHours(t, other)
		need := time.Duration(rapid.IntRange(1, 40*60).Draw(t, "minutes needed")) * time.Minute
		closes := func(need time.Duration, people ...Hours) time.Time {
			at, err := FairClose(opened, need, people, a)
			require.NoError(t, err)
			return at
		}
		one, both := closes(need, a), closes(need, a, b)
		if both.Before(one) || closes(2*need, a, b).Before(both) || !closes(need, b, a).Equal(both) {
			t.Fatalf("alone %s, with another %s, twice the time %s", one, both, closes(2*need, a, b))
		}
	})
}

func TestFairCloseKeepsTheZoneOfOpened(t *testing.T) {
	kathmandu := zoneOf(t, "Asia/Kathmandu")
	opened := instant(t, "2027-03-01T04:00:00Z").In(kathmandu)
	got, err := FairClose(opened, time.Hour, []Hours{WorkingHours(kathmandu)}, WorkingHours(kathmandu))
	assert.NoError(t, err, "FairClose = %s", got)
	assert.True(t, got.Location() == kathmandu, "FairClose = %s", got)
}

func TestFairCloseRefuses(t *testing.T) {
	good := WorkingHours(time.UTC)
	turned := good
	turned.From, turned.To = 17*60, 9*60
	for _, row := range []struct {
		rule   string
		need   time.Duration
		people []Hours
		lead   Hours
		says   string
	}{
		{"no time", 0, []Hours{good}, good, "above 0"},
		{"less than no time", -time.Hour, []Hours{good}, good, "above 0"},
		{"centuries", 20_000 * time.Hour, []Hours{good}, good, "at most 10000 hours"},
		{"nobody", time.Hour, nil, good, "at least one person"},
		{"a day of 17 to 9", time.Hour, []Hours{good, turned}, good, "person 2: a working day must end after it begins"},
		{"no days", time.Hour, []Hours{{Zone: time.UTC, To: 60}}, good, "at least one working day"},
		{"a lead of 17 to 9", time.Hour, []Hours{good}, turned, "the lead: a working day must end"},
		{"a lead without zone", time.Hour, []Hours{good}, Hours{}, "time zone"},
	} {
		_, err := FairClose(instant(t, "2027-03-01T09:00:00Z"), row.need, row.people, row.lead)
		assert.Error(t, err, "%s: error", row.rule)
		assert.Contains(t, err.Error(), row.says, "%s: error", row.rule)
	}
}

// Someone who works one minute a week may be waited for, however long.
func TestFairCloseWaitsForWhoWorksLeast(t *testing.T) {
	h := Hours{Zone: time.UTC, From: 600, To: 601}
	h.Days[time.Monday] = true
	got, err := FairClose(instant(t, "2027-03-01T10:00:00Z"), 52*time.Minute, []Hours{h}, h)
	want := instant(t, "2028-02-21T10:01:00Z")
	assert.NoError(t, err, "52 Mondays = %s, %v, want %s", got, err, want)
	assert.True(t, got.Equal(want), "52 Mondays = %s, %v, want %s", got, err, want)
}

// manyHours are n people spread over the zones of turns, with hours of their
// own.
func manyHours(tb testing.TB, n int) []Hours {
	people := make([]Hours, n)
	for i := range people {
		people[i] = WorkingHours(zoneOf(tb, turns[i%len(turns)].zone))
		people[i].From += i % 7 * 15
		people[i].To += i % 5 * 15
	}
	return people
}

// Ten working days for 200 people; the goal is under 1 ms.
func BenchmarkFairClose200(b *testing.B) {
	people := manyHours(b, 200)
	opened := instant(b, "2026-10-20T09:00:00Z")
	b.ReportAllocs()
	for b.Loop() {
		_, err := FairClose(opened, 80*time.Hour, people, people[0])
		require.NoError(b, err)
	}
}

// The naive twin on the same people, for the ratio.
func BenchmarkFairClose200ByMinutes(b *testing.B) {
	people := manyHours(b, 200)
	opened := instant(b, "2026-10-20T09:00:00Z")
	for b.Loop() {
		fairCloseByMinutes(opened, 80*time.Hour, people, people[0])
	}
}

func ExampleFairClose() {
	lisbon, _ := time.LoadLocation("Europe/Lisbon")
	auckland, _ := time.LoadLocation("Pacific/Auckland")
	opened := time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)
	closes, err := FairClose(opened, 8*time.Hour,
		[]Hours{WorkingHours(lisbon), WorkingHours(auckland)}, WorkingHours(lisbon))
	fmt.Println(closes.Format(time.RFC3339), err)
	// Output: 2027-03-02T09:00:00Z <nil>
}
