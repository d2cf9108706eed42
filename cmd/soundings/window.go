package main

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"time"

	"github.com/spf13/cobra"

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

func newWindow() *cobra.Command {
	var f windowFlags
	c := &cobra.Command{
		Use:   "window",
		Short: "Say when a window closes that is fair to every time zone",
		Long: `A window closes at the first instant at which everybody has had the given number
of hours within their own working day, Monday to Friday, since it opened; and
then, if need be, at the next moment inside the lead's working day.`,
		Example: "  soundings window --from 2027-03-26T09:00:00Z --hours 8 \\\n" +
			"    --zone Europe/Lisbon --zone Asia/Kolkata --zone Pacific/Auckland",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return window(c, f) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print the result as JSON")
	c.Flags().StringVar(&f.from, "from", "", "the `time` at which the window opens, such as 2027-03-26T09:00:00Z")
	c.Flags().Float64Var(&f.hours, "hours", 0, "the working `hours` that everybody gets, such as 8 or 7.5")
	c.Flags().StringArrayVar(&f.zones, "zone", nil, "a `zone` somebody works in, such as Europe/Lisbon; repeat it for more")
	c.Flags().StringVar(&f.lead, "lead", "", "the `zone` of the lead (default the first zone)")
	c.Flags().StringVar(&f.day, "day", "9-17", "the `hours` of a working day, such as 9-17 or 9:30-17:15")
	return c
}

func window(c *cobra.Command, f windowFlags) error {
	if err := needs(c, "from", "hours", "zone"); err != nil {
		return err
	}
	result, err := f.result()
	if err != nil {
		return wrong(err)
	}
	return printResult(c, f.json, result, result.text)
}

// A windowResult is what window prints.
type windowResult struct {
	Closes time.Time    `json:"closes"` // UTC
	Each   []windowZone `json:"each"`
}

// A windowZone is the window as seen from one zone.
type windowZone struct {
	Zone  string    `json:"zone"`
	Local time.Time `json:"local"` // the close, in local time
	Hours float64   `json:"hours"` // working hours from open to close
}

// text tells the result in words, with a line for each zone.
func (r windowResult) text() string {
	lines := []string{"zone\tlocal time of the close\tworking hours"}
	for _, z := range r.Each {
		lines = append(lines, z.Zone+"\t"+z.Local.Format("Mon 2 Jan 2006, 15:04")+"\t"+clock(z.Hours))
	}
	return "The window closes on " + r.Closes.Format("Monday 2 January 2006 at 15:04 UTC") + ".\n\n" + aligned(3, lines)
}

// clock writes hours as hours and minutes: 7:30.
func clock(hours float64) string {
	const hair = 1e-6 // minutes that a sum of parts may miss
	m := int(math.Floor(hours*60 + hair))
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// result is what the flags come to, or what is wrong with one of them.
func (f windowFlags) result() (w windowResult, err error) {
	const mostHours = 10_000
	opens, err := time.Parse(time.RFC3339, f.from)
	if err != nil {
		return w, fmt.Errorf("--from takes a date and time with its offset, such as 2027-03-26T09:00:00Z; it is %q", f.from)
	}
	if !(f.hours > 0 && f.hours <= mostHours) {
		return w, fmt.Errorf("--hours must be above 0 and at most %d, such as 8 or 7.5; it is %g", mostHours, f.hours)
	}
	// Whole seconds: 7.1 hours are 25,560 seconds, and a hair more would move
	// the close by a minute.
	need := time.Duration(max(1, math.Round(f.hours*3600))) * time.Second
	from, to, err := workingDay(f.day)
	if err != nil {
		return w, err
	}
	people := make([]engine.Hours, len(f.zones))
	for i, zone := range f.zones {
		if people[i], err = hoursIn("zone", zone, from, to); err != nil {
			return w, err
		}
	}
	lead := people[0]
	if f.lead != "" {
		if lead, err = hoursIn("lead", f.lead, from, to); err != nil {
			return w, err
		}
	}
	closes, err := engine.FairClose(opens, need, people, lead)
	if err != nil {
		return w, err
	}
	w.Closes = closes.UTC()
	for _, h := range people {
		w.Each = append(w.Each, windowZone{h.Zone.String(), closes.In(h.Zone), engine.WorkingTime(h, opens, closes).Hours()})
	}
	return w, nil
}

var dayPattern = regexp.MustCompile(`^(\d{1,2})(?::([0-5]\d))?-(\d{1,2})(?::([0-5]\d))?$`)

// workingDay reads when a day begins and ends, in minutes from midnight: 9-17,
// 9:30-17:15, 0-24.
func workingDay(text string) (from, to int, err error) {
	parts := dayPattern.FindStringSubmatch(text)
	if parts == nil {
		return 0, 0, fmt.Errorf("--day takes the hours of a working day, such as 9-17 or 9:30-17:15; it is %q", text)
	}
	var n [4]int
	for i, part := range parts[1:] {
		n[i], _ = strconv.Atoi(part) // digits, or none for 0
	}
	from, to = 60*n[0]+n[1], 60*n[2]+n[3]
	if from >= to || to > 24*60 {
		return 0, 0, fmt.Errorf("--day must begin before it ends, within 0:00 and 24:00, such as 9-17; it is %q", text)
	}
	return from, to, nil
}

// hoursIn are the working hours in a zone, from Monday to Friday. The names ""
// and Local are refused, since they mean another zone on each machine.
func hoursIn(flag, name string, from, to int) (engine.Hours, error) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return engine.Hours{}, fmt.Errorf("--%s takes a time zone of the IANA list, such as Europe/Lisbon; it is %q", flag, name)
	}
	h := engine.WorkingHours(zone)
	h.From, h.To = from, to
	return h, nil
}
