package flows

import (
	"encoding/json"
	"fmt"
	"reflect"
	"time"

	"soundings/flows/deepcopy"
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
	n := deepcopy.Of(k)
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

// eventKinds is the format of the journal: all kinds of event, those of each stage
// and those that belong to none. A test finds any that is missing.
var eventKinds = []eventKind{
	event[Started]("started"), event[BriefEdited]("brief-edited"), event[BriefRead]("brief-read"),
	event[QuestionAsked]("question-asked"), event[QuestionAnswered]("question-answered"),

	event[WordingAdded]("wording-added"), event[WordingEdited]("wording-edited"),
	event[FramingVoted]("framing-voted"), event[FramingCounted]("framing-counted"),
	event[FramingSettled]("framing-settled"),

	event[PlacedSelf]("placed-self"), event[PersonNamed]("person-named"), event[RolesSettled]("roles-settled"),

	event[AssumptionAdded]("assumption-added"), event[AssumptionEdited]("assumption-edited"),
	event[AssumptionWithdrawn]("assumption-withdrawn"), event[AssumptionsJoined]("assumptions-joined"),

	event[RoundOpened]("round-opened"), event[Rated]("rated"), event[RoundCounted]("round-counted"),
	event[ReasonGiven]("reason-given"), event[GistPosted]("gist-posted"),

	event[KindVoted]("kind-voted"), event[TestAdded]("test-added"), event[TestEdited]("test-edited"),
	event[TestWithdrawn]("test-withdrawn"),

	event[WeeksProposed]("weeks-proposed"), event[WeeksVoted]("weeks-voted"), event[WeeksCounted]("weeks-counted"),
	event[TimeboxSet]("timebox-set"), event[MarksChanged]("marks-changed"),

	event[ActionAdded]("action-added"), event[ActionEdited]("action-edited"),
	event[ActionWithdrawn]("action-withdrawn"), event[SummaryPosted]("summary-posted"),
	event[PartChanged]("part-changed"), event[WordGiven]("word-given"),

	event[BoxStarted]("box-started"), event[CheckinOpened]("checkin-opened"),
	event[ResultReported]("result-reported"), event[EvidenceRerated]("evidence-rerated"),
	event[ConfidenceVoted]("confidence-voted"), event[CheckinClosed]("checkin-closed"),
	event[DecisionOpened]("decision-opened"), event[DecisionVoted]("decision-voted"),
	event[DecisionCounted]("decision-counted"), event[DecisionMade]("decision-made"),

	event[StageOpened]("stage-opened"), event[FinishedStage]("finished-stage"),
	event[QuorumMissed]("quorum-missed"), event[WindowClosed]("window-closed"), event[WindowMoved]("window-moved"),
	event[StageReopened]("stage-reopened"), event[CloseWished]("close-wished"),
	event[RemindersSent]("reminders-sent"), event[RemindersPutOff]("reminders-put-off"),
	event[ReminderMuted]("reminder-muted"), event[HoursChanged]("hours-changed"),
	event[PeopleJoined]("people-joined"), event[PersonLeft]("person-left"), event[LeadsChanged]("leads-changed"),
	event[JoinAsked]("join-asked"), event[MessagePosted]("message-posted"), event[ChannelMoved]("channel-moved"),
	event[ChannelUnreachable]("channel-shut"), event[ChannelReachable]("channel-opened"),
	event[Abandoned]("abandoned"), event[CanvasMade]("canvas-made"), event[CanvasLost]("canvas-lost"),
	event[BookmarkAdded]("bookmark-added"), event[BookmarkRemoved]("bookmark-removed"),
	event[ExtraMissed]("extra-missed"), event[ChannelSeen]("channel-seen"), event[OutsideAgreed]("outside-agreed"),
	event[SummaryHeld]("summary-held"), event[DraftsAsked]("drafts-asked"),
}

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
