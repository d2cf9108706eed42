package fakeslack

import (
	"errors"
	"fmt"
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
	Time bool   // whether a length of time may be given with it
}

// FaultKinds lists everything that can go wrong.
func FaultKinds() []FaultKind {
	return []FaultKind{
		{faultSlow, "call or delivery comes late", true},
		{faultRefused, "call or delivery is cut off before anything is done", false},
		{faultFailed, "call is answered with an error of the server", false},
		{faultLimited, "call begins a storm of “too many calls”", true},
		{faultLost, "call or delivery is done, but its answer is lost", false},
		{faultDoubled, "delivery comes twice", false},
		{faultReordered, "event comes after the one that follows it", false},
		{faultDropped, "delivery by socket finds the socket dropped", false},
	}
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
	place, length := f.place(name)
	if place == nil {
		return fmt.Errorf("the faults are %s", strings.Join(faultNames(), ", "))
	}
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

// place is where a fault's number is kept, and its time if it has one.
func (f *Faults) place(name string) (every *int, length *time.Duration) {
	switch name {
	case faultSlow:
		return &f.Slow, &f.SlowBy
	case faultRefused:
		return &f.Refused, nil
	case faultFailed:
		return &f.Failed, nil
	case faultLimited:
		return &f.Limited, &f.LimitedFor
	case faultLost:
		return &f.Lost, nil
	case faultDoubled:
		return &f.Doubled, nil
	case faultReordered:
		return &f.Reordered, nil
	case faultDropped:
		return &f.Dropped, nil
	}
	return nil, nil
}

// Every is how often the fault of a name strikes; zero is never.
func (f Faults) Every(name string) int {
	every, _ := f.place(name)
	return *every
}

func faultNames() []string {
	var names []string
	for _, k := range FaultKinds() {
		names = append(names, k.Name)
	}
	return names
}

// String writes faults as ParseFaults reads them.
func (f Faults) String() string {
	var parts []string
	for _, name := range faultNames() {
		every, length := f.place(name)
		if *every <= 0 {
			continue
		}
		part := name + "=" + strconv.Itoa(*every)
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
