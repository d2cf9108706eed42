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
	decode, ok := decoders()[t.Kind]
	if !ok {
		return nil, fmt.Errorf("decode event: kind %q is unknown to this release", t.Kind)
	}
	e, err := decode(t.Data)
	if err != nil {
		return nil, fmt.Errorf("decode event %s: %w", t.Kind, err)
	}
	return e, nil
}

// decoders knows every kind of event. A test finds any that is missing.
func decoders() map[string]func(json.RawMessage) (Event, error) {
	all := map[string]func(json.RawMessage) (Event, error){}
	for _, d := range []struct {
		kind   string
		decode func(json.RawMessage) (Event, error)
	}{
		decoder[Started](), decoder[StageOpened](), decoder[FinishedStage](), decoder[QuorumMissed](),
		decoder[WindowClosed](), decoder[WindowMoved](), decoder[StageReopened](), decoder[CloseWished](),
		decoder[RemindersSent](), decoder[RemindersPutOff](), decoder[ReminderMuted](), decoder[HoursChanged](), decoder[PeopleJoined](),
		decoder[PersonLeft](), decoder[LeadsChanged](), decoder[JoinAsked](), decoder[MessagePosted](),
		decoder[ChannelMoved](), decoder[ChannelUnreachable](), decoder[ChannelReachable](), decoder[Abandoned](),
		decoder[CanvasMade](), decoder[CanvasLost](), decoder[BookmarkAdded](), decoder[BookmarkRemoved](), decoder[ExtraMissed](),
		decoder[ChannelSeen](), decoder[OutsideAgreed](), decoder[SummaryHeld](),
		decoder[BriefEdited](), decoder[BriefRead](), decoder[QuestionAsked](), decoder[QuestionAnswered](),
		decoder[WordingAdded](), decoder[WordingEdited](), decoder[FramingVoted](), decoder[FramingCounted](), decoder[FramingSettled](), decoder[DraftsAsked](),
		decoder[PlacedSelf](), decoder[PersonNamed](), decoder[RolesSettled](),
		decoder[AssumptionAdded](), decoder[AssumptionEdited](), decoder[AssumptionWithdrawn](), decoder[AssumptionsJoined](),
		decoder[RoundOpened](), decoder[Rated](), decoder[RoundCounted](), decoder[ReasonGiven](), decoder[GistPosted](),
		decoder[KindVoted](), decoder[TestAdded](), decoder[TestEdited](), decoder[TestWithdrawn](),
		decoder[WeeksProposed](), decoder[WeeksVoted](), decoder[WeeksCounted](), decoder[TimeboxSet](),
		decoder[ActionAdded](), decoder[ActionEdited](), decoder[ActionWithdrawn](), decoder[SummaryPosted](),
		decoder[PartChanged](), decoder[WordGiven](), decoder[MarksChanged](),
		decoder[BoxStarted](), decoder[CheckinOpened](), decoder[ResultReported](), decoder[EvidenceRerated](),
		decoder[ConfidenceVoted](), decoder[CheckinClosed](), decoder[DecisionOpened](), decoder[DecisionVoted](),
		decoder[DecisionCounted](), decoder[DecisionMade](),
	} {
		all[d.kind] = d.decode
	}
	return all
}

func decoder[E Event]() struct {
	kind   string
	decode func(json.RawMessage) (Event, error)
} {
	var blank E
	return struct {
		kind   string
		decode func(json.RawMessage) (Event, error)
	}{blank.kind(), func(data json.RawMessage) (Event, error) {
		var e E
		err := json.Unmarshal(data, &e)
		return e, err
	}}
}
