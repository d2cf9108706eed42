package flows

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/flows/event"
	"soundings/flows/state"
)

// A world is what a kickoff needs around it in a test: a clock, a journal,
// and somebody who wakes it. Every record goes through the journal's format,
// as it would in a store.
type world struct {
	k       state.Kickoff
	now     time.Time
	journal []event.Record
	posts   bool // messages are posted as soon as they are to be shown
}

// monday is when tests begin: Monday 1 March 2027, nine in the morning in
// Lisbon, four weeks before Europe's clocks change.
var monday = time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)

func newWorld() *world { return &world{now: monday, k: begin()} }

// begin is a kickoff that has not begun.
func begin() state.Kickoff { return WithZones(state.Kickoff{}, testZones) }

var testZones = new(zones.Cache)

// do decides on an intent at the present time and takes what follows. What
// was due before comes first, in a record of its own.
func (w *world) do(in Intent) ([]event.Record, error) {
	before := len(w.journal)
	shared, untouched := w.k, deepCopy(w.k)
	d, err := decide(w.k, in, w.now)
	if errors.Is(err, ErrDue) {
		if _, err := w.do(Tick{}); err != nil {
			return nil, err
		}
		d, err = decide(w.k, in, w.now)
	}
	if err == nil && len(d.events) > 0 {
		err = w.take(d)
	}
	if changed := diff(shared, untouched); changed != "" {
		return nil, errors.New("deciding and moving on changed the state before, which others share:\n" + changed)
	}
	return w.journal[before:], err
}

// take appends a decision, and holds the fold of what was written down to
// the state that was decided upon.
func (w *world) take(d decision) error {
	var effects []Effect
	for _, r := range event.RecordsOf(&w.k, d.by, d.events, d.now) {
		r, err := reread(r)
		if err != nil {
			return err
		}
		w.journal = append(w.journal, r)
		w.k = Apply(w.k, int64(len(w.journal)), r)
		effects = append(effects, React(w.k, r)...)
	}
	forgetful := withoutCache(w.k)
	if kept, anew := NextWake(&w.k), NextWake(&forgetful); !kept.Equal(anew) {
		return fmt.Errorf("the next wake is remembered as %v and worked out anew as %v", kept, anew)
	}
	d.k.Version = w.k.Version
	if decided := d.k; !same(decided, w.k) {
		return errors.New("the fold of the record is not the state decided upon:\n" + diff(decided, w.k))
	}
	if w.posts {
		return w.post(effects)
	}
	return nil
}

// withoutCache is a state with nothing worked out beforehand.
func withoutCache(k state.Kickoff) state.Kickoff {
	var bare state.Kickoff
	from, to := reflect.ValueOf(k), reflect.ValueOf(&bare).Elem()
	for i := range from.NumField() {
		if from.Type().Field(i).IsExported() {
			to.Field(i).Set(from.Field(i))
		}
	}
	state.SetZones(&bare, k.Zones())
	return bare
}

// reread writes a record as the journal does, and reads it back.
func reread(r event.Record) (event.Record, error) {
	data, err := json.Marshal(r)
	if err != nil {
		return event.Record{}, err
	}
	var back event.Record
	return back, json.Unmarshal(data, &back)
}

// must is do for what has to be allowed.
func (w *world) must(t testing.TB, ins ...Intent) {
	t.Helper()
	for _, in := range ins {
		_, err := w.do(in)
		require.NoError(t, err, "%T at %s", in, w.now.Format(time.RFC3339))
	}
}

// wakeUntil lets time pass up to at, waking the kickoff whenever it asks to
// be woken, and gives the records that follow.
func (w *world) wakeUntil(at time.Time) ([]event.Record, error) {
	before := len(w.journal)
	for range 10_000 {
		next := NextWake(&w.k)
		if next.IsZero() || next.After(at) {
			w.now = at
			return w.journal[before:], nil
		}
		if next.After(w.now) {
			w.now = next
		}
		if _, err := w.do(Tick{}); err != nil {
			return nil, err
		}
		if next := NextWake(&w.k); !next.IsZero() && !next.After(w.now) {
			return nil, errors.New("the kickoff asks to be woken at " + next.String() + " which is not after " + w.now.String())
		}
	}
	return nil, errors.New("the kickoff was woken 10,000 times before " + at.String())
}

// post notes every message of the effects as posted, as the shell does.
func (w *world) post(effects []Effect) error {
	for _, e := range effects {
		name := e.Slot.Name()
		if _, posted := w.k.Posted[name]; e.Do != Show || posted {
			continue
		}
		channel := w.k.Channel
		if e.Slot.To != "" {
			channel = "D-" + string(e.Slot.To)
		}
		if _, err := w.do(Report{News: event.MessagePosted{Slot: name, Posting: state.Posting{Channel: channel, TS: "1772355600." + name}}}); err != nil {
			return err
		}
	}
	return nil
}
