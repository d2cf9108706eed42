package flows

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"soundings/engine"

	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

// intents turns a command into what its actor wants. It fails on a command
// that it does not know, or an option that the command does not have.
func (s *script) intents(t *testing.T, l line) []Intent {
	t.Helper()
	ins := s.stageIntents(t, l)
	if ins == nil {
		ins = s.leadIntents(t, l)
	}
	if ins == nil {
		ins = s.laterIntents(t, l)
	}
	if ins == nil {
		ins = s.summaryIntents(t, l)
	}
	require.NotNil(t, ins, "no command %q", l.what)
	require.Empty(t, l.opts, "options that %q does not have", l.what)
	return ins
}

func (s *script) stageIntents(t *testing.T, l line) []Intent {
	switch l.what {
	case "starts":
		return []Intent{s.start(t, l)}
	case "edits brief":
		return []Intent{EditBrief{ByLead: l.byLead(), Brief: s.brief(l)}}
	case "reads":
		return []Intent{MarkRead{By: l.by()}}
	case "asks":
		return []Intent{Ask{By: l.by(), Ask: l.text}}
	case "answers":
		return []Intent{Answer{By: l.by(), N: l.int(t, "question"), Answer: l.text}}
	case "finishes":
		return []Intent{s.finish(t, l)}
	case "adds wording":
		return []Intent{AddWording{By: l.by(), Level: l.int(t, "level"), Text: l.text, Drafted: l.get("drafted") == "yes", Began: l.get("began") == "yes"}}
	case "edits wording":
		return []Intent{EditWording{By: l.by(), N: l.int(t, "n"), Level: l.int(t, "level"), Text: l.text}}
	case "asks for drafts":
		return []Intent{AskDraft{By: l.by(), What: state.DraftLadder}}
	case "votes framing":
		return []Intent{VoteFraming{By: l.by(), Level: l.int(t, "level"), Ticks: ints(t, l.list("ticks"))}}
	case "settles framing":
		return []Intent{s.settleFraming(t, l)}
	case "places":
		return []Intent{PlaceSelf{By: l.by(), Ring: state.Ring(l.get("ring")), Days: l.number(t, "days")}}
	case "names":
		return []Intent{NamePerson{By: l.by(), Name: l.text, User: state.UserID(l.get("user")), Ring: state.Ring(l.get("ring"))}}
	case "settles roles":
		return []Intent{SettleRoles{ByLead: l.byLead(), Rings: s.rings(l)}}
	case "adds assumption":
		text, because, _ := strings.Cut(l.text, "\nbecause: ")
		return []Intent{AddAssumption{By: l.by(), ID: l.get("id"), Text: text, Because: because}}
	case "edits assumption":
		text, because, _ := strings.Cut(l.text, "\nbecause: ")
		return []Intent{EditAssumption{By: l.by(), ID: l.get("id"), Text: text, Because: because, Drafted: l.get("drafted") == "yes"}}
	case "imports":
		return []Intent{ImportAssumptions{By: l.by(), Rows: rows(l.text)}}
	case "withdraws assumption":
		return []Intent{WithdrawAssumption{By: l.by(), ID: l.get("id")}}
	case "splits assumption":
		return []Intent{SplitAssumption{By: l.by(), ID: l.get("id"), Parts: parts(l.text)}}
	case "asks for a draft":
		what := l.get("of")
		if what == state.DraftGist {
			what = "gist of one assumption" // which is no kind of draft; leads ask for gists in other words
		}
		return []Intent{AskDraft{By: l.by(), What: what, Assumption: l.get("assumption")}}
	case "asks for a gist":
		return []Intent{AskDraft{By: l.by(), What: state.DraftGist, Assumption: l.get("assumption")}}
	case "posts gist":
		return []Intent{PostGist{ByLead: l.byLead(), Assumption: l.get("assumption"), Text: l.text, Drafted: l.get("drafted") == "yes"}}
	case "joins":
		return []Intent{JoinAssumptions{ByLead: l.byLead(), Keep: l.get("keep"), Join: l.list("join")}}
	case "lets stand":
		return []Intent{LeaveRemarks{ByLead: l.byLead(), N: ints(t, l.list("n"))}}
	case "sends back":
		return []Intent{SendBack{ByLead: l.byLead(), N: l.int(t, "n"), Word: l.text}}
	case "asks two":
		var who []state.UserID
		for _, u := range l.list("people") {
			who = append(who, state.UserID(u))
		}
		return []Intent{AskAlike{ByLead: l.byLead(), People: who}}
	case "finds alike":
		var sets [][]string
		for set := range strings.FieldsSeq(l.text) {
			sets = append(sets, strings.Split(set, "="))
		}
		return []Intent{SayAlike{By: l.by(), Sets: sets}}
	case "rates":
		return s.rate(t, l)
	case "explains":
		return []Intent{GiveReason{By: l.by(), Assumption: l.get("assumption"), Signed: l.get("signed") == "yes", Text: l.text}}
	}
	return nil
}

func (s *script) leadIntents(t *testing.T, l line) []Intent {
	switch l.what {
	case "closes":
		return []Intent{CloseNow{ByLead: l.byLead()}}
	case "extends":
		return []Intent{Extend{ByLead: l.byLead(), Days: l.int(t, "days")}}
	case "deals":
		return []Intent{ChooseDeal{ByLead: l.byLead(), Each: l.int(t, "each"), Second: l.int(t, "second")}}
	case "reopens":
		return []Intent{Reopen{ByLead: l.byLead()}}
	case "leaves out":
		return []Intent{LeaveOut{ByLead: l.byLead(), Stages: stagesOf(l.list("stages")), TakeUp: stagesOf(l.list("takeup")), Own: map[string]OwnRatings{"out": OwnLeftOut, "count": OwnCount}[l.get("own")]}}
	case "hands over":
		return []Intent{HandOver{ByLead: l.byLead(), To: state.UserID(l.get("to"))}}
	case "adds lead":
		return []Intent{AddLead{ByLead: l.byLead(), Person: state.UserID(l.get("person"))}}
	case "invites":
		return []Intent{Invite{ByLead: l.byLead(), People: []state.Person{person(l)}}}
	case "lets go":
		return []Intent{LetGo{ByLead: l.byLead(), Person: state.UserID(l.get("person"))}}
	case "asks to join":
		return []Intent{AskToJoin{FromOutside: FromOutside{l.who}, Person: state.Person{ID: l.who, Name: string(l.who), Zone: l.get("zone")}}}
	case "mutes":
		return []Intent{Mute{By: l.by()}}
	case "unmutes":
		return []Intent{Mute{By: l.by(), Off: true}}
	case "works":
		return []Intent{SetHours{By: l.by(), Zone: l.get("zone"), Days: ints(t, l.list("days")), From: minute(t, l.get("from")), To: minute(t, l.get("to"))}}
	case "is introduced": // by the shell, which has looked them up
		if l.get("absent") == "yes" {
			return []Intent{Introduce{Absent: []state.UserID{l.who}}}
		}
		return []Intent{Introduce{People: []state.Person{{ID: l.who, Name: l.get("name"), Zone: l.get("zone")}}}}
	case "is seen": // the channel, by the shell
		return []Intent{Report{News: event.ChannelSeen{Outside: l.get("outside") == "yes", Canvas: l.get("canvas")}}}
	case "has canvas":
		return []Intent{Report{News: event.CanvasMade{ID: l.get("id")}}}
	case "loses canvas":
		return []Intent{Report{News: event.CanvasLost{ID: l.get("id")}}}
	case "has bookmark":
		return []Intent{Report{News: event.BookmarkAdded{ID: l.get("id")}}}
	case "loses bookmark":
		return []Intent{Report{News: event.BookmarkRemoved{}}}
	case "misses":
		return []Intent{Report{News: event.ExtraMissed{What: state.Extra(l.get("what")), Why: state.Fault(l.get("why"))}}}
	case "leaves": // the chat platform says so
		return []Intent{Left{Person: l.who}}
	case "goes on":
		return []Intent{GoOn{ByLead: l.byLead()}}
	case "calls off":
		return []Intent{CallOff{ByLead: l.byLead(), Why: l.text}}
	case "archives channel":
		return []Intent{ReportUnreachable{Why: state.ChannelArchived, Since: s.k.Version}}
	case "deletes channel":
		return []Intent{ReportUnreachable{Why: state.ChannelDeleted, Since: s.k.Version}}
	case "loses entries":
		return []Intent{s.loss(t, l)}
	case "unarchives channel":
		return []Intent{ReportReachable{}}
	}
	return nil
}

func (s *script) laterIntents(t *testing.T, l line) []Intent {
	switch l.what {
	case "sees":
		kinds := map[string]state.Kind{}
		_, values := l.perAssumption()
		for id, kind := range values {
			kinds[id] = state.Kind(kind)
		}
		return []Intent{VoteKinds{By: l.by(), Kinds: kinds}}
	case "adds test":
		return []Intent{AddTest{By: l.by(), Plan: plan(t, l)}}
	case "edits test":
		return []Intent{EditTest{By: l.by(), N: l.int(t, "n"), Plan: plan(t, l)}}
	case "withdraws test":
		return []Intent{WithdrawTest{By: l.by(), N: l.int(t, "n")}}
	case "votes weeks":
		return []Intent{VoteWeeks{By: l.by(), Weeks: l.int(t, "weeks"), Worth: l.orElse(t, "worth", 0), Cost: engine.Cost(l.get("cost")), More: l.get("more") == "yes"}}
	case "votes outlook":
		return []Intent{VoteOutlook{By: l.by(), Worth: l.orElse(t, "worth", 0), Cost: engine.Cost(l.get("cost"))}}
	case "foresees":
		return []Intent{Foresee{By: l.by(), Test: l.int(t, "test"), Percent: l.int(t, "percent")}}
	case "settles timebox":
		return []Intent{SetTimebox{ByLead: l.byLead(), Weeks: l.int(t, "weeks"), Checkin: weekday(t, l.get("checkin")),
			StopIf: l.get("stop"), BuildIf: l.get("build"), StopOn: l.get("stop_on"), BuildOn: l.get("build_on")}}
	case "adds action":
		return []Intent{AddAction{By: l.by(), Owner: state.UserID(l.get("owner")), Due: state.LocalDay(l.get("due")), What: l.text}}
	case "edits action":
		return []Intent{EditAction{By: l.by(), N: l.int(t, "n"), Owner: state.UserID(l.get("owner")), Due: state.LocalDay(l.get("due")), What: l.text}}
	case "finishes action":
		return []Intent{FinishAction{By: l.by(), N: l.int(t, "n")}}
	case "posts summary":
		return []Intent{PostSummary{ByLead: l.byLead(), GoOn: l.get("outside") == "yes"}}
	case "goes on here":
		return []Intent{GoOnHere{ByLead: l.byLead()}}
	case "reports":
		return []Intent{ReportResult{By: l.by(), Checkin: l.orElse(t, "checkin", len(s.k.Underway.Checkins)), Test: l.int(t, "test"), K: l.int(t, "k"), N: l.int(t, "n"),
			Figure: l.number(t, "figure"), Corrects: l.int(t, "corrects"), Why: l.text, Again: l.get("again") == "yes"}}
	case "rates new":
		ratings := map[string]state.Marking{}
		ids, values := l.perAssumption()
		for _, id := range ids {
			importance, evidence, _ := strings.Cut(values[id], "/")
			ratings[id] = state.Marking{Importance: mark(t, importance), Evidence: mark(t, evidence)}
		}
		return []Intent{RateNew{By: l.by(), Checkin: l.orElse(t, "checkin", len(s.k.Underway.Checkins)), Ratings: ratings}}
	case "drops test":
		return []Intent{DropTest{By: l.by(), N: l.int(t, "n"), Why: l.text}}
	case "tells":
		return []Intent{TellResult{By: l.by(), Checkin: l.orElse(t, "checkin", len(s.k.Underway.Checkins)), Test: l.int(t, "test"),
			Told: state.Told{Learnt: l.text, Surprise: l.get("surprise"), Quote: l.get("quote"), Link: l.get("link")}}}
	case "rerates":
		checkin, evidence := l.orElse(t, "checkin", len(s.k.Underway.Checkins)), map[string]int{}
		_, values := l.perAssumption()
		for id, v := range values {
			evidence[id] = ints(t, []string{v})[0]
		}
		return []Intent{RerateEvidence{By: l.by(), Checkin: checkin, Evidence: evidence}}
	case "votes confidence":
		return []Intent{VoteConfidence{By: l.by(), Checkin: l.orElse(t, "checkin", len(s.k.Underway.Checkins)), Confidence: l.int(t, "of9")}}
	case "decides early":
		return []Intent{DecideNow{ByLead: l.byLead()}}
	case "votes decision":
		return []Intent{VoteDecision{By: l.by(), N: l.orElse(t, "n", s.k.Underway.DecisionNumber()), Choice: state.Choice(l.get("choice")), Weeks: l.int(t, "weeks")}}
	case "settles decision":
		return []Intent{SettleDecision{ByLead: l.byLead(), N: l.orElse(t, "n", s.k.Underway.DecisionNumber()), Choice: state.Choice(l.get("choice")), Weeks: l.int(t, "weeks"), Why: l.text}}
	}
	return nil
}

func (s *script) summaryIntents(t *testing.T, l line) []Intent {
	switch l.what {
	case "gives word":
		return []Intent{GiveWord{ByLead: l.byLead(), Part: l.get("part"), Text: l.text}}
	case "revises brief":
		b := s.brief(l)
		return []Intent{ReviseBrief{ByLead: l.byLead(), Title: b.Title, Why: b.Why, Outcome: b.Outcome, OutOfBounds: b.OutOfBounds}}
	case "revises problem":
		return []Intent{ReviseProblem{ByLead: l.byLead(), Problem: l.text, Level: l.int(t, "level")}}
	case "revises rings":
		return []Intent{ReviseRings{ByLead: l.byLead(), Rings: s.rings(l)}}
	case "revises test":
		return []Intent{ReviseTest{ByLead: l.byLead(), N: l.int(t, "n"), Owner: state.UserID(l.get("owner")), Learn: l.get("learn"), Method: l.text}}
	case "revises marks":
		return []Intent{ReviseMarks{ByLead: l.byLead(), StopIf: l.get("stop"), BuildIf: l.get("build")}}
	case "revises answer":
		return []Intent{ReviseAnswer{ByLead: l.byLead(), N: l.int(t, "question"), Answer: l.text}}
	case "withdraws action":
		return []Intent{WithdrawAction{ByLead: l.byLead(), N: l.int(t, "n")}}
	}
	return nil
}

func (s *script) start(t *testing.T, l line) Intent {
	people := slices.Clone(s.cast)
	slices.SortStableFunc(people, func(a, b state.Person) int {
		if a.ID == l.who {
			return -1
		}
		if b.ID == l.who {
			return 1
		}
		return 0
	})
	return Start{FromOutside: FromOutside{l.who}, ID: "K1", Team: "T1", Channel: "C1", Brief: s.brief(l), People: people, Pace: l.int(t, "pace"), LeaveOut: stagesOf(l.list("out")),
		Seen: state.Seen{Outside: l.get("shared") == "yes"}, GoOn: l.get("outside") == "yes"}
}

// brief reads lines such as “title: …”; what is missing is the ferry's.
func (s *script) brief(l line) state.Brief {
	b := state.Brief{
		Title:   "Room for bicycles",
		Problem: "Passengers with bicycles cannot tell, before they reach the pier, whether there is room.",
	}
	for _, row := range strings.Split(l.text, "\n") {
		field, value, _ := strings.Cut(row, ": ")
		switch strings.TrimSuffix(field, ":") {
		case "title":
			b.Title = value
		case "why":
			b.Why = value
		case "outcome":
			b.Outcome = value
		case "out of bounds":
			b.OutOfBounds = value
		case "problem":
			b.Problem = value
		case "link":
			b.Links = append(b.Links, value)
		}
	}
	return b
}

// finish finishes the open stage unless another is named.
func (s *script) finish(t *testing.T, l line) Intent {
	f := Finish{By: l.by(), Stage: s.k.Stage, Round: s.k.Window.Round}
	if stage := l.get("stage"); stage != "" {
		f.Stage, f.Round = state.Stage(stage), l.int(t, "round")
	}
	return f
}

func (s *script) settleFraming(t *testing.T, l line) Intent {
	settle := SettleFraming{ByLead: l.byLead(), Problem: l.text, Level: l.int(t, "level")}
	if l.text == "" {
		settle.Problem = proposedProblem(&s.k)
	}
	return settle
}

func (s *script) rings(l line) map[state.UserID]state.Ring {
	rings := map[state.UserID]state.Ring{}
	for name := range l.opts {
		rings[state.UserID(name)] = state.Ring(l.get(name))
	}
	return rings
}

// rate reads A1=8/2 as importance and evidence; “-” is can't say, nothing is
// not rated.
func (s *script) rate(t *testing.T, l line) []Intent {
	round := s.k.Window.Round
	if r := l.get("round"); r != "" {
		round = ints(t, []string{r})[0]
	}
	var ins []Intent
	ids, values := l.perAssumption()
	for _, id := range ids {
		importance, evidence, _ := strings.Cut(values[id], "/")
		for _, entry := range []struct {
			scale state.Scale
			value string
		}{{state.Importance, importance}, {state.Evidence, evidence}} {
			if entry.value != "" {
				ins = append(ins, Rate{By: l.by(), Round: round, Assumption: id, Scale: entry.scale, Value: mark(t, entry.value)})
			}
		}
	}
	return ins
}

func mark(t *testing.T, v string) int {
	if v == "-" {
		return state.CantSay
	}
	return ints(t, []string{v})[0]
}

// rows reads “text | because”, one assumption a line.
func rows(text string) []AddAssumption {
	var out []AddAssumption
	for _, row := range strings.Split(text, "\n") {
		text, because, _ := strings.Cut(row, " | ")
		out = append(out, AddAssumption{Text: text, Because: because})
	}
	return out
}

func plan(t *testing.T, l line) state.Plan {
	return state.Plan{Assumption: l.get("assumption"), Method: l.text, Learn: l.get("learn"), PassShare: l.number(t, "pass"),
		EffortDays: l.number(t, "effort"), LeadDays: l.number(t, "lead"), Owner: state.UserID(l.get("owner")), Size: l.int(t, "size"),
		NotBefore: state.LocalDay(l.get("after")), Census: l.get("census") == "yes", YesNo: l.get("yes") == "yes", Care: l.get("care") == "yes", Bound: bound(t, l)}
}

// bound reads “most=15 unit=minutes”, or least=.
func bound(t *testing.T, l line) state.Bound {
	b := state.Bound{At: l.number(t, "least"), Unit: l.get("unit")}
	if most := l.number(t, "most"); most != 0 {
		b.At, b.AtMost = most, true
	}
	return b
}

// person reads who is named in person=, with zone= and name=.
func person(l line) state.Person {
	p := state.Person{ID: state.UserID(l.get("person")), Name: l.get("name"), Zone: l.get("zone")}
	if p.Name == "" && p.ID != "" {
		p.Name = strings.ToUpper(string(p.ID[:1])) + string(p.ID[1:])
	}
	return p
}

// parts reads the beliefs that stood in one entry, one a line.
func parts(text string) []Part {
	var out []Part
	for _, row := range strings.Split(strings.ReplaceAll(text, `\n`, "\n"), "\n") {
		text, drafted := strings.CutSuffix(row, " (draft)")
		out = append(out, Part{Text: text, Drafted: drafted})
	}
	return out
}

// loss is what a process reports that had seen entries of some people, and
// messages that were posted meanwhile.
func (s *script) loss(t *testing.T, l line) Intent {
	t.Helper()
	in := ReportLoss{After: int64(l.int(t, "after")), Posted: maps.Clone(s.k.Posted), Extras: state.Extras{Canvas: l.get("canvas"), Bookmark: l.get("bookmark")}}
	for _, u := range l.list("people") {
		in.People = append(in.People, state.UserID(u))
	}
	for _, ts := range l.list("posted") {
		in.Posted["posted at "+ts] = state.Posting{Channel: "C1", TS: ts}
	}
	return in
}

func stagesOf(names []string) (all []state.Stage) {
	for _, s := range names {
		all = append(all, state.Stage(s))
	}
	return all
}
