package event

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"soundings/flows/state"
)

// Ballots are nobody's business but their author's: what people rate, choose
// and vote goes into a box. Whoever writes the journal seals what is in a box
// with a key of the box's own. Once the box is counted, and what came of it
// stands in an event, it is emptied: the state forgets who gave what, and the
// key is destroyed. A fold to which a box stays shut comes to the same state
// from there on, so no event after may rest on what was in it.

// A secret is an event that goes into a box of a kind; the empty kind is none.
type secret interface{ boxKind() string }

// The kinds of box beside those that are named after a stage.
const (
	CheckinBox  = "checkin"
	DecisionBox = "decision"
)

func (FramingVoted) boxKind() string    { return string(state.StageFraming) }
func (Rated) boxKind() string           { return string(state.StageRating) }
func (WeeksVoted) boxKind() string      { return string(state.StageTimebox) }
func (OutlookVoted) boxKind() string    { return string(state.StageTimebox) }
func (EvidenceRerated) boxKind() string { return CheckinBox }
func (ConfidenceVoted) boxKind() string { return CheckinBox }
func (NewRated) boxKind() string        { return CheckinBox }
func (DecisionVoted) boxKind() string   { return DecisionBox }

// Who has finished a stage is known while it lasts, and listed when it closes.
// Told as it happens, it would stand beside the ballot.
func (e FinishedStage) boxKind() string {
	if IsBoxed(e.Stage) {
		return string(e.Stage)
	}
	return ""
}

func kindOfBox(e Event) string {
	if s, is := e.(secret); is {
		return s.boxKind()
	}
	return ""
}

// A ballotBox holds the ballots of one kind until they are counted.
type ballotBox struct {
	holds   func(k *state.Kickoff) bool // anything
	empties func(k *state.Kickoff)
}

var boxes = map[string]ballotBox{
	string(state.StageFraming): {
		func(k *state.Kickoff) bool { return len(k.Framing.Votes) > 0 },
		func(k *state.Kickoff) { k.Framing.Votes = nil },
	},
	string(state.StageRating): {
		func(k *state.Kickoff) bool {
			return slices.ContainsFunc(k.Rounds, func(r state.Round) bool { return len(r.Ballots) > 0 })
		},
		func(k *state.Kickoff) {
			for i := range state.Own(k, &k.Rounds) {
				k.Rounds[i].Ballots, k.Rounds[i].Dealt = nil, nil
			}
		},
	},
	string(state.StageTimebox): {
		func(k *state.Kickoff) bool {
			return len(k.Timebox.Votes)+len(k.Timebox.Worth)+len(k.Timebox.Cost) > 0
		},
		func(k *state.Kickoff) { k.Timebox.Votes, k.Timebox.Worth, k.Timebox.Cost = nil, nil, nil },
	},
	CheckinBox: {
		func(k *state.Kickoff) bool {
			return slices.ContainsFunc(k.Underway.Checkins, func(c state.Checkin) bool { return len(c.Confidence)+len(c.Evidence)+len(c.Rated) > 0 })
		},
		func(k *state.Kickoff) {
			for i := range state.Own(k, &k.Underway.Checkins) {
				c := &k.Underway.Checkins[i]
				c.Confidence, c.Evidence, c.Rated = nil, nil, nil
			}
		},
	},
	DecisionBox: {
		func(k *state.Kickoff) bool { return len(k.Underway.Decision.Votes) > 0 },
		func(k *state.Kickoff) { k.Underway.Decision.Votes = nil },
	},
}

// boxFor is the box of a kind.
func boxFor(kind string) (box ballotBox, known bool) {
	if box, is := foresightIn(kind); is {
		return box, true
	}
	box, known = boxes[kind]
	return box, known
}

// holding lists the kinds of box that hold ballots, in a stable order.
func holding(k *state.Kickoff) []string {
	held := slices.Collect(maps.Keys(boxes))
	for test := range k.Foresight {
		held = append(held, ForesightBox(test))
	}
	held = slices.DeleteFunc(held, func(kind string) bool {
		box, _ := boxFor(kind)
		return !box.holds(k)
	})
	slices.Sort(held)
	return held
}

// boxOf names the box of a kind that takes ballots now. Each box has a name of
// its own: what comes too late, for one that is emptied, is not in the next.
func boxOf(k *state.Kickoff, kind string) string { return boxName(kind, k.Emptied[kind]+1) }

func boxName(kind string, n int) string { return kind + "/" + strconv.Itoa(n) }

// Boxes names the boxes that hold ballots, in a stable order. Whoever keeps a
// copy of the state seals it with the key of each.
func Boxes(k *state.Kickoff) []string {
	var names []string
	for _, kind := range holding(k) {
		names = append(names, boxOf(k, kind))
	}
	return names
}

// TakesBallots reports whether a box still takes ballots, or waits to be counted.
func TakesBallots(k *state.Kickoff, name string) bool {
	kind, n, _ := strings.Cut(name, "/")
	_, known := boxFor(kind)
	return known && n == strconv.Itoa(k.Emptied[kind]+1)
}

// EmptiedBoxes names the boxes that were emptied, in a stable order.
func EmptiedBoxes(k *state.Kickoff) []string {
	var names []string
	for _, kind := range slices.Sorted(maps.Keys(k.Emptied)) {
		for n := range k.Emptied[kind] {
			names = append(names, boxName(kind, n+1))
		}
	}
	return names
}

// RecordsOf are the entries as which the events of one decision are written down:
// what goes into a box by itself. by is empty for the clock and the shell.
func RecordsOf(k *state.Kickoff, by state.UserID, events []Event, at time.Time) []Record {
	kind := kindOfBox(events[0])
	if kind == "" {
		return []Record{{At: at, By: by, Events: events}}
	}
	n := slices.IndexFunc(events, func(e Event) bool { return kindOfBox(e) != kind })
	if n < 0 {
		n = len(events)
	}
	records := []Record{{Box: boxOf(k, kind), At: at, By: by, Events: events[:n:n]}}
	if n < len(events) {
		records = append(records, Record{At: at, Events: events[n:]})
	}
	return records
}

// isLate reports that a record was put into a box that had been emptied.
func isLate(k *state.Kickoff, r Record) bool { return r.Box != "" && !TakesBallots(k, r.Box) }

// IsBoxed reports whether what is given in a stage is a ballot.
func IsBoxed(s state.Stage) bool {
	_, boxed := boxes[string(s)]
	return boxed
}

// Empty gives the event that empties the box of a kind, and none for a
// stage without one.
func Empty(kind string) []Event {
	if _, boxed := boxFor(kind); !boxed {
		return nil
	}
	return []Event{BallotsEmptied{Kind: kind}}
}

// EmptyStages gives the events that empty whatever still holds ballots of the stages
// before the time box. What people expect of tests waits for their results.
func EmptyStages(k *state.Kickoff) []Event {
	return slices.DeleteFunc(EmptyAll(k), func(e Event) bool {
		_, foreseen := foresightIn(e.(BallotsEmptied).Kind)
		return foreseen
	})
}

// EmptyAll gives the events that empty whatever still holds ballots, when
// nobody will count them any more.
func EmptyAll(k *state.Kickoff) []Event {
	var events []Event
	for _, kind := range holding(k) {
		events = append(events, Empty(kind)...)
	}
	return events
}

// BallotsEmptied says that what a box holds was counted, or never will be. The
// state forgets it, and its key is destroyed.
type BallotsEmptied struct{ Kind string }

func (e BallotsEmptied) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	if b, known := boxFor(e.Kind); known {
		b.empties(k)
	}
	state.Put(k, &k.Emptied, e.Kind, k.Emptied[e.Kind]+1)
}
