package report

import (
	"maps"
	"strings"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/views"
)

// factsOf gathers what a kickoff holds, once for all files.
func factsOf(k state.Kickoff) facts {
	b := k.Brief
	_, at := passed(k)
	f := facts{
		Format: 1, ID: k.ID, Exported: at.UTC().Truncate(time.Second),
		Title: typed(b.Title), Problem: typed(k.Problem()), Level: levelOf(k), Ladder: each(words.Rungs(k), func(n int) wording { return wordingOf(k, n) }),
		Roles: rolesOf(k), Score: shownMap(k), Rounds: each(k.Rounds, func(r state.Round) []string { return r.IDs }),
		Backlog: each(k.Order(), func(id string) assumption { return assumptionOf(k, id) }), Timebox: timeboxOf(k),
		Actions: each(k.StandingActions(), func(a state.Action) action { return action{typed(a.What), nameOf(k, a.Owner), a.Due, a.Done} }),
		Questions: each(b.Questions, func(q state.Question) question {
			return question{Ask: typed(q.Ask), By: nameOf(k, q.By), Answer: typed(q.Answer), Open: q.Answer == "", Answered: nameOf(k, q.Answered)}
		}),
		Underway: underwayOf(k), Foresight: foresightOf(k), Thin: thinStages(k), LeadWords: []leadWord{}, Changes: []change{},
		Stage: k.Stage, Ended: k.Stage == state.StageEnded, Done: state.EndedWithSummary(&k), Lead: nameOf(k, k.Lead().ID), Untested: words.Untested(k), Three: threeOf(k), Care: words.NeedsCare(k), LeadOut: typed(words.NotRatingText(k)),
		Brief: brief{typed(b.Problem), typed(b.Why), typed(b.Outcome), typed(b.OutOfBounds), allTyped(b.Links)},
	}
	for _, s := range k.LeftOut {
		if k.LeavesOut(s) {
			f.LeftOut = append(f.LeftOut, s)
		}
	}
	if r := state.MappedRound(&k); r != nil {
		f.Sides, f.Apart, f.Single = sidesOf(r.Sides), words.ApartText(r.Sides), words.SingleText(k, r.Sides)
	}
	for _, u := range k.NotRating {
		f.NotRating = append(f.NotRating, nameOf(k, u))
	}
	if off := k.CalledOff; off.Why != "" {
		f.CalledOff = &calledOff{typed(off.Why), nameOf(k, off.By), leadDay(k, off.At)}
	}
	for _, q := range f.Questions {
		if q.Open {
			f.Open = append(f.Open, q)
		}
	}
	for _, a := range f.Backlog {
		f.Tests = append(f.Tests, a.Tests...)
		if a.Score.Zone == engine.TestFirst {
			f.TestFirst = append(f.TestFirst, a)
		}
	}
	f.Few = map[string]string{}
	for _, part := range flows.PartsOf(&k) {
		f.Few[part] = words.ThinText(k, restsOn[part]...)
		if w, said := k.Summary.Words[part]; said {
			f.LeadWords = append(f.LeadWords, leadWord{part, typed(w.Text), nameOf(k, w.By)})
		}
		if c, changed := k.Summary.Changed[part]; changed {
			f.Changes = append(f.Changes, change{part, nameOf(k, c.By), leadDay(k, c.At)})
		}
	}
	return f
}

// each makes one thing of every other. It is never nil, which JSON would
// write as null.
func each[T, U any](all []T, one func(T) U) []U {
	out := make([]U, len(all))
	for i, it := range all {
		out[i] = one(it)
	}
	return out
}

// shownMap is the last map with what may be told of it; nil without one. An
// older release kept more.
func shownMap(k state.Kickoff) *engine.Result {
	m := k.Map()
	if m == nil {
		return nil
	}
	shown := state.WithoutFew(*m)
	return &shown
}

func allTyped(texts []string) []typed { return each(texts, func(s string) typed { return typed(s) }) }

func nameOf(k state.Kickoff, u state.UserID) typed { return typed(k.Name(u)) }

// leadDay is a date where the lead is, since a file has no reader's zone. A
// moment that has not come has none.
func leadDay(k state.Kickoff, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(k.LeadHours().Zone).Format(time.DateOnly)
}

func levelOf(k state.Kickoff) level {
	l, f := k.Framing.Level, k.Framing
	if l.N == 0 {
		l.Median = engine.Undefined()
	}
	l = state.FewLevels(l)
	out := level{Median: l.Median, IQR: l.IQR, HalfStep: l.HalfStep, Votes: l.N, At: f.AtLevel, SettledBy: nameOf(k, f.SettledBy), Drafts: words.DraftsText(k), Came: words.SettledText(k)}
	if f.Settled {
		out.Settled = &f.AtLevel
	}
	return out
}

func wordingOf(k state.Kickoff, n int) wording {
	w := wording{Level: k.Framing.LevelOf(n), Text: typed(k.WordingText(n)), Ticks: k.Framing.Ticks()[n], Original: n == state.Original}
	if !w.Original {
		from := k.Framing.Wordings[n-1]
		w.By, w.Drafted, w.Began = nameOf(k, from.By), from.Drafted, from.Began
	}
	return w
}

func rolesOf(k state.Kickoff) roles {
	out := roles{Core: []typed{}, Consulted: []typed{}, Informed: []typed{}, Unplaced: []typed{}, Days: map[typed]float64{}}
	for _, u := range k.Participants() {
		switch name := nameOf(k, u); k.RingOf(u) {
		case state.Core:
			out.Core = append(out.Core, name)
			out.Days[name] = k.DaysOf(u)
		case state.Consulted:
			out.Consulted = append(out.Consulted, name)
		case state.Informed:
			out.Informed = append(out.Informed, name)
		default:
			out.Unplaced = append(out.Unplaced, name)
		}
	}
	out.Missing = each(views.Missing(k), func(m state.NamedPerson) missing {
		if m.User != "" {
			return missing{nameOf(k, m.User), m.Ring}
		}
		return missing{typed(m.Name), m.Ring}
	})
	return out
}

func assumptionOf(k state.Kickoff, id string) assumption {
	a, _ := k.Assumption(id)
	s, _ := k.Scored(id)
	gist := k.Gists[id]
	out := assumption{ID: id, Since: a.Since, Statement: typed(a.Text), Zone: string(s.Zone), Kind: words.KindText(k, id), Score: state.ScoreWithoutFew(s), Drafted: a.Drafted,
		Tests:   each(k.TestsOf(id), func(t state.Test) test { return testOf(k, t) }),
		Because: typed(a.Because), Joined: allTyped(a.Wordings), Gist: typed(gist.Text), GistDrafted: gist.Drafted}
	for _, r := range flows.ReasonsOn(&k, id) {
		out.Reasons = append(out.Reasons, typed(r.Text))
	}
	return out
}

func testOf(k state.Kickoff, t state.Test) test {
	out := test{N: t.N, Assumption: t.Assumption, Method: typed(t.Method), Learn: typed(t.Learn), EffortDays: t.EffortDays, LeadDays: t.LeadDays, Owner: nameOf(k, t.Owner),
		Since: t.Since, NotBefore: string(t.NotBefore), Dropped: typed(t.Dropped),
		YesNo: t.YesNo, Care: t.Care, Pass: words.PassMark(t), PassCell: passCell(t), Effort: words.EffortText(t)}
	if b := t.Bound; b.Unit != "" {
		out.Bound = &bound{b.At, typed(b.Unit), b.AtMost}
	}
	if t.PassShare > 0 {
		out.PassMark = &t.PassShare
	}
	if t.Size > 0 {
		out.Size = &t.Size
	}
	return out
}

func timeboxOf(k state.Kickoff) timebox {
	t := k.Timebox
	median, iqr := t.Spread()
	out := timebox{ProposedWeeks: t.Proposal.Weeks, Why: typed(t.Proposal.Why), Weeks: t.Weeks, StopIf: typed(t.StopIf), BuildIf: typed(t.BuildIf),
		Starts: leadDay(k, t.Starts), Ends: leadDay(k, t.Ends), WithRenewals: weeksText(t), Bars: Bars(k, all),
		Votes: votes{median, iqr, t.Voted()}, Voted: words.VotesText(t),
		Marks: each(state.Marks(&k), func(m state.Mark) mark { return mark{m.Build, typed(m.Text), m.On, m.State} })}
	out.Cost.Of = map[engine.Cost]int{}
	worth := t.Baseline()
	out.Worth, out.Decided = votes{worth.Median, worth.IQR, worth.N}, t.Proposal.Decided
	if t.Outlook != nil {
		o := t.Outlook.Told()
		out.Cost, out.Outlook = costs{o.Cost, o.Costs, map[engine.Cost]int{}}, words.OutlookText(o)
		maps.Copy(out.Cost.Of, o.CostsOf)
	}
	if t.Weeks > 0 {
		out.Checkin = strings.ToLower(t.Checkin.String())
	}
	return out
}

func underwayOf(k state.Kickoff) underway {
	d := k.Underway.Decision
	out := underway{Last: decisionOf(k, d), Guess: typed(beside(views.Calibration(k).Sentence, beside(words.GuessText(k), words.GuessScore(k)))),
		Checkins: each(k.Underway.Checkins, func(c state.Checkin) checkin { return checkinOf(k, c) }),
		Dropped:  each(lists.Keep(k.Backlog.Tests, func(t state.Test) bool { return t.Dropped != "" }), func(t state.Test) test { return testOf(k, t) })}
	out.Record = each(views.Record(&k), func(b views.Belief) belief { return beliefOf(k, b) })
	c := views.CostOf(&k)
	out.Cost, out.Took, out.Ahead = cost{c.Planned, c.Used}, words.CostText(k), words.Ahead(k, d)
	for _, c := range k.Underway.Checkins {
		if !c.Closed.IsZero() {
			out.Found = words.TestedAndFound(k, views.ProgressOf(k, c.Closed))
		}
	}
	if d.Set != "" {
		out.Decision = &out.Last
	} else if len(d.Earlier) > 0 {
		earlier := decisionOf(k, d.Earlier[len(d.Earlier)-1])
		out.Decision = &earlier
	}
	return out
}

// sidesOf is nil where nothing is told.
func sidesOf(s state.Sides) *sides {
	if len(s.Apart) == 0 && !s.Single {
		return nil
	}
	out := &sides{Apart: each(s.Apart, func(a state.Apart) apart { return apart(a) })}
	if s.Single {
		out.Pivotal = append([]string{}, s.Pivotal...)
	}
	return out
}

func beliefOf(k state.Kickoff, b views.Belief) belief {
	return belief{b.ID, typed(b.Text), b.First, b.Fate, allTyped(b.Learnt), words.FateText(b.Fate),
		each(b.Tests, func(t state.Test) tested {
			return tested{typed(t.Method), words.CameTo(k, t)}
		})}
}

func foresightOf(k state.Kickoff) foresight {
	all := views.Foresight(&k)
	return foresight{Score: views.ScoreOf(all), Tests: each(all, func(f views.Foreseen) foreseen {
		out := foreseen{Test: f.Test.N, Assumption: f.Test.Assumption, Method: typed(f.Test.Method), N: f.Expected.N,
			Expected: f.Expected.Median / 100, IQR: f.Expected.IQR / 100, Rings: map[state.Ring]ringsShare{}, Came: f.Came, Final: f.Final}
		for ring, told := range f.Expected.Rings {
			out.Rings[ring] = ringsShare{told.N, told.Median / 100}
		}
		return out
	})}
}

// beside is a sentence with another one after it, if there is one.
func beside(says, more string) string { return strings.TrimSpace(says + " " + more) }

func decisionOf(k state.Kickoff, d state.Decision) decision {
	out := decision{Choice: d.Set, Weeks: d.Weeks, Early: d.Early, At: leadDay(k, d.At), Why: typed(d.Why), Votes: map[state.Choice]int{}, Tally: words.Tally(d), Rings: words.RingsTally(d)}
	for _, c := range d.Tally() {
		out.Votes[c.Choice] += c.N
	}
	return out
}

func checkinOf(k state.Kickoff, c state.Checkin) checkin {
	said := state.SaidOf(nil)
	if !c.Closed.IsZero() { // until then it is unseen
		said = state.ConfidenceOf(c)
	}
	return checkin{N: c.N, Opened: leadDay(k, c.Opened), Closed: !c.Closed.IsZero(),
		Confidence: votes{said.Median, said.IQR, said.N}, ConfidenceMove: words.ConfidenceMove(k, c),
		Results: each(c.Results, func(r state.TestResult) result { return resultOf(k, r) }),
		Placed: each(c.Placed, func(s engine.AssumptionScore) placed {
			a, _ := k.Assumption(s.ID)
			return placed{s.ID, typed(a.Text), s.Importance.Median, s.Evidence.Median, min(s.Importance.N, s.Evidence.N), string(s.Zone), words.PlacedText(s)}
		}),
		Moved: each(c.Moves(), func(m state.Move) moved {
			return moved{m.Assumption, m.From, m.To, m.Raters, string(m.ZoneTo), words.MoveText(m, state.VerdictOf(&k, m.Assumption))}
		})}
}

func resultOf(k state.Kickoff, r state.TestResult) result {
	t, found := k.Backlog.Tests[r.Test-1], state.Finding(&k, r)
	_, corrected := state.Correction(state.Results(k.Underway, r.Test), r.Entry)
	out := result{Test: r.Test, Assumption: t.Assumption, Method: typed(t.Method), K: r.K, N: r.N, Verdict: found.Verdict,
		Entry: r.Entry, Corrects: r.Corrects, Corrected: corrected, Why: typed(r.Why), InAll: inAll{found.K, found.N, t.Size, found.Narrow},
		Learnt: typed(r.Learnt), Surprise: typed(r.Surprise), Link: typed(r.Link), Quote: typed(r.Quote), Finding: beside(words.ResultText(k, r), words.ForesightBeside(k, r))}
	if t.Bound.Unit != "" {
		out.Figure = &r.Figure
	}
	return out
}

func thinStages(k state.Kickoff) []string {
	out := []string{}
	for _, w := range append(k.Past[:len(k.Past):len(k.Past)], k.Window) {
		if w.Thin {
			out = append(out, flows.StageArg(w.Stage, w.Round))
		}
	}
	return out
}
