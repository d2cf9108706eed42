package scenario

import (
	"fmt"
	"slices"
	"time"
)

// AnyProblem is what people answer in a kickoff about a problem of which nothing
// is known beforehand: sentences that fit any problem, and ratings that leave
// something to be tested, something split and something known. They take part as they
// would in their own scenario, silent where they are silent there. Nothing in it
// says anything about the problem, and nobody writes a wording of it.
func AnyProblem(people People, starts time.Time) *Scenario {
	s := &Scenario{Title: "A problem of your own", Starts: starts, PaceDays: 1, People: people}
	s.Brief.Problem = s.Title
	for i, q := range anyQuestions {
		if by, ok := s.speaker("brief", 2*i); ok {
			s.Brief.Questions = append(s.Brief.Questions, Question{By: by, Ask: q})
		}
	}
	s.anyRoles()
	for i, a := range anyAssumptions {
		if by, ok := s.speaker("assumptions", i); ok {
			s.Assumptions = append(s.Assumptions, Assumption{ID: fmt.Sprintf("A%d", i+1), By: by, Text: a.text, Because: a.because})
		}
	}
	s.anyRatings()
	s.anyBacklog()
	s.anyTimebox()
	s.Actions = []Action{{What: "Find ten people who have this problem, and ask them for a conversation", Owner: people[1%len(people)].Key, DueDays: 3, DoneAt: 1}}
	s.anyDiscovery()
	return s
}

// speaker is the key of who speaks in a stage at some place in the round: not the lead,
// who has brought the problem, unless nobody else is there. The next one speaks for
// somebody who is silent.
func (s *Scenario) speaker(stage string, at int) (string, bool) {
	others := s.People[min(1, len(s.People)-1):]
	for i := range others {
		if p := others[(at+i)%len(others)]; !p.SilentIn(stage) {
			return p.Key, true
		}
	}
	return "", false
}

// each calls do for everybody who answers in a stage, with their place in the list.
func (s *Scenario) each(stage string, do func(i int, key string)) {
	for i, p := range s.People {
		if !p.SilentIn(stage) {
			do(i, p.Key)
		}
	}
}

var anyQuestions = []string{
	"Who has this problem, and how often?",
	"What happens if we leave it as it is for a year?",
}

// anyRings are where people see themselves, one after the other.
var anyRings = []string{"core", "core", "consulted", "core", "consulted", "informed"}

func (s *Scenario) anyRoles() {
	s.Framing.Votes = map[string]FramingVote{}
	levels := []int{0, 0, -1, 0, 1, -1}
	s.each("framing", func(i int, key string) {
		s.Framing.Votes[key] = FramingVote{Level: levels[i%len(levels)], Ticks: []int{0}}
	})
	s.Roles.Self, s.Roles.Days = map[string]string{}, map[string]float64{}
	s.each("roles", func(i int, key string) {
		ring := anyRings[i%len(anyRings)]
		s.Roles.Self[key] = ring
		if ring == "core" {
			s.Roles.Days[key] = 1 + float64(i%3)/2
		}
	})
	if by, ok := s.speaker("roles", 3); ok {
		s.Roles.Named = []Named{{By: by, Name: "Someone who has this problem", Ring: "consulted"}}
	}
}

// anyAssumptions are beliefs on which most discoveries rest, each with about where
// people see it on the two scales.
var anyAssumptions = []struct {
	text, because        string
	kind                 string
	importance, evidence int
}{
	{"People who have this problem would change what they do today to be rid of it.", "It bothers us. I have not asked any of them.", "desirability", 8, 2},
	{"It happens often enough that people remember the last time.", "I can think of three times, all this year.", "desirability", 7, 4},
	{"Whoever would have to pay for a solution sees the problem too.", "It was not in any plan that I have read.", "viability", 7, 3},
	{"We can make a first attempt with the people and the tools that we have.", "A small one, I think. I have not counted the days.", "feasibility", 6, 5},
	{"Somebody who meets a solution for the first time understands it without help.", "New things here usually need a note beside them.", "usability", 6, 2},
	{"No rule or contract forbids what we would have to do.", "Nobody has looked yet.", "viability", 7, 3},
	{"We can reach ten people who have this problem within two weeks.", "I know two of them.", "feasibility", 5, 6},
	{"Nobody else solves this well enough already.", "A short search found nothing that fits.", "viability", 5, 5},
	{"It will still be a problem in a year.", "It was one a year ago.", "desirability", 4, 7},
}

// opinion is the rating of one person around what most of them say: a step lower
// or higher for some.
func opinion(middle, person, about int) int {
	return min(max(middle+(person*3+about*2)%5/2-1, 1), 9)
}

func (s *Scenario) anyRatings() {
	const divided = 2 // the one on whose evidence they differ at first
	s.Ratings = Ratings{Round1: map[string]map[string]Pair{}, Round2: map[string]map[string]Pair{}}
	s.each("rating", func(i int, key string) {
		s.Ratings.Round1[key], s.Ratings.Round2[key] = map[string]Pair{}, map[string]Pair{}
		for n, a := range anyAssumptions {
			p := Pair{opinion(a.importance, i, n), opinion(a.evidence, i, n)}
			if n == divided {
				s.Ratings.Round2[key][fmt.Sprintf("A%d", n+1)] = p
				p.Evidence = []int{2, 8}[i%2]
			}
			if (i+n)%13 == 5 {
				p.Evidence = 0
			}
			s.Ratings.Round1[key][fmt.Sprintf("A%d", n+1)] = p
		}
	})
}

// anyTests are ways to find out that fit the beliefs above, with what they will find.
var anyTests = []struct {
	assumption, method, learn string
	mark                      Pass
	size, k                   int
	effort, lead              float64
	learnt                    string
}{
	{"A1", "Conversations with people who have the problem", "What they did the last time it happened, and what it cost them.", Pass{Share: 0.6}, 12, 10, 3, 2,
		"Most of them have tried something on their own already."},
	{"A3", "A written question to whoever would pay", "Whether they would give time or money for it.", Pass{Yes: true}, 0, 1, 0.5, 5, "They would, for a first attempt of a few weeks."},
	{"A5", "A sketch on paper, shown without a word", "What people think that it does.", Pass{Share: 0.8}, 12, 5, 1.5, 1, "Fewer than half could say what it was for."},
	{"A6", "A look at the rules with somebody who knows them", "What we must not do, and what has to be written down.", Pass{Yes: true}, 0, 1, 1, 3, "Nothing forbids it, as long as people are asked first."},
	{"A2", "A count of how often it happened in a month", "How often it happens, and to whom.", Pass{Share: 0.5}, 20, 13, 1, 0, "It comes in bursts: most of it within one week."},
}

func (s *Scenario) anyBacklog() {
	s.Backlog.Kinds = map[string]map[string]string{}
	for n, a := range anyAssumptions {
		votes := map[string]string{}
		s.each("backlog", func(i int, key string) {
			if (i+n)%3 == 0 {
				votes[key] = a.kind
			}
		})
		s.Backlog.Kinds[fmt.Sprintf("A%d", n+1)] = votes
	}
	core := s.keys(func(key string) bool { return s.Roles.Self[key] == "core" })
	if len(core) > 1 {
		core = core[1:] // the lead has enough to do
	}
	for n, t := range anyTests {
		by, ok := s.speaker("backlog", n)
		if !ok || len(core) == 0 {
			return
		}
		mark := t.mark
		s.Backlog.Tests = append(s.Backlog.Tests, Test{Assumption: t.assumption, By: by, Method: t.method, Learn: t.learn, Pass: &mark,
			EffortDays: t.effort, LeadDays: t.lead, Size: t.size, Owner: core[n%len(core)]})
	}
}

// keys are those of some people, in their order.
func (s *Scenario) keys(of func(key string) bool) []string {
	var out []string
	for _, p := range s.People {
		if of(p.Key) {
			out = append(out, p.Key)
		}
	}
	return out
}

func (s *Scenario) anyTimebox() {
	t := &Timebox{Votes: map[string]int{}, Worth: map[string]int{}, Cost: map[string]string{}, Checkin: time.Wednesday,
		StopIf: "Most people would rather live with it than change anything.", StopOn: "A1",
		BuildIf: "At least three in five would change what they do today.", BuildOn: "A1"}
	costs := []string{"quarter", "day", "quarter", "name"}
	s.each("timebox", func(i int, key string) {
		t.Votes[key], t.Worth[key], t.Cost[key] = 3+i%3, 4+i%4, costs[i%len(costs)]
	})
	s.Timebox = t
}

// anyDiscovery has the tests reported at two check-ins, and a decision after them.
func (s *Scenario) anyDiscovery() {
	u := &Underway{Decision: &Decision{Votes: map[string]string{}, Set: "build"}}
	for n := range 2 {
		c := Checkin{Evidence: map[string]map[string]int{}, Confidence: map[string]int{}}
		for i, t := range s.Backlog.Tests {
			found := anyTests[i]
			if i%2 != n {
				continue
			}
			c.Results = append(c.Results, Result{Test: i + 1, K: found.k, N: found.size, Yes: found.mark.Yes, Learnt: found.learnt})
			for _, key := range s.keys(func(key string) bool { return s.Roles.Self[key] == "core" }) {
				if p, _ := s.Person(key); p.SilentIn("underway") {
					continue
				}
				if c.Evidence[key] == nil {
					c.Evidence[key] = map[string]int{}
				}
				c.Evidence[key][t.Assumption], c.Confidence[key] = 7+n, 5+n
			}
		}
		u.Checkins = append(u.Checkins, c)
	}
	s.each("underway", func(i int, key string) {
		u.Decision.Votes[key] = "build"
		if slices.Contains([]int{5, 9}, i) {
			u.Decision.Votes[key] = "another"
		}
	})
	s.Underway = u
}
