package fakeslack

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// The names of the faults.
const (
	faultSlow      = "slow"
	faultRefused   = "refused"
	faultFailed    = "failed"
	faultLimited   = "limited"
	faultLost      = "lost"
	faultDoubled   = "doubled"
	faultReordered = "reordered"
	faultDropped   = "dropped"
)

// A FaultKind is one thing that can go wrong, for people to choose.
type FaultKind struct {
	Name string // as ParseFaults takes it
	Says string // what goes wrong, to come after "every n-th"
	// in is where the number of a fault is kept, and its time if it has one.
	in func(f *Faults) (every *int, length *time.Duration)
}

// FaultKinds lists everything that can go wrong.
var FaultKinds = []FaultKind{
	{faultSlow, "call or delivery comes late", func(f *Faults) (*int, *time.Duration) { return &f.Slow, &f.SlowBy }},
	{faultRefused, "call or delivery is cut off before anything is done", func(f *Faults) (*int, *time.Duration) { return &f.Refused, nil }},
	{faultFailed, "call is answered with an error of the server", func(f *Faults) (*int, *time.Duration) { return &f.Failed, nil }},
	{faultLimited, "call begins a storm of “too many calls”", func(f *Faults) (*int, *time.Duration) { return &f.Limited, &f.LimitedFor }},
	{faultLost, "call or delivery is done, but its answer is lost", func(f *Faults) (*int, *time.Duration) { return &f.Lost, nil }},
	{faultDoubled, "delivery comes twice", func(f *Faults) (*int, *time.Duration) { return &f.Doubled, nil }},
	{faultReordered, "event comes after the one that follows it", func(f *Faults) (*int, *time.Duration) { return &f.Reordered, nil }},
	{faultDropped, "delivery by socket finds the socket dropped", func(f *Faults) (*int, *time.Duration) { return &f.Dropped, nil }},
}

// everyFault is what "all" stands for: numbers without a common divisor, so
// that the faults meet in ever new ways.
const everyFault = "slow=3:700ms,refused=17,failed=23,limited=53,lost=19,doubled=5,reordered=2,dropped=13"

// ParseFaults reads faults as a flag writes them: "lost=5,slow=3:800ms" says
// that every fifth answer is lost and every third call 800 ms late. "all" is
// some of everything, "" and "none" are nothing.
func ParseFaults(text string) (Faults, error) {
	switch strings.TrimSpace(text) {
	case "", "none":
		return Faults{}, nil
	case "all":
		text = everyFault
	}
	var f Faults
	for part := range strings.SplitSeq(text, ",") {
		if err := f.set(strings.TrimSpace(part)); err != nil {
			return Faults{}, fmt.Errorf("read the fault %q: %w", strings.TrimSpace(part), err)
		}
	}
	return f, nil
}

// set reads one fault.
func (f *Faults) set(part string) error {
	name, value, _ := strings.Cut(part, "=")
	every, lasts, timed := strings.Cut(value, ":")
	at := slices.IndexFunc(FaultKinds, func(k FaultKind) bool { return k.Name == name })
	if at < 0 {
		var names []string
		for _, k := range FaultKinds {
			names = append(names, k.Name)
		}
		return fmt.Errorf("the faults are %s", strings.Join(names, ", "))
	}
	place, length := FaultKinds[at].in(f)
	n, err := strconv.Atoi(every)
	if err != nil || n < 1 {
		return fmt.Errorf("write how often, such as %s=5 for every fifth time", name)
	}
	*place = n
	if !timed {
		return nil
	}
	if length == nil {
		return fmt.Errorf("%s takes no time", name)
	}
	if *length, err = time.ParseDuration(lasts); err != nil || *length <= 0 {
		return errors.New("write the time such as 800ms or 30s")
	}
	return nil
}

// Every is how often the fault of a kind strikes; zero is never.
func (f Faults) Every(k FaultKind) int {
	every, _ := k.in(&f)
	return *every
}

// Any reports whether anything is to go wrong.
func (f Faults) Any() bool { return f.String() != "none" }

// String writes faults as ParseFaults reads them.
func (f Faults) String() string {
	var parts []string
	for _, k := range FaultKinds {
		every, length := k.in(&f)
		if *every <= 0 {
			continue
		}
		part := k.Name + "=" + strconv.Itoa(*every)
		if length != nil && *length > 0 {
			part += ":" + length.String()
		}
		parts = append(parts, part)
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ",")
}
