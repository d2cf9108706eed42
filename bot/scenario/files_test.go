package scenario

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

// Every scenario survives the way into a Scenario and back: nothing that a
// file says is lost, and what is written out reads the same.
func TestScenarioFilesRoundTrip(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(scenarios, "*.yaml"))
	require.NoError(t, err, "no files to test")
	require.NotEmpty(t, files, "no files to test")
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			s := mustParse(t, filepath.Base(file))
			out, err := yaml.Marshal(written(s))
			require.NoError(t, err)
			again, err := Parse("again.yaml", out)
			require.NoError(t, err, "what was written out")
			assert.Equal(t, again, s, "read again:\n got %+v\nwant", again)
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, lost := range lostLeaves("", rawYAML(t, data), rawYAML(t, out)) {
				t.Error(lost)
			}
		})
	}
}

func rawYAML(t *testing.T, data []byte) any {
	t.Helper()
	var v any
	require.NoError(t, yaml.Unmarshal(data, &v))
	return v
}

// lostLeaves lists the values in want that got does not have in their place.
func lostLeaves(path string, want, got any) []string {
	var lost []string
	switch want := want.(type) {
	case map[string]any:
		g, _ := got.(map[string]any)
		for k, v := range want {
			lost = append(lost, lostLeaves(path+"."+k, v, g[k])...)
		}
	case []any:
		g, _ := got.([]any)
		for i, v := range want {
			if i >= len(g) {
				return append(lost, fmt.Sprintf("%s[%d] is lost", path, i+1))
			}
			lost = append(lost, lostLeaves(fmt.Sprintf("%s[%d]", path, i+1), v, g[i])...)
		}
	default:
		if fmt.Sprint(want) != fmt.Sprint(got) {
			lost = append(lost, fmt.Sprintf("%s: got %v, want %v", path, got, want))
		}
	}
	return lost
}

type fieldsOut = map[string]any

// written lays a scenario out as its file format does.
func written(s *Scenario) *yaml.Node {
	top := fieldsOut{"title": s.Title, "starts": s.Starts, "pace_days": s.PaceDays, "leave_out": s.LeaveOut, "without_lead": s.WithoutLead, "brief": writtenBrief(s.Brief),
		"framing": writtenFraming(s.Framing), "roles": writtenRoles(s.Roles), "backlog": writtenBacklog(s.Backlog),
		"ratings": leaveOut(s.Ratings.Because == nil, "because", fieldsOut{"round1": writtenBallots(s.Ratings.Round1),
			"round2": writtenBallots(s.Ratings.Round2), "because": s.Ratings.Because}),
		"assumptions": eachWritten(s.Assumptions, writtenAssumption),
		"actions": eachWritten(s.Actions, func(a Action) any {
			return fieldsOut{"what": a.What, "owner": a.Owner, "due_days": a.DueDays, "done_at": a.DoneAt}
		})}
	if b := s.Timebox; b != nil {
		top["timebox"] = leaveOut(b.StopOn == "", "stop_on", leaveOut(b.BuildOn == "", "build_on", leaveOut(b.Set == 0, "set", fieldsOut{"stop_on": b.StopOn, "build_on": b.BuildOn, "votes": b.Votes, "worth": b.Worth, "cost": b.Cost, "set": b.Set,
			"checkin": strings.ToLower(b.Checkin.String()), "stop_if": b.StopIf, "build_if": b.BuildIf})))
	}
	if len(s.Tidy) > 0 {
		top["tidy"] = eachWritten(s.Tidy, func(x Tidied) any {
			return leaveOut(x.Join == "", "join", fieldsOut{"assumption": x.Assumption, "text": x.Text, "join": x.Join, "word": x.Word, "answer": x.Answer})
		})
	}
	if s.Deal != nil {
		top["deal"] = fieldsOut{"each": s.Deal.Each, "second": s.Deal.Second}
	}
	if s.Underway != nil {
		top["underway"] = writtenUnderway(s.Underway)
	}
	var n yaml.Node
	if err := n.Encode(top); err != nil {
		panic(err)
	}
	n.Content = append(n.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: "people"}, writtenPeople(s.People))
	return &n
}

// writtenPeople keeps the order, which a Go map would lose.
func writtenPeople(people []Person) *yaml.Node {
	out := &yaml.Node{Kind: yaml.MappingNode}
	for _, p := range people {
		var v yaml.Node
		if err := v.Encode(fieldsOut{"name": p.Name, "zone": p.Zone, "silent": p.Silent}); err != nil {
			panic(err)
		}
		out.Content = append(out.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: p.Key}, &v)
	}
	return out
}

func writtenBrief(b Brief) any {
	return fieldsOut{"why": b.Why, "outcome": b.Outcome, "out_of_bounds": b.OutOfBounds, "problem": b.Problem, "links": b.Links,
		"questions": eachWritten(b.Questions, func(q Question) any { return fieldsOut{"by": q.By, "ask": q.Ask, "answer": q.Answer} })}
}

func writtenFraming(f Framing) any {
	votes := fieldsOut{}
	for person, v := range f.Votes {
		votes[person] = fieldsOut{"level": v.Level, "ticks": eachWritten(v.Ticks, func(n int) any {
			if n == 0 {
				return "original"
			}
			return n
		})}
	}
	return fieldsOut{"votes": votes, "wordings": eachWritten(f.Wordings, func(w Wording) any {
		return fieldsOut{"by": w.By, "level": w.Level, "text": w.Text}
	})}
}

func writtenRoles(r Roles) any {
	return fieldsOut{"self": r.Self, "days": r.Days, "settled": r.Settled,
		"named": eachWritten(r.Named, func(n Named) any { return fieldsOut{"by": n.By, "name": n.Name, "ring": n.Ring} })}
}

func writtenBallots(ballots map[string]map[string]Pair) any {
	half := func(v int) any {
		if v == 0 {
			return nil
		}
		return v
	}
	out := map[string]map[string]any{}
	for person, ballot := range ballots {
		out[person] = map[string]any{}
		for id, r := range ballot {
			out[person][id] = []any{half(r.Importance), half(r.Evidence)}
		}
	}
	return out
}

func writtenBacklog(b Backlog) any {
	return fieldsOut{"kinds": b.Kinds, "tests": eachWritten(b.Tests, writtenTest)}
}

func writtenTest(t Test) any {
	out := leaveOut(t.Size == 0, "size", fieldsOut{"assumption": t.Assumption, "by": t.By, "method": t.Method, "learn": t.Learn,
		"effort_days": t.EffortDays, "lead_days": t.LeadDays, "owner": t.Owner, "size": t.Size, "census": t.Census, "care": t.Care, "expects": t.Expects})
	if t.Pass != nil {
		out["pass"] = writtenPass(*t.Pass)
	}
	return leaveOut(t.Owner == "", "owner", out)
}

func writtenAssumption(a Assumption) any {
	return fieldsOut{"id": a.ID, "by": a.By, "text": a.Text, "because": a.Because}
}

func writtenUnderway(u *Underway) any {
	out := fieldsOut{"checkins": eachWritten(u.Checkins, func(c Checkin) any {
		return fieldsOut{"evidence": c.Evidence, "confidence": c.Confidence,
			"results": eachWritten(c.Results, writtenResult), "ratings": writtenBallots(c.Ratings), "assumptions": eachWritten(c.Assumptions, writtenAssumption), "tests": eachWritten(c.Tests, writtenTest),
			"drops": eachWritten(c.Drops, func(d Drop) any { return fieldsOut{"test": d.Test, "by": d.By, "why": d.Why} })}
	})}
	if u.Then != nil {
		out["then"] = writtenUnderway(u.Then)
	}
	if d := u.Decision; d != nil {
		out["decision"] = leaveOut(d.Weeks == 0, "weeks", fieldsOut{"votes": d.Votes, "set": d.Set, "why": d.Why, "weeks": d.Weeks})
	}
	return out
}

func writtenResult(r Result) any {
	out := fieldsOut{"test": r.Test, "learnt": r.Learnt, "surprise": r.Surprise, "quote": r.Quote, "link": r.Link, "why": r.Why}
	switch {
	case r.N > 0:
		out["k"], out["n"] = r.K, r.N
	case r.Figure != 0:
		out["figure"] = r.Figure
	default:
		out["yes"] = r.Yes
	}
	return out
}

func writtenPass(p Pass) any {
	switch {
	case p.Yes:
		return fieldsOut{"yes": true}
	case p.Unit != "" && p.AtMost:
		return fieldsOut{"at_most": p.At, "unit": p.Unit}
	case p.Unit != "":
		return fieldsOut{"at_least": p.At, "unit": p.Unit}
	}
	return fieldsOut{"share": p.Share}
}

func eachWritten[T any](in []T, write func(T) any) []any {
	out := make([]any, len(in))
	for i, v := range in {
		out[i] = write(v)
	}
	return out
}

// leaveOut leaves a key out when there is nothing to say.
func leaveOut(nothing bool, key string, m fieldsOut) fieldsOut {
	if nothing {
		delete(m, key)
	}
	return m
}

// The demo has to keep showing what its comments promise.
func TestFerryScenarioKeepsItsPromises(t *testing.T) {
	s := mustParse(t, "ferry.yaml")
	offsets, halves, changes := map[int]bool{}, 0, 0
	end := s.Starts.AddDate(0, 0, 15)
	for _, p := range s.People {
		zone, err := time.LoadLocation(p.Zone)
		require.NoError(t, err)
		_, before := s.Starts.In(zone).Zone()
		_, after := end.In(zone).Zone()
		offsets[before] = true
		if before%3600 != 0 {
			halves++
		}
		if before != after {
			changes++
		}
	}
	kinds, ties := kindsVoted(s)
	open, answered, silent := 0, 0, 0
	for _, q := range s.Brief.Questions {
		if q.Answer == "" {
			open++
		} else {
			answered++
		}
	}
	for _, p := range s.People {
		if len(p.Silent) > 0 {
			silent++
		}
	}
	for _, c := range []struct {
		what           string
		got, low, high int
	}{
		{"people", len(s.People), 12, 12},
		{"UTC offsets", len(offsets), 7, 12},
		{"half-hour zones", halves, 1, 12},
		{"clocks that change during the kickoff", changes, 1, 12},
		{"assumptions", len(s.Assumptions), 18, 18},
		{"kinds of risk", len(kinds), 4, 4},
		{"ties between kinds", ties, 1, 18},
		{"open questions", open, 1, 9},
		{"answered questions", answered, 1, 9},
		{"silent people", silent, 2, 2},
		{"tests", len(s.Backlog.Tests), 7, 7},
		{"check-ins before the early end", len(s.Underway.Checkins), 2, s.Timebox.Set - 1},
	} {
		assert.GreaterOrEqual(t, c.got, c.low, "%s: got %d, want %d to", c.what, c.got, c.low)
		assert.LessOrEqual(t, c.got, c.high, "%s: got %d, want %d to", c.what, c.got, c.low)
	}
}

// kindsVoted collects the kinds of risk and counts the tied votes.
func kindsVoted(s *Scenario) (kinds map[string]bool, ties int) {
	kinds = map[string]bool{}
	for _, votes := range s.Backlog.Kinds {
		counts := map[string]int{}
		for _, kind := range votes {
			kinds[kind] = true
			counts[kind]++
		}
		var most []int
		for _, n := range counts {
			most = append(most, n)
		}
		slices.Sort(most)
		if n := len(most); n > 1 && most[n-1] == most[n-2] {
			ties++
		}
	}
	return kinds, ties
}

func TestHostileScenarioIsHostile(t *testing.T) {
	s := mustParse(t, "hostile.yaml")
	n := utf8.RuneCountInString(s.Assumptions[4].Text)
	assert.Equal(t, formRunes, n, "the long assumption has %d characters", n)
	data, err := yaml.Marshal(written(s))
	require.NoError(t, err)
	var all strings.Builder
	collectTexts(rawYAML(t, data), &all)
	for _, token := range []string{"<!channel>", "<!here>", "<@U123>", "<https://x.example|label>", "@everyone", "\u202E", "\u200B",
		"\u200D", "\u2028", "{{.}}", "${x}", "|---|", "```", "\n\n", "<script>", "&amp;", "\t"} {
		assert.Contains(t, all.String(), token, "is missing")
	}
	for _, lead := range []string{"=", "+", "-", "@"} {
		assert.True(t, slices.ContainsFunc(s.Assumptions, func(a Assumption) bool { return strings.HasPrefix(a.Text, lead) }), "no assumption begins with %q, which a spreadsheet would run", lead)
	}
}

func collectTexts(v any, into *strings.Builder) {
	switch v := v.(type) {
	case map[string]any:
		for _, e := range v {
			collectTexts(e, into)
		}
	case []any:
		for _, e := range v {
			collectTexts(e, into)
		}
	case string:
		into.WriteString(v)
	}
}

func TestBuiltInScenarioIsTheFerry(t *testing.T) {
	want, err := os.ReadFile(filepath.Join(scenarios, "ferry.yaml"))
	require.NoError(t, err)
	assert.Equal(t, string(want), string(ferry), "copy testdata/scenarios/ferry.yaml to bot/scenario")
	_, err = Ferry()
	assert.NoError(t, err)
}
