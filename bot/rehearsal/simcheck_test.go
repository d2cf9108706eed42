package rehearsal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"strings"

	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// check says what of the promises was not kept.
func (s *simulation) check() (wrong []string) {
	ctx := s.tb.Context()
	keys, err := s.journal.Index.All(ctx, s.team.TeamID())
	if err != nil {
		return []string{err.Error()}
	}
	c := &simCheck{simulation: s, times: map[string]int{}}
	for _, key := range keys {
		c.states(key)
	}
	c.deliveries()
	c.named()
	c.slots()
	return c.wrong
}

// A simCheck gathers what is wrong.
type simCheck struct {
	*simulation
	wrong []string
	times map[string]int // that each delivery stands in a journal
}

func (c *simCheck) fault(format string, args ...any) {
	c.wrong = append(c.wrong, fmt.Sprintf(format, args...))
}

// states compares what each process holds of a kickoff with a fold from zero.
func (c *simCheck) states(key journal.Key) {
	ctx := c.tb.Context()
	held := make([]state.Kickoff, len(c.processes))
	for range 2 { // the first may find that something was lost, and note it
		for i, p := range c.processes {
			k, err := p.bot.Kickoffs.Load(ctx, key)
			if err != nil {
				c.fault("process %d cannot load %s: %v", i, key.Kickoff, err)
			}
			held[i] = k
		}
	}
	entries, err := c.journal.Read(ctx, key, journal.Position{})
	if err != nil {
		c.fault("read: %v", err)
		return
	}
	records := make([]event.Record, len(entries))
	for i, e := range entries {
		if err := records[i].UnmarshalJSON(e.Data); err != nil {
			c.fault("entry %d: %v", e.Version, err)
		}
	}
	folded := flows.Fold(flows.WithZones(state.Kickoff{}, new(zones.Cache)), 0, records)
	if c.takesBallots(folded, records) { // those that are sealed count, too
		if err := c.journal.DropSnapshot(ctx, key); err != nil {
			c.fault("drop the snapshot: %v", err)
		}
		fresh := &kickoffs.Store{Journal: c.journal, Zones: new(zones.Cache), Logger: slog.New(slog.DiscardHandler)}
		if folded, err = fresh.Load(ctx, key); err != nil {
			c.fault("a new process cannot load %s: %v", key.Kickoff, err)
		}
	}
	want, _ := json.Marshal(folded)
	for i, k := range held {
		if got, _ := json.Marshal(k); !bytes.Equal(got, want) {
			c.fault("process %d holds another state than the journal says:\n\t got %s\n\twant %s", i, got, want)
		}
	}
	for _, e := range entries {
		if e.Delivery != "" {
			c.times[e.Delivery]++
		}
	}
	c.order(records)
	c.asked(folded)
	c.reminders(records)
}

// deliveries holds each that was acknowledged to stand in the journal once, or,
// where Redis has lost its last entries, at most once.
func (c *simCheck) deliveries() {
	for _, delivery := range slices.Sorted(maps.Keys(c.times)) {
		if c.times[delivery] > 1 {
			c.fault("delivery %s is written %d times", delivery, c.times[delivery])
		}
	}
	if c.lost > 0 {
		return
	}
	for _, delivery := range slices.Sorted(maps.Keys(c.acknowledged)) {
		if c.times[delivery] == 0 {
			c.fault("delivery %s was acknowledged and is not in the journal", delivery)
		}
	}
}

// takesBallots reports whether a box that is not emptied has ballots in it.
func (c *simCheck) takesBallots(k state.Kickoff, records []event.Record) bool {
	return slices.ContainsFunc(records, func(r event.Record) bool { return len(r.Sealed) > 0 && event.TakesBallots(&k, r.Box) })
}

// named holds the lead to be told whose entries were lost, as long as the
// processes that had seen them live.
func (c *simCheck) named() {
	if c.lost == 0 || c.endings > c.copied.ended {
		return
	}
	told := map[state.UserID]bool{}
	for _, records := range c.records() {
		for _, r := range records {
			for _, e := range r.Events {
				if lost, is := e.(event.EntriesLost); is {
					for _, u := range lost.People {
						told[u] = true
					}
				}
			}
		}
	}
	stands := c.authors()
	for entry, u := range c.unlucky {
		if _, again := stands[entry]; !again && !told[u] { // the platform may have sent the same once more
			c.fault("the entries of %s were lost, and the lead was not told", u)
		}
	}
}

// order holds the stages to open one after the other.
func (c *simCheck) order(records []event.Record) {
	all := state.Stages()
	at := 0
	for _, r := range records {
		for _, e := range r.Events {
			switch e := e.(type) {
			case event.StageReopened:
				at = slices.Index(all, e.Stage)
			case event.StageOpened:
				n := slices.Index(all, e.Stage)
				if n < at || passed(all[at+1:max(n, at+1)]) > 1 {
					c.fault("stage %s opens after %s", e.Stage, all[at])
				}
				at = n
			}
		}
	}
}

// passed counts the stages that did not open though something may be asked in them: a
// stage is passed where the store has lost its answers. A list is tidied only where
// something on it stands out.
func passed(stages []state.Stage) (n int) {
	for _, s := range stages {
		if s != state.StageTidying {
			n++
		}
	}
	return n
}

// asked holds what is asked at the end to stand in the channel.
func (c *simCheck) asked(k state.Kickoff) {
	if k.Window.Phase != state.PhaseOpen || k.Stage == state.StageUnderway || k.Window.Stage != k.Stage {
		return
	}
	slot := flows.Slot{Screen: flows.ScreenStage, Arg: flows.StageArg(k.Stage, k.Window.Round)}.Name()
	at := k.Posted[slot]
	if _, stands := c.team.Message(at.Channel, at.TS); !stands {
		c.fault("%s does not stand", slot)
	}
}

// reminders holds each person to one a day.
func (c *simCheck) reminders(records []event.Record) {
	last := map[state.UserID]state.LocalDay{}
	for _, r := range records {
		for _, e := range r.Events {
			sent, _ := e.(event.RemindersSent)
			for u, day := range sent.Days {
				if day <= last[u] {
					c.fault("%s is reminded twice on %s", u, day)
				}
				last[u] = day
			}
		}
	}
}

// slots counts where messages stand. A private one cannot be looked for, and may
// stand twice where its sending was cut off; so may one that a process had
// posted which ended before Redis lost it.
func (c *simCheck) slots() {
	times := map[string]int{}
	for _, channel := range c.team.Channels() {
		for _, m := range c.team.Messages(channel.ID) {
			if m.Metadata == nil {
				continue
			}
			slot, _ := m.Metadata.EventPayload["slot"].(string)
			times[slot]++
		}
	}
	cutOff := c.faults.crash > 0 || c.faults.unheard > 0 || c.faults.outage > 0 || c.lost > 0 || c.faults.lost > 0
	for _, slot := range slices.Sorted(maps.Keys(times)) {
		if times[slot] > 1 && !(strings.Contains(slot, "/@") && cutOff) && c.lost == 0 {
			c.fault("%s stands %d times", slot, times[slot])
		}
	}
}
