package flows

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/state"
)

// A play is a kickoff in which people do whatever they like, whenever they
// like, and the clock is looked at or forgotten. It watches what must always
// hold.
type play struct {
	*world
	reminded map[string]bool // person and day
}

// newPlay begins from scratch, or where one of the given kickoffs stands.
func newPlay(r *rapid.T, begun []world) *play {
	p := &play{world: newWorld(), reminded: map[string]bool{}}
	if at := upTo(r, len(begun)); at > 0 {
		begins := begun[at-1]
		begins.journal, begins.posts = slices.Clip(begins.journal), false // posting takes time and decides nothing
		p.world = &begins
		return p
	}
	people := []state.Person{{ID: "ines", Zone: "Europe/Lisbon"}, {ID: "tui", Zone: oneOf(r, zoneNames()...)}, {ID: "kofi", Zone: "Africa/Accra"},
		{ID: "noor", Sought: true}}[:3+upTo(r, 1)]
	brief := state.Brief{Title: "Bicycles", Problem: "Nobody can tell whether there is room."}
	p.act(r, Start{FromOutside: FromOutside{"ines"}, ID: "K1", Channel: "C1", Brief: brief, People: people, Pace: upTo(r, 2)})
	return p
}

// begun gives the usual kickoff at some of its later stages.
func begun(t *testing.T) []world {
	t.Helper()
	var out []world
	for _, stage := range []string{"framing", "roles", "assumptions", "rating/1", "rating/2", "backlog", "timebox settling", "close", "underway"} {
		out = append(out, *usual(t, stage))
	}
	out = append(out, *beforeTidying(t))
	return out
}

// beforeTidying is the usual kickoff with a list on which something stands out.
func beforeTidying(t *testing.T) *world {
	t.Helper()
	w := usual(t, "assumptions")
	for _, text := range []string{"Will the council pay for the signs?", "Passengers look at the sign and they trust it."} {
		w.must(t, AddAssumption{By: By{"kofi"}, Text: text})
	}
	for _, who := range []state.UserID{"ines", "tui", "kofi"} {
		w.must(t, Finish{By: By{who}, Stage: state.StageAssumptions})
	}
	require.Equal(t, state.StageTidying, w.k.Stage)
	return w
}

// act does one intent and looks at what came of it.
func (p *play) act(r *rapid.T, in Intent) {
	before, from := p.k, len(p.journal)
	_, err := p.do(in)
	var refusal *Refusal
	require.False(r, err != nil && !errors.As(err, &refusal), "%T %+v at %v: %v", in, in, p.now, err)
	for _, record := range p.journal[from:] {
		p.watch(r, record)
	}
	require.NoError(r, wrongState(&p.k, &before), "after %T %+v at %v", in, in, p.now)
}

// watch holds reminders to at most one on each day of a person's, in their
// hours, never to those who muted them or take no part.
func (p *play) watch(r *rapid.T, record event.Record) {
	effects := React(p.k, record)
	for i, e := range effects {
		require.False(r, slices.ContainsFunc(effects[:i], func(o Effect) bool { return o.ID() == e.ID() }), "effect %s twice in one record", e.ID())
	}
	for _, e := range record.Events {
		sent, ok := e.(event.RemindersSent)
		if !ok {
			continue
		}
		for u, day := range sent.Days {
			person, _ := p.k.Person(u)
			key := fmt.Sprint(u, day)
			switch {
			case p.reminded[key]:
				r.Fatalf("%s is reminded twice on %s", u, day)
			case person.Muted || person.Gone:
				r.Fatalf("%s is reminded, who is muted or gone", u)
			case !engine.NextWorking(p.k.HoursOf(person), record.At).Equal(record.At):
				r.Fatalf("%s is reminded at %v, off work", u, record.At)
			}
			p.reminded[key] = true
		}
	}
}

// wrongState says what of a state cannot be.
func wrongState(k, before *state.Kickoff) error {
	w := k.Window
	switch {
	case k.Stage != state.StageUnderway && k.Stage != state.StageEnded && w.Phase == state.PhaseClosed:
		return errors.New("the window is closed and nothing is open")
	case w.Phase == state.PhaseOpen && !w.Closes.After(w.Opened):
		return fmt.Errorf("the window closes at %v, not after it opened at %v", w.Closes, w.Opened)
	case w.Opened.Before(before.Window.Opened):
		return fmt.Errorf("the window opened at %v, before the last one", w.Opened)
	case sameWindow(w, before.Window) && w.Closes.Before(before.Window.Closes):
		return fmt.Errorf("the close moved back from %v to %v", before.Window.Closes, w.Closes)
	case w.Phase == state.PhaseSettling && w.Until.IsZero():
		return errors.New("the window waits to be settled for ever")
	case len(slices.Compact(slices.Sorted(slices.Values(w.Asked)))) != len(w.Asked):
		return fmt.Errorf("asked %v, some twice", w.Asked)
	case slices.ContainsFunc(w.Asked, func(u state.UserID) bool { return !k.Takes(u) }) && w.Phase == state.PhaseOpen:
		return fmt.Errorf("asked %v, of whom some take no part", w.Asked)
	case len(k.Participants()) > 0 && len(state.Leading(k)) == 0:
		return errors.New("people take part and nobody leads")
	case len(k.Rounds) > lastRound:
		return fmt.Errorf("%d rounds of rating", len(k.Rounds))
	}
	return wrongEntries(k)
}

func sameWindow(a, b state.Window) bool {
	return a.Stage == b.Stage && a.Round == b.Round && a.Opened.Equal(b.Opened)
}

func wrongEntries(k *state.Kickoff) error {
	for _, round := range k.Rounds {
		for _, u := range k.Window.Asked {
			if open := k.Window.Phase == state.PhaseOpen && k.Window.Round == round.N; open && round.Each > 0 && len(round.Share(u)) == 0 {
				return fmt.Errorf("%s is asked to rate, and was dealt nothing of %v", u, round.IDs)
			}
		}
		for u, ballot := range round.Ballots {
			for id, m := range ballot {
				if min(m.Importance, m.Evidence) < state.CantSay || max(m.Importance, m.Evidence) > 9 || !slices.Contains(round.IDs, id) {
					return fmt.Errorf("%s rated %s with %+v", u, id, m)
				}
			}
		}
	}
	for i, t := range k.Backlog.Tests {
		if t.N != i+1 {
			return fmt.Errorf("test %d has the number %d", i+1, t.N)
		}
	}
	for _, a := range k.Assumptions {
		if keep, ok := k.Assumption(a.JoinedTo); a.JoinedTo != "" && (!ok || keep.Withdrawn || a.ID == a.JoinedTo) {
			return fmt.Errorf("%s is joined to %s, which does not stand", a.ID, a.JoinedTo)
		}
	}
	return nil
}

// pass lets time go by: awake, woken whenever it is asked for; or asleep, as
// when the program was down.
func (p *play) pass(r *rapid.T) {
	long := time.Duration(rapid.IntRange(0, 60*60*24*5).Draw(r, "seconds")) * time.Second
	if rapid.IntRange(0, 3).Draw(r, "asleep") == 0 {
		p.now = p.now.Add(long)
		p.act(r, Tick{})
		p.awake(r)
		return
	}
	p.wakeFor(r, long)
}

func (p *play) wakeFor(r *rapid.T, long time.Duration) {
	for end := p.now.Add(long); ; {
		next := NextWake(&p.k)
		if next.IsZero() || next.After(end) {
			p.now = end
			return
		}
		p.now = next
		p.act(r, Tick{})
		p.awake(r)
	}
}

// awake holds the kickoff to asking for a wake that is still to come, or for
// none: a caller that follows it never spins.
func (p *play) awake(r *rapid.T) {
	next := NextWake(&p.k)
	require.False(r, !next.IsZero() && !next.After(p.now), "at %v, after a tick, the kickoff asks to be woken at %v (stage %s)", p.now, next, p.k.Stage)
	require.Empty(r, dueAt(&p.k, p.now), "at %v, after a tick, something is still due", p.now)
}

// helpful draws what somebody would do who is asked, so that plays get
// somewhere.
func (p *play) helpful(r *rapid.T) {
	who := rapid.SampledFrom(append(p.k.Participants(), "ines")).Draw(r, "who")
	switch k := &p.k; {
	case k.Window.Phase == state.PhaseOpen && k.Stage == state.StageRating:
		p.act(r, Rate{By: By{who}, Round: k.Window.Round, Assumption: rapid.SampledFrom(state.LatestRound(k).IDs).Draw(r, "id"),
			Scale: oneOf(r, state.Importance, state.Evidence), Value: oneOf(r, 1, 5, 9)})
	case k.Window.Phase == state.PhaseOpen && k.Stage == state.StageClose:
		p.act(r, PostSummary{ByLead: ByLead{k.Lead().ID}})
		return
	case k.Window.Phase == state.PhaseSettling:
		p.act(r, SettleFraming{ByLead: ByLead{k.Lead().ID}, Problem: "Nobody can tell."})
		p.act(r, SettleRoles{ByLead: ByLead{k.Lead().ID}})
		p.act(r, SetTimebox{ByLead: ByLead{k.Lead().ID}, Weeks: 1 + upTo(r, 2), Checkin: time.Wednesday})
		return
	case k.Stage == state.StageUnderway && state.OpenCheckin(k) != nil:
		p.act(r, VoteConfidence{By: By{who}, Checkin: state.OpenCheckin(k).N, Confidence: 5})
		p.act(r, RerateEvidence{By: By{who}, Checkin: len(k.Underway.Checkins), Evidence: map[string]int{"A1": 1 + upTo(r, 8)}})
		return
	case k.Stage == state.StageUnderway && k.Underway.Decision.Phase != "":
		p.act(r, VoteDecision{By: By{who}, N: k.Underway.DecisionNumber(), Choice: choice(r), Weeks: 2})
		p.act(r, SettleDecision{ByLead: ByLead{k.Lead().ID}, N: k.Underway.DecisionNumber(), Choice: choice(r), Weeks: 1 + upTo(r, 2)})
		return
	}
	p.act(r, Finish{By: By{who}, Stage: p.k.Stage, Round: p.k.Window.Round})
}

// TestAnythingMayHappen plays kickoffs at random: no intent at any time
// panics, the state decided upon is the one that its record folds to, clocks
// never go back, nobody is reminded twice a day, and no caller spins. What was
// written down folds as every journal does.
func TestAnythingMayHappen(t *testing.T) {
	reached, from := map[state.Stage]int{}, begun(t)
	draw := drawers()
	rapid.Check(t, func(r *rapid.T) {
		p := newPlay(r, from)
		for range rapid.IntRange(5, 60).Draw(r, "steps") {
			switch rapid.IntRange(0, 9).Draw(r, "what") {
			case 0, 1:
				p.pass(r)
			case 2, 3, 4:
				p.helpful(r)
			default:
				in := draw[rapid.IntRange(0, len(draw)-1).Draw(r, "which")](r, &p.k)
				p.act(r, as(in, somebody(r)))
			}
			reached[p.k.Stage]++
		}
		again := Fold(begin(), 0, p.journal)
		if !same(again, p.k) {
			r.Fatalf("the journal folds to another state:\n%s", diff(again, p.k))
		}
	})
	t.Logf("steps at each stage: %v", reached)
	// of ten; the plays are random, so all ten are not sure
	assert.GreaterOrEqual(t, len(reached), 6, "the plays came to %d stages only: they are too tame to say much", len(reached))
}

// TestEveryKickoffEnds lets a kickoff that people left at a random moment run
// on with nothing but the clock. It ends, or asks the lead about what nobody
// but the lead can settle: a vote, or whether another company reads on.
func TestEveryKickoffEnds(t *testing.T) {
	draw, from := drawers(), begun(t)
	rapid.Check(t, func(r *rapid.T) {
		p := newPlay(r, from)
		for range rapid.IntRange(0, 25).Draw(r, "steps") {
			if rapid.Bool().Draw(r, "helpful") {
				p.helpful(r)
			} else {
				in := draw[rapid.IntRange(0, len(draw)-1).Draw(r, "which")](r, &p.k)
				p.act(r, as(in, somebody(r)))
			}
		}
		p.act(r, ReportReachable{}) // a channel that is out of reach may stay so for ever
		for wakes := 0; p.k.Stage != state.StageEnded; wakes++ {
			d := p.k.Underway.Decision
			if _, plain := PlainChoice(&p.k); d.Phase == state.PhaseSettling && !plain {
				return
			}
			if p.k.Stage == state.StageClose && Held(&p.k) {
				return
			}
			require.LessOrEqual(r, wakes, 3000, "after %d wakes the kickoff is at stage %s, %s, at %v", wakes, p.k.Stage, p.k.Window.Phase, p.now)
			p.now = NextWake(&p.k)
			require.False(r, p.now.IsZero(), "at stage %s the kickoff asks for no wake", p.k.Stage)
			p.act(r, Tick{})
			p.awake(r)
		}
	})
}
