package main

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The close is found by hand. Lisbon has its 8 hours on Friday; the clocks
// there go forward on Sunday. Auckland's come on Monday by 04:00 UTC. Kolkata
// has 2.5 hours on Friday from 14:30, and the other 5.5 by Monday 14:30, which
// is 09:00 UTC and 10:00 in Lisbon: inside the lead's day.
func TestWindow(t *testing.T) {
	t.Parallel()
	args := strings.Fields("window --from 2027-03-26T09:00:00Z --hours 8 --zone Europe/Lisbon --zone Asia/Kolkata --zone Pacific/Auckland")
	var got, want any
	require.NoError(t, json.Unmarshal([]byte(good(t, append(args, "--json")...)), &got))
	require.NoError(t, json.Unmarshal([]byte(`{"closes": "2027-03-29T09:00:00Z", "each": [
		{"zone": "Europe/Lisbon", "local": "2027-03-29T10:00:00+01:00", "hours": 9},
		{"zone": "Asia/Kolkata", "local": "2027-03-29T14:30:00+05:30", "hours": 8},
		{"zone": "Pacific/Auckland", "local": "2027-03-29T22:00:00+13:00", "hours": 8}]}`), &want))
	mustHold(t, "", got, want)

	const text = `The window closes on Monday 29 March 2027 at 09:00 UTC.

zone               local time of the close   working hours
Europe/Lisbon      Mon 29 Mar 2027, 10:00    9:00
Asia/Kolkata       Mon 29 Mar 2027, 14:30    8:00
Pacific/Auckland   Mon 29 Mar 2027, 22:00    8:00
`
	assert.Equal(t, text, good(t, args...))
}

func TestWindowFlags(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ rule, args, closes string }{
		{"the first zone leads", "--hours 1 --zone Europe/Rome", "2027-03-01T10:00:00Z"},
		{"another lead moves the close into their day", "--hours 1 --zone Europe/Rome --lead America/Chicago", "2027-03-01T15:00:00Z"},
		{"parts of an hour", "--hours 1.5 --zone Europe/Rome", "2027-03-01T10:30:00Z"},
		{"no minute is added by rounding", "--hours 0.1 --zone Europe/Rome", "2027-03-01T09:06:00Z"},
		{"the grain is a minute, rounded up", "--hours 0.01 --zone Europe/Rome", "2027-03-01T09:01:00Z"},
		{"another day, with minutes", "--hours 7.75 --zone UTC --day 9:30-17:15", "2027-03-01T17:15:00Z"},
		{"a day until midnight", "--hours 15 --zone UTC --day 0-24", "2027-03-02T00:00:00Z"},
		{"an offset in --from", "--from 2027-03-01T10:00:00+01:00 --hours 1 --zone UTC", "2027-03-01T10:00:00Z"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var got struct{ Closes string }
			out := good(t, append(strings.Fields("window --json --from 2027-03-01T09:00:00Z"), strings.Fields(tt.args)...)...)
			require.NoError(t, json.Unmarshal([]byte(out), &got))
			assert.Equal(t, tt.closes, got.Closes, "window %s closes at", tt.args)
		})
	}
}

func TestWindowRefusals(t *testing.T) {
	t.Parallel()
	const (
		day  = `--day must begin before it ends, within 0:00 and 24:00, such as 9-17; it is `
		form = `--day takes the hours of a working day, such as 9-17 or 9:30-17:15; it is `
	)
	for _, tt := range []struct{ args, want string }{
		{"--hours 8 --zone UTC", "--from is missing: the time at which the window opens, such as 2027-03-26T09:00:00Z"},
		{"--from 2027-03-26T09:00:00Z --zone UTC", "--hours is missing: the working hours that everybody gets, such as 8 or 7.5"},
		{"--from 2027-03-26T09:00:00Z --hours 8", "--zone is missing: a zone somebody works in, such as Europe/Lisbon; repeat it for more"},
		{"--from 2027-03-26 --hours 8 --zone UTC", `--from takes a date and time with its offset, such as 2027-03-26T09:00:00Z; it is "2027-03-26"`},
		{"--from 2027-03-26T09:00:00Z --hours 0 --zone UTC", "--hours must be above 0 and at most 10000, such as 8 or 7.5; it is 0"},
		{"--from 2027-03-26T09:00:00Z --hours -8 --zone UTC", "--hours must be above 0 and at most 10000, such as 8 or 7.5; it is -8"},
		{"--from 2027-03-26T09:00:00Z --hours NaN --zone UTC", "--hours must be above 0 and at most 10000, such as 8 or 7.5; it is NaN"},
		{"--from 2027-03-26T09:00:00Z --hours 1e300 --zone UTC", "--hours must be above 0 and at most 10000, such as 8 or 7.5; it is 1e+300"},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone Europe/Lisboa", `--zone takes a time zone of the IANA list, such as Europe/Lisbon; it is "Europe/Lisboa"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone Local", `--zone takes a time zone of the IANA list, such as Europe/Lisbon; it is "Local"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone UTC --lead Mars/Olympus", `--lead takes a time zone of the IANA list, such as Europe/Lisbon; it is "Mars/Olympus"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone UTC --day 17-9", day + `"17-9"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone UTC --day 9-9", day + `"9-9"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone UTC --day 9-25", day + `"9-25"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone UTC --day 9:60-17", form + `"9:60-17"`},
		{"--from 2027-03-26T09:00:00Z --hours 8 --zone UTC --day nine-five", form + `"nine-five"`},
	} {
		t.Run(tt.args, func(t *testing.T) {
			mustRefuse(t, tt.want, append([]string{"window", "--json"}, strings.Fields(tt.args)...)...)
		})
	}
}
