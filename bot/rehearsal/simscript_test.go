package rehearsal

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/scenario"
)

// A simScript is a random kickoff: what people answer, what the lead does with
// it, and how far it is played.
type simScript struct {
	*scenario.Scenario
	until string    // the stage at whose beginning it ends; empty for the last scene
	acts  []leadAct // beside what the scenario says
}

// A leadAct is what the lead does some time after a stage has begun.
type leadAct struct {
	stage  string
	after  time.Duration
	action string
	fields []field
}

var simZones = []string{"Europe/Lisbon", "Asia/Kolkata", "America/New_York", "Pacific/Auckland", "Europe/Rome", "America/Sao_Paulo"}

// randomScript writes a kickoff down. Most are small, so that many can be played.
func randomScript(seed uint64) *simScript {
	r := rand.New(rand.NewPCG(seed, 1))
	s := &scenario.Scenario{Title: "Simulated", Starts: time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC).Add(time.Duration(r.IntN(7*24)) * time.Hour), PaceDays: 1 + r.IntN(2)}
	s.Brief = scenario.Brief{Problem: "Nobody can tell beforehand whether there is room.", Why: "The season begins."}
	people := 1 + r.IntN(4)
	if r.IntN(30) == 0 {
		people = 5 + r.IntN([]int{6, 6, 6, 26}[r.IntN(4)])
	}
	for i := range people {
		p := scenario.Person{Key: fmt.Sprintf("p%d", i), Name: fmt.Sprintf("Person %d", i), Zone: simZones[r.IntN(len(simZones))]}
		for _, stage := range scenario.Stages {
			if r.IntN(8) == 0 && (i > 0 || stage != "close") {
				p.Silent = append(p.Silent, stage)
			}
		}
		s.People = append(s.People, p)
	}
	w := &scriptWriter{r, s}
	w.earlyStages()
	w.lateStages()
	out := &simScript{Scenario: s}
	// Seldom to its end: what is drawn of ratings costs more than all else.
	ends := []string{"roles", "roles", "roles", "assumptions", "assumptions", "assumptions", "assumptions", "rating", "rating", "backlog",
		[]string{"timebox", "close", ""}[r.IntN(3)]}
	if out.until = ends[r.IntN(len(ends))]; people > 4 {
		out.until = ends[r.IntN(9)]
	}
	out.acts = w.leadActs()
	return out
}

// A scriptWriter writes down what people answer, stage by stage.
type scriptWriter struct {
	*rand.Rand
	s *scenario.Scenario
}

// one is somebody who answers in a stage, if there is anybody.
func (w *scriptWriter) one(stage string) (key string, ok bool) {
	all := w.some(stage, 1)
	if len(all) == 0 {
		return "", false
	}
	return all[w.IntN(len(all))], true
}

// some are those who answer in a stage, each with a chance of share.
func (w *scriptWriter) some(stage string, share float64) (keys []string) {
	for _, p := range w.s.People {
		if !p.SilentIn(stage) && w.Float64() < share {
			keys = append(keys, p.Key)
		}
	}
	return keys
}

func (w *scriptWriter) earlyStages() {
	s := w.s
	for n := range w.IntN(3) {
		if by, ok := w.one("brief"); ok {
			q := scenario.Question{By: by, Ask: fmt.Sprintf("Does question %d count?", n)}
			if w.IntN(2) == 0 {
				q.Answer = fmt.Sprintf("Answer %d.", n)
			}
			s.Brief.Questions = append(s.Brief.Questions, q)
		}
	}
	for n := range w.IntN(4) {
		if by, ok := w.one("framing"); ok {
			s.Framing.Wordings = append(s.Framing.Wordings, scenario.Wording{By: by, Level: w.IntN(5) - 2, Text: fmt.Sprintf("Wording %d says it in its own way.", n)})
		}
	}
	s.Framing.Votes = map[string]scenario.FramingVote{}
	for _, key := range w.some("framing", 0.8) {
		s.Framing.Votes[key] = scenario.FramingVote{Level: w.IntN(5) - 2, Ticks: []int{w.IntN(len(s.Framing.Wordings) + 1)}}
	}
	rings := []string{"core", "core", "consulted", "informed"}
	s.Roles.Self = map[string]string{}
	for _, key := range w.some("roles", 0.8) {
		s.Roles.Self[key] = rings[w.IntN(len(rings))]
	}
	if by, ok := w.one("roles"); ok && w.IntN(2) == 0 {
		s.Roles.Named = append(s.Roles.Named, scenario.Named{By: by, Name: "The harbour office", Ring: rings[w.IntN(len(rings))]})
	}
}

// beliefs are unlike each other: near-duplicates ask for a second look.
var beliefs = []string{"Passengers look at a screen before they leave home.", "Deckhands count bicycles faster than any camera.",
	"The harbour lends its mast to us for free.", "Rain keeps most cyclists away from the pier.", "Tickets sell out before seven in summer."}

func (w *scriptWriter) lateStages() {
	s := w.s
	for n := range w.IntN(len(beliefs) + 1) {
		if by, ok := w.one("assumptions"); ok {
			s.Assumptions = append(s.Assumptions, scenario.Assumption{ID: fmt.Sprintf("A%d", n+1), By: by, Text: beliefs[n], Because: "A hunch."})
		}
	}
	s.Ratings.Round1, s.Ratings.Round2 = w.ballots(0.85), w.ballots(0.5)
	for n := range w.IntN(3) {
		by, ok := w.one("backlog")
		if !ok || len(s.Assumptions) == 0 {
			break
		}
		owner := s.People[w.IntN(len(s.People))].Key
		s.Backlog.Tests = append(s.Backlog.Tests, scenario.Test{Assumption: s.Assumptions[w.IntN(len(s.Assumptions))].ID, By: by,
			Method: fmt.Sprintf("Counting by method %d", n), EffortDays: float64(1 + w.IntN(4)), Owner: owner, Pass: &scenario.Pass{Share: 0.5}, Size: 10})
	}
	if w.IntN(2) == 0 {
		s.Timebox = &scenario.Timebox{Votes: map[string]int{}, Set: 1 + w.IntN(3), Checkin: time.Wednesday, StopIf: "Nobody looks.", BuildIf: "Many look."}
		for _, key := range w.some("timebox", 0.8) {
			s.Timebox.Votes[key] = 1 + w.IntN(6)
		}
	}
	for n := range w.IntN(3) {
		s.Actions = append(s.Actions, scenario.Action{What: fmt.Sprintf("Action %d is done.", n), Owner: s.People[0].Key, DueDays: 7})
	}
	if w.IntN(2) == 0 {
		d := &scenario.Decision{Votes: map[string]string{}, Set: "build"}
		for _, key := range w.some("underway", 0.8) {
			d.Votes[key] = []string{"build", "stop"}[w.IntN(2)]
		}
		s.Underway = &scenario.Underway{Decision: d}
	}
}

func (w *scriptWriter) ballots(share float64) map[string]map[string]scenario.Pair {
	all := map[string]map[string]scenario.Pair{}
	for _, key := range w.some("rating", share) {
		ballot := map[string]scenario.Pair{}
		for _, a := range w.s.Assumptions {
			if w.IntN(8) > 0 {
				ballot[a.ID] = scenario.Pair{Importance: w.IntN(10), Evidence: w.IntN(10)}
			}
		}
		all[key] = ballot
	}
	return all
}

// leadActs are what a lead may do to a stage.
func (w *scriptWriter) leadActs() (acts []leadAct) {
	for _, stage := range scenario.Stages[:7] {
		if w.IntN(6) > 0 {
			continue
		}
		act := leadAct{stage: stage, after: time.Duration(w.IntN(8))*time.Hour + 4*time.Minute + 11*time.Second}
		switch w.IntN(5) {
		case 0:
			act.action, act.fields = "open/lead.missing", []field{}
		case 1:
			act.action = "do/lead.reopen"
		case 2:
			act.action, act.fields = "open/lead.steps", []field{{"steps", blockkit.Value{Options: []string{"framing", "assumptions", "backlog", "timebox"}}}}
		case 3:
			act.action, act.fields = "open/lead.extend", []field{chosen("days", "1")}
		case 4:
			act.action = "do/me.mute"
		}
		acts = append(acts, act)
	}
	return slices.Clip(acts)
}

// races reports whether it depends on minutes what comes of the script: the
// lead ends or takes back a stage while others may be about to answer.
func (s *simScript) races() bool {
	return slices.ContainsFunc(s.acts, func(a leadAct) bool { return a.action != "do/me.mute" && a.action != "open/lead.extend" })
}
