package flows

import (
	"encoding/json"
	"fmt"
	"time"
)

// An Event is a fact: something that happened in a kickoff. Events are only
// ever added to; their names and fields are the format of the journal and
// outlive the code, so a field may be added but never renamed or reused.
type Event interface {
	kind() string
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
	n := k.clone()
	for i, r := range records {
		for _, e := range r.Events {
			e.apply(&n, plainTime(r.At), r.By)
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
			return nil, fmt.Errorf("encode event %s: %w", e.kind(), err)
		}
		out.Events[i] = taggedEvent{Kind: e.kind(), Data: data}
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
	decode, ok := decoders[t.Kind]
	if !ok {
		return nil, fmt.Errorf("decode event: kind %q is unknown to this release", t.Kind)
	}
	e, err := decode(t.Data)
	if err != nil {
		return nil, fmt.Errorf("decode event %s: %w", t.Kind, err)
	}
	return e, nil
}

// An eventKind is a kind of event, and how one is read from a journal.
type eventKind struct {
	name   string
	decode func(json.RawMessage) (Event, error)
}

func event[E Event]() eventKind {
	var blank E
	return eventKind{blank.kind(), func(data json.RawMessage) (Event, error) {
		var e E
		err := json.Unmarshal(data, &e)
		return e, err
	}}
}

// sharedEvents are those that belong to no stage of their own.
var sharedEvents = []eventKind{
	event[StageOpened](), event[FinishedStage](), event[QuorumMissed](), event[WindowClosed](),
	event[WindowMoved](), event[StageReopened](), event[CloseWished](), event[RemindersSent](),
	event[RemindersPutOff](), event[ReminderMuted](), event[HoursChanged](), event[PeopleJoined](),
	event[PersonLeft](), event[LeadsChanged](), event[JoinAsked](), event[MessagePosted](),
	event[ChannelMoved](), event[ChannelUnreachable](), event[ChannelReachable](), event[Abandoned](),
	event[CanvasMade](), event[CanvasLost](), event[BookmarkAdded](), event[BookmarkRemoved](),
	event[ExtraMissed](), event[ChannelSeen](), event[OutsideAgreed](), event[SummaryHeld](),
	event[DraftsAsked](),
}

// decoders reads every kind of event, by its name: those of all stages, and
// the shared ones. A test finds any that is missing.
var decoders = func() map[string]func(json.RawMessage) (Event, error) {
	all := map[string]func(json.RawMessage) (Event, error){}
	for _, kind := range sharedEvents {
		all[kind.name] = kind.decode
	}
	for _, row := range stages {
		for _, kind := range row.events {
			all[kind.name] = kind.decode
		}
	}
	return all
}()
