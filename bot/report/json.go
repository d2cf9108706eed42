package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// The JSON of a kickoff, for programs. Fields may be added, never renamed.
type kickoffJSON struct {
	Title     string         `json:"title"`
	Problem   string         `json:"problem"`
	Level     levelJSON      `json:"level"`
	Ladder    []wordingJSON  `json:"ladder"`
	Roles     rolesJSON      `json:"roles"`
	Score     *engine.Result `json:"score"`
	Rounds    [][]string     `json:"rounds"`
	Backlog   []backlogJSON  `json:"backlog"`
	Timebox   timeboxJSON    `json:"timebox"`
	Actions   []actionJSON   `json:"actions"`
	Questions []questionJSON `json:"questions"`
	Underway  underwayJSON   `json:"underway"`
	Thin      []string       `json:"thin_stages"` // stages that closed below quorum
	LeadWords []leadWordJSON `json:"lead_words"`
	Changes   []changeJSON   `json:"changed_since_posting"` // parts of the summary
}

type levelJSON struct {
	Median   engine.Figure `json:"median"`
	IQR      engine.Figure `json:"iqr"`
	Settled  *int          `json:"settled"`
	HalfStep bool          `json:"half_step"`
	Votes    int           `json:"votes"`
}

type wordingJSON struct {
	Level    int    `json:"level"`
	Text     string `json:"text"`
	By       string `json:"by,omitempty"`
	Ticks    int    `json:"ticks"`
	Original bool   `json:"original"`
	Drafted  bool   `json:"drafted"`        // by a machine, and not changed since
	Began    bool   `json:"began_as_draft"` // by a machine, changed since or not
}

type rolesJSON struct {
	Core      []string           `json:"core"`
	Consulted []string           `json:"consulted"`
	Informed  []string           `json:"informed"`
	Unplaced  []string           `json:"unplaced"`
	Missing   []missingJSON      `json:"missing"`
	Days      map[string]float64 `json:"days"`
}

type missingJSON struct {
	Name string `json:"name"`
	Ring string `json:"ring"`
}

type backlogJSON struct {
	Assumption string     `json:"assumption"`
	Statement  string     `json:"statement"`
	Zone       string     `json:"zone"`
	Kind       string     `json:"kind"` // ties stand side by side, with a slash
	Tests      []testJSON `json:"tests"`
}

type testJSON struct {
	N          int      `json:"n"`
	Method     string   `json:"method"`
	Learn      string   `json:"learn"`
	PassMark   *float64 `json:"pass_mark"`
	EffortDays float64  `json:"effort_days"`
	LeadDays   float64  `json:"lead_days"`
	Owner      string   `json:"owner"`
	Size       *int     `json:"size"`
}

type timeboxJSON struct {
	ProposedWeeks int       `json:"proposed_weeks"`
	Why           string    `json:"why"`
	Votes         votesJSON `json:"votes"`
	Weeks         int       `json:"weeks"`
	Starts        string    `json:"starts"`
	Ends          string    `json:"ends"`
	Checkin       string    `json:"checkin"`
	StopIf        string    `json:"stop_if"`
	BuildIf       string    `json:"build_if"`
}

type votesJSON struct {
	Median engine.Figure `json:"median"`
	IQR    engine.Figure `json:"iqr"`
	N      int           `json:"n"`
}

type actionJSON struct {
	What  string `json:"what"`
	Owner string `json:"owner"`
	Due   string `json:"due"`
}

type questionJSON struct {
	Ask    string `json:"ask"`
	By     string `json:"by"`
	Answer string `json:"answer"`
	Open   bool   `json:"open"`
}

type underwayJSON struct {
	Checkins []checkinJSON `json:"checkins"`
	Decision *decisionJSON `json:"decision"`
}

type checkinJSON struct {
	N          int          `json:"n"`
	Opened     string       `json:"opened"`
	Results    []resultJSON `json:"results"`
	Moved      []movedJSON  `json:"moved"`
	Confidence votesJSON    `json:"confidence"`
}

type resultJSON struct {
	Test       int    `json:"test"`
	Assumption string `json:"assumption"`
	Method     string `json:"method"`
	K          int    `json:"k"`
	N          int    `json:"n"`
	Verdict    string `json:"verdict"`
}

type movedJSON struct {
	Assumption string        `json:"assumption"`
	From       engine.Figure `json:"from"`
	To         engine.Figure `json:"to"`
	Zone       string        `json:"zone"`
}

type decisionJSON struct {
	Choice string         `json:"choice"`
	Weeks  int            `json:"weeks,omitempty"`
	Votes  map[string]int `json:"votes"`
	Early  bool           `json:"early"`
	At     string         `json:"at"`
}

func kickoffFile(k flows.Kickoff) (File, error) {
	out := kickoffJSON{
		Title: k.Brief.Title, Problem: k.Problem(), Level: levelOf(k), Ladder: ladderOf(k), Roles: rolesOf(k),
		Score: k.Map(), Rounds: roundsOf(k), Backlog: backlogOf(k), Timebox: timeboxOf(k), Actions: actionsOf(k),
		Questions: questionsOf(k), Underway: underwayOf(k), Thin: thinStages(k),
		LeadWords: leadWordsOf(k), Changes: changesSince(k),
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(out); err != nil {
		return File{}, err
	}
	return File{Name: "kickoff.json", Title: "The kickoff, for programs", Data: b.Bytes()}, nil
}

func levelOf(k flows.Kickoff) levelJSON {
	l := k.Framing.Level
	out := levelJSON{Median: l.Median, IQR: l.IQR, HalfStep: l.HalfStep, Votes: l.N}
	if l.N == 0 {
		out.Median, out.IQR = engine.Undefined(), engine.Undefined()
	}
	if k.Framing.Settled {
		at := k.Framing.AtLevel
		out.Settled = &at
	}
	return out
}

// ladderOf lists the wordings from broad to narrow, the original among them.
func ladderOf(k flows.Kickoff) []wordingJSON {
	ticks := k.Framing.Ticks()
	out := []wordingJSON{}
	for _, n := range words.Rungs(k) {
		w := wordingJSON{Level: k.Framing.LevelOf(n), Text: k.WordingText(n), Ticks: ticks[n], Original: n == flows.Original}
		if n != flows.Original {
			from := k.Framing.Wordings[n-1]
			w.By, w.Drafted, w.Began = k.Name(from.By), from.Drafted, from.Began
		}
		out = append(out, w)
	}
	return out
}

func rolesOf(k flows.Kickoff) rolesJSON {
	out := rolesJSON{Core: []string{}, Consulted: []string{}, Informed: []string{}, Unplaced: []string{},
		Missing: []missingJSON{}, Days: map[string]float64{}}
	for _, u := range k.Participants() {
		switch name := k.Name(u); k.RingOf(u) {
		case flows.Core:
			out.Core = append(out.Core, name)
			out.Days[name] = k.DaysOf(u)
		case flows.Consulted:
			out.Consulted = append(out.Consulted, name)
		case flows.Informed:
			out.Informed = append(out.Informed, name)
		default:
			out.Unplaced = append(out.Unplaced, name)
		}
	}
	for _, m := range k.Missing() {
		name := m.Name
		if m.User != "" {
			name = k.Name(m.User)
		}
		out.Missing = append(out.Missing, missingJSON{Name: name, Ring: string(m.Ring)})
	}
	return out
}

func roundsOf(k flows.Kickoff) [][]string {
	out := [][]string{}
	for _, r := range k.Rounds {
		out = append(out, r.IDs)
	}
	return out
}

func backlogOf(k flows.Kickoff) []backlogJSON {
	out := []backlogJSON{}
	for _, id := range k.Order() {
		a, _ := k.Assumption(id)
		b := backlogJSON{Assumption: id, Statement: a.Text, Kind: words.KindText(k, id), Tests: []testJSON{}}
		if s, ok := k.Scored(id); ok {
			b.Zone = string(s.Zone)
		}
		for _, t := range k.TestsOf(id) {
			b.Tests = append(b.Tests, testOf(k, t))
		}
		out = append(out, b)
	}
	return out
}

func testOf(k flows.Kickoff, t flows.Test) testJSON {
	out := testJSON{N: t.N, Method: t.Method, Learn: t.Learn, EffortDays: t.EffortDays, LeadDays: t.LeadDays}
	if t.PassShare > 0 {
		out.PassMark = &t.PassShare
	}
	if t.Size > 0 {
		out.Size = &t.Size
	}
	if t.Owner != "" {
		out.Owner = k.Name(t.Owner)
	}
	return out
}

func timeboxOf(k flows.Kickoff) timeboxJSON {
	t := k.Timebox
	out := timeboxJSON{ProposedWeeks: t.Proposal.Weeks, Why: t.Proposal.Why, Weeks: t.Weeks, StopIf: t.StopIf, BuildIf: t.BuildIf,
		Votes: votesJSON{Median: engine.Undefined(), IQR: engine.Undefined(), N: len(t.Votes)}}
	if len(t.Votes) > 0 {
		out.Votes.Median, out.Votes.IQR = t.Median, t.IQR
	}
	if t.Weeks > 0 {
		out.Checkin = strings.ToLower(t.Checkin.String())
	}
	if !t.Starts.IsZero() {
		out.Starts, out.Ends = leadDay(k, t.Starts), leadDay(k, t.Ends)
	}
	return out
}

// leadDay is a date where the lead is, since a file has no reader's zone.
func leadDay(k flows.Kickoff, t time.Time) string {
	return t.In(k.Lead().Hours().Zone).Format(time.DateOnly)
}

func actionsOf(k flows.Kickoff) []actionJSON {
	out := []actionJSON{}
	for _, a := range k.StandingActions() {
		out = append(out, actionJSON{What: a.What, Owner: k.Name(a.Owner), Due: string(a.Due)})
	}
	return out
}

func questionsOf(k flows.Kickoff) []questionJSON {
	out := []questionJSON{}
	for _, q := range k.Brief.Questions {
		out = append(out, questionJSON{Ask: q.Ask, By: k.Name(q.By), Answer: q.Answer, Open: q.Answer == ""})
	}
	return out
}

func underwayOf(k flows.Kickoff) underwayJSON {
	out := underwayJSON{Checkins: []checkinJSON{}}
	for _, c := range k.Underway.Checkins {
		out.Checkins = append(out.Checkins, checkinOf(k, c))
	}
	d := k.Underway.Decision
	if d.Set == "" && len(d.Earlier) > 0 {
		d = d.Earlier[len(d.Earlier)-1]
	}
	if d.Set != "" {
		out.Decision = &decisionJSON{Choice: string(d.Set), Weeks: d.Weeks, Early: d.Early, At: leadDay(k, d.At), Votes: map[string]int{}}
		for _, v := range d.Votes {
			out.Decision.Votes[string(v.Choice)]++
		}
	}
	return out
}

func checkinOf(k flows.Kickoff, c flows.Checkin) checkinJSON {
	out := checkinJSON{N: c.N, Opened: leadDay(k, c.Opened), Results: []resultJSON{}, Moved: []movedJSON{}}
	for _, r := range c.Results {
		t, _ := k.Test(r.Test)
		out.Results = append(out.Results, resultJSON{Test: r.Test, Assumption: t.Assumption, Method: t.Method, K: r.K, N: r.N,
			Verdict: string(engine.Judge(r.K, r.N, t.PassShare).Verdict)})
	}
	for _, m := range c.Moved {
		out.Moved = append(out.Moved, movedJSON{Assumption: m.Assumption, From: m.From, To: m.To, Zone: string(m.ZoneTo)})
	}
	median, iqr := c.ConfidenceSpread()
	out.Confidence = votesJSON{Median: median, IQR: iqr, N: len(c.Confidence)}
	return out
}

func thinStages(k flows.Kickoff) []string {
	out := []string{}
	for _, w := range append(k.Past[:len(k.Past):len(k.Past)], k.Window) {
		if w.Thin {
			out = append(out, flows.StageArg(w.Stage, w.Round))
		}
	}
	return out
}

type leadWordJSON struct {
	Part string `json:"part"`
	Text string `json:"text"`
	By   string `json:"by"`
}

type changeJSON struct {
	Part string `json:"part"`
	By   string `json:"by"`
	On   string `json:"on"` // a date where the lead is
}

func leadWordsOf(k flows.Kickoff) []leadWordJSON {
	out := []leadWordJSON{}
	for _, part := range flows.Parts() {
		if w, said := k.Summary.Words[part]; said {
			out = append(out, leadWordJSON{Part: part, Text: w.Text, By: k.Name(w.By)})
		}
	}
	return out
}

func changesSince(k flows.Kickoff) []changeJSON {
	out := []changeJSON{}
	for _, part := range flows.Parts() {
		if c, changed := k.Summary.Changed[part]; changed {
			out = append(out, changeJSON{Part: part, By: k.Name(c.By), On: leadDay(k, c.At)})
		}
	}
	return out
}
