package flows

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"time"
)

// An Event is a fact: something that happened in a kickoff. Events are only
// ever added to; their names and fields are the format of the journal and
// outlive the code, so a field may be added but never renamed or reused.
type Event interface {
	apply(k *Kickoff, at time.Time, by UserID)
}

// A Record is one entry of the journal: all the events of one decision, with
// its time and author.
type Record struct {
	At     time.Time
	By     UserID // empty for the clock and the shell
	Events []Event
}

// Apply folds one record into a copy of k. It refuses nothing: what was
// written is true. version is the record's place in the journal.
func Apply(k Kickoff, version int64, r Record) Kickoff {
	return Fold(k, version-1, []Record{r})
}

// Fold applies records that follow version after, in order, to a copy of k.
func Fold(k Kickoff, after int64, records []Record) Kickoff {
	n := k.fork()
	for i, r := range records {
		for _, e := range r.Events {
			e.apply(&n, plainTime(r.At), r.By)
		}
		n.Version = after + int64(i) + 1
	}
	return n.kept()
}

// Commutes reports whether these events may be appended without checking
// that the journal has not moved on: ratings touch nothing but themselves.
func Commutes(events []Event) bool {
	for _, e := range events {
		if _, ok := e.(Rated); !ok {
			return false
		}
	}
	return len(events) > 0
}

type taggedEvent struct {
	Kind string          `json:"kind"`
	Data json.RawMessage `json:"data"`
}

type taggedRecord struct {
	At     time.Time     `json:"at"`
	By     UserID        `json:"by,omitempty"`
	Events []taggedEvent `json:"events"`
}

// MarshalJSON writes each event beside its kind.
func (r Record) MarshalJSON() ([]byte, error) {
	out := taggedRecord{At: r.At, By: r.By, Events: make([]taggedEvent, len(r.Events))}
	for i, e := range r.Events {
		data, err := json.Marshal(e)
		if err != nil {
			return nil, fmt.Errorf("encode event %s: %w", kindOf(e), err)
		}
		out.Events[i] = taggedEvent{Kind: kindOf(e), Data: data}
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON wrote. A kind that this release does
// not know is an error: skipping a fact would change the past.
func (r *Record) UnmarshalJSON(data []byte) error {
	var in taggedRecord
	if err := json.Unmarshal(data, &in); err != nil {
		return fmt.Errorf("decode record: %w", err)
	}
	r.At, r.By, r.Events = in.At, in.By, make([]Event, len(in.Events))
	for i, t := range in.Events {
		e, err := decodeEvent(t)
		if err != nil {
			return err
		}
		r.Events[i] = e
	}
	return nil
}

func decodeEvent(t taggedEvent) (Event, error) {
	kind, ok := kindsByName[t.Kind]
	if !ok {
		return nil, fmt.Errorf("decode event: kind %q is unknown to this release", t.Kind)
	}
	e, err := kind.decode(t.Data)
	if err != nil {
		return nil, fmt.Errorf("decode event %s: %w", t.Kind, err)
	}
	return e, nil
}

// An eventKind is a kind of event: its name in the journal, and how one is
// read from there.
type eventKind struct {
	name   string
	is     reflect.Type
	decode func(json.RawMessage) (Event, error)
}

func event[E Event](name string) eventKind {
	return eventKind{name, reflect.TypeFor[E](), func(data json.RawMessage) (Event, error) {
		var e E
		err := json.Unmarshal(data, &e)
		return e, err
	}}
}

// eventKinds is the format of the journal: all kinds of event. Those of a stage
// stand in its row, and each list in the file of its events. A test finds any
// that is missing.
var eventKinds = func() []eventKind {
	all := slices.Concat(windowEvents, leadEvents, joiningEvents, reminderEvents, summaryEvents, postingEvents,
		channelEvents, outsideEvents, extraEvents, draftingEvents)
	for _, row := range stages {
		all = append(all, row.events...)
	}
	return all
}()

var (
	kindsByName = kindsBy(func(kind eventKind) string { return kind.name })
	kindsByType = kindsBy(func(kind eventKind) reflect.Type { return kind.is })
)

func kindsBy[K comparable](key func(eventKind) K) map[K]eventKind {
	all := map[K]eventKind{}
	for _, kind := range eventKinds {
		all[key(kind)] = kind
	}
	return all
}

// kindOf is the name of an event in the journal.
func kindOf(e Event) string {
	kind, ok := kindsByType[reflect.TypeOf(e)]
	if !ok {
		panic(fmt.Sprintf("flows: event %T is in no list of events", e))
	}
	return kind.name
}
