package rehearsal

import (
	"maps"
	"slices"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
)

// scenarioReading is one pass over one file. Sections are read in the order
// of their stages, whatever their order in the file, since later ones name
// the people, assumptions and tests of earlier ones.
type scenarioReading struct {
	file  string
	s     Scenario
	fault *ScenarioFault // the first one
}

// ParseScenario reads a scenario; name is how messages call the file. It is
// strict: an unknown key, person or assumption, a value out of range, or an
// answer in a stage in which its person is silent is refused with a
// *ScenarioFault that names line, path and what is allowed.
//
// Only title, starts, people and their zones have to be given. Left out,
// pace_days is 1; a person's name is their key; the problem is the title; a
// test takes 1 person-day, no lead time, no owner; an action is the lead's
// and due in 7 days; the check-in is on Wednesday; another time box has 2
// weeks.
func ParseScenario(name string, data []byte) (*Scenario, error) {
	root, fault := scenarioDocument(name, data)
	if fault != nil {
		return nil, fault
	}
	in := &scenarioReading{file: name}
	in.read(spot{in: in, node: root, line: max(root.Line, 1)})
	if in.fault != nil {
		return nil, in.fault
	}
	return &in.s, nil
}

func (in *scenarioReading) read(root spot) {
	top := root.needed("a mapping with at least title, starts and people").
		fields("title", "starts", "pace_days", "people", "brief", "framing", "roles", "assumptions",
			"ratings", "backlog", "timebox", "actions", "underway")
	in.s.Title = top.get("title").heading("the title of the kickoff")
	in.s.Starts = top.get("starts").instant()
	in.s.PaceDays = top.get("pace_days").whole("pace_days", 1, 10, 1)
	in.readPeople(top.get("people"))
	in.readBrief(top.get("brief"))
	in.readFraming(top.get("framing"))
	in.readRoles(top.get("roles"))
	in.readAssumptions(top.get("assumptions"))
	in.readRatings(top.get("ratings"))
	in.readBacklog(top.get("backlog"))
	in.readTimebox(top.get("timebox"))
	in.readActions(top.get("actions"))
	in.readUnderway(top.get("underway"))
}

// instant reads a moment in RFC 3339.
func (s spot) instant() time.Time {
	const allowed = "a date and time with its offset, such as 2027-03-01T09:00:00Z"
	if !s.needed(allowed).is(yaml.ScalarNode, allowed) {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, s.node.Value)
	if err != nil {
		s.wrong(allowed, "%s is not allowed", shownNode(s.node))
	}
	return t
}

// person reads the key of somebody who takes part.
func (s spot) person() string {
	key := s.needed("the key of a person").text()
	if _, known := s.in.s.Person(key); s.given() && !known {
		s.wrong(anyOf(s.in.personKeys()), "there is no person %s", shortQuote(key))
	}
	return key
}

// speaker reads the key of somebody who answers in stage.
func (s spot) speaker(stage string) string {
	key := s.person()
	s.mustNotBeSilent(key, stage)
	return key
}

func (s spot) mustNotBeSilent(key, stage string) {
	if p, ok := s.in.s.Person(key); ok && p.SilentIn(stage) {
		s.wrong("leave the answer out, or take "+stage+" out of people."+key+".silent", "%s is silent in %s", key, stage)
	}
}

func (in *scenarioReading) personKeys() []string {
	keys := make([]string, len(in.s.People))
	for i, p := range in.s.People {
		keys[i] = p.Key
	}
	return keys
}

// assumption reads the id of an assumption.
func (s spot) assumption() string {
	id := s.needed("the id of an assumption").text()
	if s.given() && !s.in.knowsAssumption(id) {
		s.wrong(anyOf(s.in.assumptionIDs()), "there is no assumption %s", shortQuote(id))
	}
	return id
}

func (in *scenarioReading) knowsAssumption(id string) bool {
	return slices.ContainsFunc(in.s.Assumptions, func(a ScenarioAssumption) bool { return a.ID == id })
}

func (in *scenarioReading) assumptionIDs() []string {
	ids := make([]string, len(in.s.Assumptions))
	for i, a := range in.s.Assumptions {
		ids[i] = a.ID
	}
	return ids
}

// perPerson reads a mapping from people to their answers in stage.
func perPerson[T any](s spot, stage string, read func(spot) T) map[string]T {
	out := map[string]T{}
	for _, e := range s.entries("a mapping of people to their answers") {
		out[e.key.speaker(stage)] = read(e.value)
	}
	return out
}

// perAssumption reads a mapping from assumptions to something.
func perAssumption[T any](s spot, read func(spot) T) map[string]T {
	out := map[string]T{}
	for _, e := range s.entries("a mapping of assumptions") {
		out[e.key.assumption()] = read(e.value)
	}
	return out
}

// weekdays are the names of the days, as checkin takes them.
func weekdays() map[string]time.Weekday {
	days := map[string]time.Weekday{}
	for d := time.Sunday; d <= time.Saturday; d++ {
		days[strings.ToLower(d.String())] = d
	}
	return days
}

// weekday reads the name of a day; left out it is Wednesday.
func (s spot) weekday() time.Weekday {
	days := weekdays()
	names := slices.SortedFunc(maps.Keys(days), func(a, b string) int { return int(days[a] - days[b]) })
	if name := s.choice("the day", names); name != "" {
		return days[name]
	}
	return time.Wednesday
}
