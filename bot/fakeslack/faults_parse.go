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
	faultLimited   = "limited"   // then every call of the same method, while the storm lasts
	faultLost      = "lost"      // nobody hears of what was done
	faultDoubled   = "doubled"   // the second answer goes nowhere
	faultReordered = "reordered" // a second later if no event follows
	faultDropped   = "dropped"   // by turns before it was sent, and after it was acknowledged
)

// A FaultKind is one thing that can go wrong, for people to choose.
type FaultKind struct {
	Name  string // as ParseFaults takes it
	Says  string // what goes wrong, to come after "every n-th"
	timed bool   // it takes time
}

// FaultKinds lists everything that can go wrong.
var FaultKinds = []FaultKind{
	{faultSlow, "call or delivery comes late", true},
	{faultRefused, "call or delivery is cut off before anything is done", false},
	{faultFailed, "call is answered with an error of the server", false},
	{faultLimited, "call begins a storm of “too many calls”", true},
	{faultLost, "call or delivery is done, but its answer is lost", false},
	{faultDoubled, "delivery comes twice", false},
	{faultReordered, "event comes after the one that follows it", false},
	{faultDropped, "delivery by socket finds the socket dropped", false},
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
	f := Faults{}
	for part := range strings.SplitSeq(text, ",") {
		if err := f.set(strings.TrimSpace(part)); err != nil {
			return Faults{}, fmt.Errorf("read the fault %q: %w", strings.TrimSpace(part), err)
		}
	}
	return f, nil
}

// set reads one fault.
func (f Faults) set(part string) error {
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
	n, err := strconv.Atoi(every)
	if err != nil || n < 1 {
		return fmt.Errorf("write how often, such as %s=5 for every fifth time", name)
	}
	var length time.Duration
	if timed {
		if !FaultKinds[at].timed {
			return fmt.Errorf("%s takes no time", name)
		}
		if length, err = time.ParseDuration(lasts); err != nil || length <= 0 {
			return errors.New("write the time such as 800ms or 30s")
		}
	}
	f[name] = Fault{Every: n, Lasts: length}
	return nil
}

// Any reports whether anything is to go wrong.
func (f Faults) Any() bool { return f.String() != "none" }

// String writes faults as ParseFaults reads them.
func (f Faults) String() string {
	var parts []string
	for _, k := range FaultKinds {
		fault := f[k.Name]
		if fault.Every <= 0 {
			continue
		}
		part := k.Name + "=" + strconv.Itoa(fault.Every)
		if fault.Lasts > 0 {
			part += ":" + fault.Lasts.String()
		}
		parts = append(parts, part)
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ",")
}
