package screens

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// Tests draw kickoffs that were really lived: every state here is the fold of
// events that flows.Decide allowed. One play goes through all the stages and
// keeps the state at each of its moments.

// A moment is a kickoff as it stood, and when that was.
type moment struct {
	K   state.Kickoff
	Now time.Time
}

// kickoffAt is a kickoff of three people while stage takes answers, of which
// some are in; underway it is at an open check-in.
func kickoffAt(t testing.TB, stage state.Stage) state.Kickoff {
	t.Helper()
	return momentAt(t, string(stage)).K
}

// hostileKickoffAt is the same of twelve people who type the worst that the
// forms let them: as long, as many and as ill-meant as flows takes.
func hostileKickoffAt(t testing.TB, stage state.Stage) state.Kickoff {
	t.Helper()
	return hostileMomentAt(t, string(stage)).K
}

// momentAt finds a moment of the play of three by its name: a stage;
// "framing/settling", "roles/settling", "timebox/settling"; "rating/2";
// "underway/moved", "underway/decision", "underway/settling"; "brief/quorum".
func momentAt(t testing.TB, name string) moment {
	t.Helper()
	return find(t, smallPlay(), name)
}

func hostileMomentAt(t testing.TB, name string) moment {
	t.Helper()
	return find(t, hostilePlay(), name)
}

func find(t testing.TB, played map[string]moment, name string) moment {
	t.Helper()
	m, ok := played[name]
	require.True(t, ok, "the play has no moment %q", name)
	m.K = copied(t, m.K) // the test may change it
	return m
}

var testZones = new(zones.Cache)

// copied is a copy that shares nothing.
func copied(t testing.TB, k state.Kickoff) state.Kickoff {
	t.Helper()
	data, err := json.Marshal(k)
	require.NoError(t, err)
	var out state.Kickoff
	require.NoError(t, json.Unmarshal(data, &out))
	return flows.WithZones(out, testZones)
}

// Each play is played once.
var (
	smallPlay   = sync.OnceValue(func() map[string]moment { return play(smallCast()) })
	hostilePlay = sync.OnceValue(func() map[string]moment { return play(hostileCast()) })
)

// A cast is who plays, and what they type.
type cast struct {
	people      []state.Person
	brief       state.Brief
	questions   []string
	answer      string
	wordings    []flows.AddWording
	named       []flows.NamePerson
	assumptions []flows.AddAssumption
	reasons     []string
	method      string
	learn       string
	tests       int
	stopIf      string
	buildIf     string
	actions     []string
}

// A stage manager plays a cast's kickoff through flows.
type stageManager struct {
	cast
	k       state.Kickoff
	now     time.Time
	moments map[string]moment
}

func play(c cast) map[string]moment {
	m := &stageManager{cast: c, k: flows.WithZones(state.Kickoff{}, testZones), now: time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC), moments: map[string]moment{}}
	for _, act := range []func(){m.briefAct, m.framingAct, m.rolesAct, m.assumptionsAct, m.ratingAct,
		m.backlogAct, m.timeboxAct, m.closeAct, m.underwayAct, m.decisionAct} {
		act()
	}
	return m.moments
}

func (m *stageManager) keep(name string) { m.moments[name] = moment{K: m.k, Now: m.now} }

// do decides on an intent, a minute after the last one, and takes its events.
func (m *stageManager) do(in flows.Intent) {
	m.now = m.now.Add(time.Minute)
	m.decide(in)
}

func (m *stageManager) decide(in flows.Intent) {
	events, err := flows.Decide(m.k, in, m.now)
	if errors.Is(err, flows.ErrDue) {
		m.decide(flows.Tick{})
		events, err = flows.Decide(m.k, in, m.now)
	}
	if err != nil {
		panic(fmt.Sprintf("the play refuses %T at stage %s: %v", in, m.k.Stage, err))
	}
	if len(events) > 0 {
		m.take(flows.Author(in), events...)
	}
}

func (m *stageManager) take(by state.UserID, events ...event.Event) {
	m.k = flows.Apply(m.k, m.k.Version+1, event.Record{At: m.now, By: by, Events: events})
}

// wait lets time pass, wake by wake, until the kickoff is as wished.
func (m *stageManager) wait(wished func() bool) {
	for range 500 {
		if wished() {
			return
		}
		if at := flows.NextWake(&m.k); at.After(m.now) {
			m.now = at
		}
		m.decide(flows.Tick{})
	}
	panic("the play waits for something that does not come")
}

func (m *stageManager) lead() state.UserID { return m.people[0].ID }

func (m *stageManager) by(i int) flows.By {
	return flows.By{Who: m.people[i%len(m.people)].ID}
}

func (m *stageManager) byLead() flows.ByLead { return flows.ByLead{Who: m.lead()} }

// rest are the people who have not finished in the open window.
func (m *stageManager) rest() []flows.By {
	var out []flows.By
	for _, u := range m.k.Window.Asked {
		if _, done := m.k.Window.Done[u]; !done {
			out = append(out, flows.By{Who: u})
		}
	}
	return out
}

func (m *stageManager) briefAct() {
	m.do(flows.Start{FromOutside: flows.FromOutside{Who: m.lead()}, ID: "K1", Team: "T1", Channel: "C1",
		Brief: m.brief, People: m.people, Pace: 1})
	m.quorumScene()
	for i, q := range m.questions {
		m.do(flows.Ask{By: m.by(1), Ask: q})
		if i%2 == 0 {
			m.do(flows.Answer{By: m.by(0), N: i + 1, Answer: m.answer})
		}
	}
	m.keep("brief")
	for _, by := range m.rest() {
		m.do(flows.MarkRead{By: by})
	}
}

// quorumScene plays, and takes back, a brief that nobody reads in time.
func (m *stageManager) quorumScene() {
	k, now := m.k, m.now
	m.wait(func() bool { return m.k.Window.Extended })
	m.keep("brief/quorum")
	m.k, m.now = k, now
}

func (m *stageManager) framingAct() {
	for i, w := range m.wordings {
		w.By = m.by(i)
		m.do(w)
	}
	vote := func(by flows.By, level int) {
		m.do(flows.VoteFraming{By: by, Level: level, Ticks: []int{state.Original, 1}})
	}
	vote(m.by(0), 0)
	m.keep("framing")
	for i, by := range m.rest() {
		vote(by, i%2)
	}
	m.keep("framing/settling")
	m.do(flows.SettleFraming{ByLead: m.byLead(), Problem: m.k.WordingText(m.k.Framing.Proposed), Level: m.k.Framing.Level.Level})
}

func (m *stageManager) rolesAct() {
	m.do(flows.PlaceSelf{By: m.by(0), Ring: state.Core, Days: 2.5})
	for _, n := range m.named {
		n.By = m.by(0)
		m.do(n)
	}
	m.keep("roles")
	for i, by := range m.rest() {
		m.do(flows.PlaceSelf{By: by, Ring: state.Rings()[(i+1)%3]})
	}
	m.keep("roles/settling")
	m.do(flows.SettleRoles{ByLead: m.byLead(), Rings: map[state.UserID]state.Ring{m.people[1].ID: state.Core}})
}

func (m *stageManager) assumptionsAct() {
	for i, a := range m.assumptions {
		m.do(flows.ImportAssumptions{By: m.by(i), Rows: []flows.AddAssumption{a}})
	}
	last := m.k.Assumptions[len(m.k.Assumptions)-1]
	m.do(flows.JoinAssumptions{ByLead: m.byLead(), Keep: "A1", Join: []string{last.ID}})
	m.do(flows.Finish{By: m.by(0), Stage: state.StageAssumptions})
	m.keep("assumptions")
	m.tidyingScene()
	for _, by := range m.rest() {
		m.do(flows.Finish{By: by, Stage: state.StageAssumptions})
	}
	if m.k.Stage == state.StageTidying {
		m.do(flows.LeaveRemarks{ByLead: m.byLead()})
	}
}

// tidyingScene plays, and takes back, a list on which more stands out.
func (m *stageManager) tidyingScene() {
	k, now := m.k, m.now
	for i, text := range []string{
		"Crews can count bicycles without slowing the boarding down.", // as A2 of the small cast
		"Will passengers pay for a place?",
		"Passengers look at the sign and they trust it.",
		"We should build an app that shows the room on board.",
	} {
		m.do(flows.AddAssumption{By: m.by(i), Text: text})
	}
	for _, by := range m.rest() {
		m.do(flows.Finish{By: by, Stage: state.StageAssumptions})
	}
	m.keep("tidying")
	question := slices.IndexFunc(m.k.Tidying.Remarks, func(r state.Remark) bool {
		a, _ := m.k.Assumption(r.About[0])
		return a.Text == "Will passengers pay for a place?"
	})
	m.do(flows.SendBack{ByLead: m.byLead(), N: question + 1, Word: "What do you believe they will do?"})
	m.do(flows.LeaveRemarks{ByLead: m.byLead()})
	m.keep("tidying/back")
	m.do(flows.AskAlike{ByLead: m.byLead(), People: []state.UserID{m.people[1].ID, m.people[2].ID}})
	m.do(flows.SayAlike{By: m.by(1), Sets: [][]string{{"A1", "A3"}}})
	m.keep("tidying/asked")
	m.k, m.now = k, now
}

// ratingAct makes A1 a split: everybody else agrees about the rest.
func (m *stageManager) ratingAct() {
	m.rateAll(m.people[0].ID, 0, 1)
	m.do(flows.Finish{By: m.by(0), Stage: state.StageRating, Round: 1})
	m.rateAll(m.people[1].ID, 1, 2)
	m.keep("rating")
	for i, by := range m.rest() {
		m.rateAll(by.Who, i+1, 1)
		m.do(flows.Finish{By: by, Stage: state.StageRating, Round: 1})
	}
	for i, text := range m.reasons {
		m.do(flows.GiveReason{By: m.by(i), Assumption: "A1", Text: text, Signed: i%2 == 0})
	}
	m.keep("rating/2")
	for i, by := range m.rest() {
		m.rateAll(by.Who, i, 1)
		m.do(flows.Finish{By: by, Stage: state.StageRating, Round: 2})
	}
}

// rateAll fills in the ballot of the i-th person, in steps of step. It takes
// the events themselves: a Decide for each of thousands of ratings is slow,
// and what Decide says about ratings is not what these tests are about.
func (m *stageManager) rateAll(who state.UserID, i, step int) {
	round := m.k.Rounds[len(m.k.Rounds)-1]
	var events []event.Event
	for n := 0; n < len(round.IDs); n += step {
		importance, evidence := 9-n%7, 2+n%5
		if round.IDs[n] == "A1" {
			evidence = []int{2, 5, 8}[i%3]
		}
		events = append(events,
			event.Rated{Round: round.N, Assumption: round.IDs[n], Scale: state.Importance, Value: importance},
			event.Rated{Round: round.N, Assumption: round.IDs[n], Scale: state.Evidence, Value: evidence})
	}
	m.take(who, events...)
}

func (m *stageManager) backlogAct() {
	order := m.k.Order()
	for i := range m.people[:2] {
		kinds := map[string]state.Kind{}
		for n, id := range order {
			kinds[id] = state.Kinds()[(n+i*(n%2))%4]
		}
		m.do(flows.VoteKinds{By: m.by(i), Kinds: kinds})
	}
	for i := range m.tests {
		m.do(flows.AddTest{By: m.by(i), Plan: state.Plan{Assumption: order[i%len(order)], Method: m.method, Learn: m.learn,
			PassShare: 0.6, EffortDays: 3, LeadDays: 2, Owner: m.people[i%2].ID, Size: 12}})
	}
	m.do(flows.Finish{By: m.by(0), Stage: state.StageBacklog})
	m.keep("backlog")
	for _, by := range m.rest() {
		m.do(flows.Finish{By: by, Stage: state.StageBacklog})
	}
}

func (m *stageManager) timeboxAct() {
	m.do(flows.VoteWeeks{By: m.by(0), Weeks: 4})
	m.keep("timebox")
	for i, by := range m.rest() {
		m.do(flows.VoteWeeks{By: by, Weeks: 3 + i%3})
	}
	m.keep("timebox/settling")
	m.do(flows.SetTimebox{ByLead: m.byLead(), Weeks: 4, Checkin: time.Wednesday, StopIf: m.stopIf, BuildIf: m.buildIf})
}

func (m *stageManager) closeAct() {
	for i, what := range m.actions {
		m.do(flows.AddAction{By: m.by(i), What: what, Owner: m.people[i%len(m.people)].ID, Due: "2027-03-19"})
	}
	m.keep("close")
	for _, a := range m.k.StandingActions() {
		if a.For != "" { // the talk about what stayed split
			m.do(flows.FinishAction{By: flows.By{Who: a.Owner}, N: a.N})
		}
	}
	m.do(flows.PostSummary{ByLead: m.byLead()})
}

func (m *stageManager) underwayAct() {
	m.wait(func() bool { return len(m.k.Underway.Checkins) > 0 })
	m.do(flows.ReportResult{By: m.by(0), Checkin: 1, Test: 1, K: 9, N: 12})
	first := m.k.Backlog.Tests[0].Assumption
	m.do(flows.RerateEvidence{By: m.by(0), Checkin: 1, Evidence: map[string]int{first: 9}})
	m.do(flows.VoteConfidence{By: m.by(0), Checkin: 1, Confidence: 6})
	m.keep("underway")
	m.do(flows.RerateEvidence{By: m.by(1), Checkin: 1, Evidence: map[string]int{first: 8}})
	m.do(flows.RerateEvidence{By: m.by(2), Checkin: 1, Evidence: map[string]int{first: 8}})
	m.do(flows.VoteConfidence{By: m.by(1), Checkin: 1, Confidence: 7})
	m.wait(func() bool { return !m.k.Underway.Checkins[0].Closed.IsZero() })
	m.keep("underway/moved")
}

func (m *stageManager) decisionAct() {
	m.do(flows.DecideNow{ByLead: m.byLead()})
	m.do(flows.VoteDecision{By: m.by(0), N: 1, Choice: state.Build})
	m.do(flows.VoteDecision{By: m.by(1), N: 1, Choice: state.Another, Weeks: 2})
	m.keep("underway/decision")
	m.wait(func() bool { return m.k.Underway.Decision.Phase == state.PhaseSettling })
	m.keep("underway/settling")
	m.do(flows.SettleDecision{ByLead: m.byLead(), N: 1, Choice: state.Build})
	m.keep("ended")
}

// smallCast asks about bicycles on a ferry.
func smallCast() cast {
	return cast{
		people: []state.Person{
			{ID: "U1", Name: "Ana", Zone: "Europe/Lisbon"},
			{ID: "U2", Name: "Tui", Zone: "Pacific/Auckland"},
			{ID: "U3", Name: "Noor", Zone: "Asia/Kolkata"},
		},
		brief: state.Brief{
			Title:       "Bicycles on the ferry",
			Why:         "Complaints from passengers left at the pier doubled last summer.",
			Outcome:     "Fewer than one passenger in fifty with a bicycle is turned away, counted at the gate.",
			OutOfBounds: "New ships; prices.",
			Problem:     "Passengers with bicycles cannot tell, before they reach the pier, whether there is room.",
			Links:       []string{"https://intranet.example/ferry/gate-counts"},
		},
		questions: []string{"Do we count tandems as one bicycle?", "May we put a counter on the car deck?"},
		answer:    "As two: they take the room of two.",
		wordings: []flows.AddWording{
			{Level: 1, Text: "Passengers cannot rely on the ferry for the whole of their trip."},
			{Level: -1, Text: "At weekends, nobody at the car park can see how full the bicycle deck is."},
		},
		named: []flows.NamePerson{
			{User: "U2", Ring: state.Core},
			{Name: "Somebody from the harbour office", Ring: state.Consulted},
		},
		assumptions: []flows.AddAssumption{
			{Text: "Passengers look at their phone before they set out for the pier.", Because: "Most tickets are bought on the day."},
			{Text: "The crew can count bicycles without slowing down boarding.", Because: "They count cars already."},
			{Text: "Passengers would take a later ferry if they knew that this one is full."},
			{Text: "Being turned away is why people with bicycles stop coming.", Because: "Said in eleven letters last year."},
			{Text: "People check their phone before leaving for the ferry."},
		},
		reasons: []string{"I stood at the pier for two days: nobody looked.", "The ticket log shows a peak an hour before departure."},
		method:  "Ask passengers at the pier", learn: "Who knew before they left home whether there was room",
		tests:  2,
		stopIf: "Fewer than a third look anything up before they leave.", buildIf: "Two in three would take the later ferry.",
		actions: []string{"Ask the harbour office for last summer's gate counts"},
	}
}

// nasty is text with everything that a platform might parse.
const nasty = `<!channel> <!here> <@U2> @everyone #general *bold* _it_ ~no~ ` + "`code`" +
	` <https://evil.example|click> & &amp; > quote` + "\n• \u202etfel ot thgir\u202c 👩‍👩‍👧‍👦 é́́ "

// long is nasty text of exactly n characters that begins with lead.
func long(lead string, n int) string {
	runes := []rune(lead + " " + strings.Repeat(nasty, n/40+1))
	return string(runes[:n-1]) + "."
}

func hostileCast() cast {
	c := cast{
		brief: state.Brief{Title: long("T", flows.MaxTitle), Why: long("W", flows.MaxText), Outcome: long("O", flows.MaxText),
			OutOfBounds: long("B", flows.MaxText), Problem: long("P", flows.MaxText)},
		answer: long("Answer", flows.MaxText),
		method: long("M", flows.MaxTitle), learn: long("L", flows.MaxText), tests: 60,
		stopIf: long("S", flows.MaxText), buildIf: long("B", flows.MaxText),
	}
	for i := range 12 {
		zone := []string{"Europe/Lisbon", "Pacific/Auckland", "America/Los_Angeles", "Asia/Kolkata"}[i%4]
		c.people = append(c.people, state.Person{ID: state.UserID(fmt.Sprintf("U%d", i+1)), Name: long(fmt.Sprint("N", i), 80), Zone: zone})
	}
	for i := range 30 {
		c.brief.Links = append(c.brief.Links, long(fmt.Sprint("https://", i, ".example/"), 400))
		c.questions = append(c.questions, long(fmt.Sprint("Q", i), flows.MaxText))
		c.wordings = append(c.wordings, flows.AddWording{Level: i%5 - 2, Text: long(fmt.Sprint("V", i), flows.MaxText)})
		c.named = append(c.named, flows.NamePerson{Name: long(fmt.Sprint("X", i), flows.MaxTitle), Ring: state.Rings()[i%3]})
		c.reasons = append(c.reasons, long(fmt.Sprint("R", i), flows.MaxText))
		c.actions = append(c.actions, long(fmt.Sprint("D", i), flows.MaxText))
	}
	for i := range 12 {
		c.named = append(c.named, flows.NamePerson{User: state.UserID(fmt.Sprintf("U%d", i+1)), Ring: state.Rings()[i%3]})
	}
	for i := range 101 {
		c.assumptions = append(c.assumptions, flows.AddAssumption{Text: long(fmt.Sprint("H", i), flows.MaxText), Because: long("C", flows.MaxText)})
	}
	return c
}
