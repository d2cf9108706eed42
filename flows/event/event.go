package event

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"time"

	"soundings/flows/state"
)

// PlainTime is t as the journal gives it back: in UTC, without the reading of
// a process's own clock. Else a state would differ from its own snapshot.
func PlainTime(t time.Time) time.Time { return t.UTC().Round(0) }

// An Event is a fact: something that happened in a kickoff. Events are only
// ever added to; their names and fields are the format of the journal and
// outlive the code, so a field may be added but never renamed or reused.
type Event interface {
	// Apply writes the fact down in k, as somebody's (nobody's is the clock's or the
	// shell's). It computes nothing and refuses nothing.
	Apply(k *state.Kickoff, at time.Time, by state.UserID)
}

// A Record is one entry of the journal: all the events of one decision, with
// its time and author.
type Record struct {
	At     time.Time
	By     state.UserID // empty for the clock and the shell
	Events []Event

	Box    string // that its events were put into; see [RecordsOf]
	Sealed []byte // all of this, as long as it has not been opened
}

// Fold applies records that follow version after, in order, to a copy of k.
// What its people are due is not yet worked out of it.
func Fold(k state.Kickoff, after int64, records []Record) state.Kickoff {
	n := state.Fork(k)
	for i, r := range records {
		if !isLate(&n, r) {
			for _, e := range r.Events {
				e.Apply(&n, PlainTime(r.At), r.By)
			}
		}
		n.Version = after + int64(i) + 1
	}
	return n
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

// MarshalJSON writes each event beside its kind; of what is sealed, only that.
func (r Record) MarshalJSON() ([]byte, error) {
	if len(r.Sealed) > 0 {
		return json.Marshal(sealedRecord{Box: r.Box, Sealed: r.Sealed})
	}
	at, err := r.At.MarshalJSON()
	if err != nil {
		return nil, fmt.Errorf("encode record: %w", err)
	}
	out := []byte{'{'}
	if r.Box != "" {
		box, err := json.Marshal(r.Box)
		if err != nil {
			return nil, fmt.Errorf("encode record: %w", err)
		}
		out = append(append(append(out, `"box":`...), box...), ',')
	}
	out = append(append(out, `"at":`...), at...)
	if r.By != "" {
		by, err := json.Marshal(r.By)
		if err != nil {
			return nil, fmt.Errorf("encode record: %w", err)
		}
		out = append(append(out, `,"by":`...), by...)
	}
	out = append(out, `,"events":[`...)
	for i, e := range r.Events {
		data, err := json.Marshal(e)
		if err != nil {
			return nil, fmt.Errorf("encode event %s: %w", KindOf(e), err)
		}
		if i > 0 {
			out = append(out, ',')
		}
		out = fmt.Appendf(out, `{"kind":%q,"data":%s}`, KindOf(e), data)
	}
	return append(out, "]}"...), nil
}

type taggedEvent struct {
	Kind string          `json:"kind"`
	Data json.RawMessage `json:"data"`
}

type sealedRecord struct {
	Box    string `json:"box"`
	Sealed []byte `json:"sealed"`
	NoTime int    `json:"at"` // an older release refuses a number, rather than take what is sealed for nothing
}

type taggedRecord struct {
	Box    string          `json:"box"`
	Sealed []byte          `json:"sealed"`
	At     json.RawMessage `json:"at"`
	By     state.UserID    `json:"by"`
	Events []taggedEvent   `json:"events"`
}

// UnmarshalJSON reads what MarshalJSON wrote. A kind that this release does
// not know is an error, and so is a field: skipping a fact would change the past.
func (r *Record) UnmarshalJSON(data []byte) error {
	var in taggedRecord
	if err := json.Unmarshal(data, &in); err != nil {
		return fmt.Errorf("decode record: %w", err)
	}
	if len(in.Sealed) > 0 {
		*r = Record{Box: in.Box, Sealed: in.Sealed}
		return nil
	}
	*r = Record{Box: in.Box, By: in.By, Events: make([]Event, len(in.Events))}
	if len(in.At) > 0 {
		if err := json.Unmarshal(in.At, &r.At); err != nil {
			return fmt.Errorf("decode record: %w", err)
		}
	}
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
	empty, ok := kinds[t.Kind]
	if !ok {
		return nil, fmt.Errorf("decode event: kind %q is unknown to this release", t.Kind)
	}
	e := reflect.New(reflect.TypeOf(empty))
	d := json.NewDecoder(bytes.NewReader(t.Data))
	d.DisallowUnknownFields()
	if err := d.Decode(e.Interface()); err != nil {
		return nil, fmt.Errorf("decode event %s: %w", t.Kind, err)
	}
	return e.Elem().Interface().(Event), nil
}

// JournalFormat numbers the format of the journal: kinds are added and never
// taken away, so a release reads all journals of its own number and lower ones.
func JournalFormat() int { return len(Kinds()) }

// Kinds lists the names of all kinds of event, in alphabetical order.
func Kinds() []string { return slices.Sorted(maps.Keys(kinds)) }

// kindNames are the names of events in the journal.
var kindNames = func() map[reflect.Type]string {
	names := map[reflect.Type]string{}
	for name, empty := range kinds {
		names[reflect.TypeOf(empty)] = name
	}
	return names
}()

// KindOf is the name of an event in the journal.
func KindOf(e Event) string {
	name, ok := kindNames[reflect.TypeOf(e)]
	if !ok {
		panic(fmt.Sprintf("event: %T has no name in the journal", e))
	}
	return name
}
