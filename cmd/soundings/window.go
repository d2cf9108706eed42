package main

import (
	"fmt"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"soundings/engine"
)

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
	w, err := f.read()
	if err != nil {
		return wrong(err)
	}
	closes, err := engine.FairClose(w.from, w.need, w.people, w.lead)
	if err != nil {
		return wrong(err)
	}
	result := w.closing(closes)
	if f.json {
		return printJSON(c.OutOrStdout(), result)
	}
	return printText(c.OutOrStdout(), result.text())
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

// closing says what a close means in each zone.
func (w windowAsked) closing(closes time.Time) windowResult {
	result := windowResult{Closes: closes.UTC()}
	for _, h := range w.people {
		result.Each = append(result.Each, windowZone{
			Zone:  h.Zone.String(),
			Local: closes.In(h.Zone),
			Hours: engine.WorkingTime(h, w.from, closes).Hours(),
		})
	}
	return result
}

// text tells the result in words, with a line for each zone.
func (r windowResult) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "The window closes on %s.\n\n", r.Closes.Format("Monday 2 January 2006 at 15:04 UTC"))
	table := tabwriter.NewWriter(&b, 0, 0, 3, ' ', 0)
	fmt.Fprintln(table, "zone\tlocal time of the close\tworking hours")
	for _, z := range r.Each {
		fmt.Fprintf(table, "%s\t%s\t%s\n", z.Zone, z.Local.Format("Mon 2 Jan 2006, 15:04"), clock(z.Hours))
	}
	_ = table.Flush() // into memory
	return b.String()
}

// clock writes hours as hours and minutes: 7:30.
func clock(hours float64) string {
	const hair = 1e-6 // minutes that a sum of parts may miss
	m := int(math.Floor(hours*60 + hair))
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}
