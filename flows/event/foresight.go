package event

import (
	"strconv"
	"strings"
	"time"

	"soundings/flows/state"
)

// Foreseen is what one person expects of a test; the last one counts.
type Foreseen struct {
	Test    int
	Percent int // one of state.Shares
}

func (e Foreseen) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	f := k.Foresight[e.Test]
	state.Put(k, &f.Said, by, e.Percent)
	state.Put(k, &k.Foresight, e.Test, f)
}

func (e Foreseen) boxKind() string { return ForesightBox(e.Test) }

// ForesightCounted is what people had expected of a test, once its first result is in.
type ForesightCounted struct {
	Test     int
	Expected state.Expected
}

func (e ForesightCounted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	f := k.Foresight[e.Test]
	f.Counted = &e.Expected
	state.Put(k, &k.Foresight, e.Test, f)
}

const foresightPrefix = "foresight-"

// ForesightBox is the kind of the box that holds what people expect of a test. Each
// test has one of its own: it is counted when its result comes in, and the others wait.
func ForesightBox(test int) string { return foresightPrefix + strconv.Itoa(test) }

// foresightIn is the box of that kind, if it is one that holds foresight.
func foresightIn(kind string) (box ballotBox, is bool) {
	number, is := strings.CutPrefix(kind, foresightPrefix)
	test, err := strconv.Atoi(number)
	if !is || err != nil {
		return box, false
	}
	return ballotBox{
		func(k *state.Kickoff) bool { return len(k.Foresight[test].Said) > 0 },
		func(k *state.Kickoff) {
			f := k.Foresight[test]
			f.Said = nil
			if f.Counted == nil {
				state.Drop(k, &k.Foresight, test)
				return
			}
			state.Put(k, &k.Foresight, test, f)
		},
	}, true
}

// EmptyForesight gives the events that empty what people expect of a test, where
// anybody said something.
func EmptyForesight(k *state.Kickoff, test int) []Event {
	if len(k.Foresight[test].Said) == 0 {
		return nil
	}
	return Empty(ForesightBox(test))
}
