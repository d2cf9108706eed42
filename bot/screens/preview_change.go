package screens

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/flows"
)

// What a lead can change about the parts of the summary, one page each.

// A change is one such page.
type change struct {
	kind, which string // together its value, unique within the part
	name, about string // as it is offered on the page of the part
	title       string // of its own page
	inputs      []slack.Block
	read        func(block.Values) flows.Intent
}

func (c change) value() string { return c.kind + "/" + c.which }

// bytes is what offering c takes in the form.
func (c change) bytes() int {
	ways := []block.Option{{Value: c.value(), Text: c.name, About: c.about}}
	return block.Size(selectInput("x", "x", "", ways))
}

// changesOf lists what can be changed about a part, the likely first.
func changesOf(p Page, part string) []change {
	var all []change
	switch part {
	case "problem":
		all = append(briefChanges(p), problemChange(p))
	case "roles":
		all = ringChanges(p)
	case "backlog":
		all = testChanges(p)
	case "timebox":
		all = markChanges(p)
	case "questions":
		all = answerChanges(p)
	case "actions":
		all = actionChanges(p)
	}
	return append(all, wordChange(p, part))
}

// facts says what of a part is nobody's to change.
func facts(part string) string {
	switch part {
	case "problem":
		return "The ladder stays as people wrote and ticked it."
	case "map":
		return "What people rated stands as it is. You can put a word of yours to it."
	case "backlog":
		return "Pass marks, days and kinds of risk stay: they were set before anybody looked."
	case "timebox":
		return "The votes and the weeks stay as they were settled."
	}
	return ""
}

// typedOr is what was typed into a field, or where the page has no such field
// what stands there now.
func typedOr(v block.Values, field, now string) string {
	if _, shown := v[field]; !shown {
		return now
	}
	return v.Text(field)
}

// briefChanges are the lead's own texts. What is long takes a page of its own,
// since an answer to a form is bounded.
func briefChanges(p Page) []change {
	b := p.Kickoff.Brief
	fields := []slack.Block{
		textInput("title", "Title", b.Title, false, flows.MaxTitle),
		textInput("why", "Why now?", b.Why, true, flows.MaxText, block.Optional),
		textInput("outcome", "The outcome hoped for", b.Outcome, true, flows.MaxText, block.Optional, block.Hint("And how it is measured.")),
		textInput("out_of_bounds", "Out of bounds", b.OutOfBounds, true, flows.MaxText, block.Optional),
	}
	read := func(v block.Values) flows.Intent {
		return flows.ReviseBrief{ByLead: byLead(p), Title: typedOr(v, "title", b.Title), Why: typedOr(v, "why", b.Why),
			Outcome: typedOr(v, "outcome", b.Outcome), OutOfBounds: typedOr(v, "out_of_bounds", b.OutOfBounds)}
	}
	return onPages(fields, change{kind: "brief", name: "Change title and texts", about: "Title, why now, the outcome, out of bounds", title: "Title and texts", read: read})
}

// onPages divides fields into as many pages as they take.
func onPages(fields []slack.Block, c change) []change {
	pages := block.Pages(fields, block.AnswerBytes, func(b slack.Block) int { return block.Size(b) })
	all := make([]change, len(pages))
	for i, inputs := range pages {
		all[i] = c
		all[i].which, all[i].inputs = strconv.Itoa(i), inputs
		if len(pages) > 1 {
			all[i].name += fmt.Sprintf(", %d of %d", i+1, len(pages))
		}
	}
	return all
}

func problemChange(p Page) change {
	k := p.Kickoff
	return change{kind: "problem", name: "Change the problem", about: "The wording and the level that you settled", title: "The problem",
		inputs: []slack.Block{
			textInput("problem", "The problem we work on", k.Problem(), true, flows.MaxText),
			selectInput("level", "The level at which we work", strconv.Itoa(words.SettledLevel(k)), levelOptions()),
		},
		read: func(v block.Values) flows.Intent {
			level, ok := v.Number("level")
			if !ok {
				level = words.SettledLevel(k)
			}
			return flows.ReviseProblem{ByLead: byLead(p), Problem: v.Text("problem"), Level: level}
		}}
}

func ringChanges(p Page) []change {
	k := p.Kickoff
	if k.Roles.Skipped {
		return nil
	}
	var rings []block.Option
	for _, r := range flows.Rings() {
		rings = append(rings, block.Option{Value: string(r), Text: ringName(r)})
	}
	var fields []slack.Block
	for _, u := range k.Participants() {
		fields = append(fields, selectInput("rings/"+string(u), words.Clip(k.Name(u), 100), string(k.RingOf(u)), rings, block.Optional))
	}
	read := func(v block.Values) flows.Intent {
		in := flows.ReviseRings{ByLead: byLead(p), Rings: map[flows.UserID]flows.Ring{}}
		for _, u := range k.Participants() {
			if ring := v.Choice("rings/" + string(u)); ring != "" {
				in.Rings[u] = flows.Ring(ring)
			}
		}
		return in
	}
	return onPages(fields, change{kind: "rings", name: "Move somebody", about: "Core team, consulted or informed", title: "Who stands where", read: read})
}

func testChanges(p Page) []change {
	var all []change
	for _, t := range p.Kickoff.Backlog.Tests {
		if t.Withdrawn {
			continue
		}
		all = append(all, change{kind: "test", which: strconv.Itoa(t.N), name: fmt.Sprintf("Change test %d, %s", t.N, t.Assumption),
			about: words.OneLine(t.Method), title: fmt.Sprintf("Test %d", t.N),
			inputs: []slack.Block{
				textInput("method", "Method", t.Method, false, flows.MaxTitle),
				textInput("learn", "What we learn", t.Learn, true, flows.MaxText, block.Optional),
				personInput("owner", "Owner", t.Owner, block.Optional),
			},
			read: func(v block.Values) flows.Intent {
				return flows.ReviseTest{ByLead: byLead(p), N: t.N, Method: v.Text("method"), Learn: v.Text("learn"), Owner: v.Person("owner")}
			}})
	}
	return all
}

func markChanges(p Page) []change {
	t := p.Kickoff.Timebox
	if p.Kickoff.Stage == flows.StageUnderway {
		return nil
	}
	fields := []slack.Block{
		textInput("stop_if", "We stop if …", t.StopIf, true, flows.MaxText, block.Optional),
		textInput("build_if", "We build if …", t.BuildIf, true, flows.MaxText, block.Optional),
	}
	read := func(v block.Values) flows.Intent {
		return flows.ReviseMarks{ByLead: byLead(p), StopIf: typedOr(v, "stop_if", t.StopIf), BuildIf: typedOr(v, "build_if", t.BuildIf)}
	}
	return onPages(fields, change{kind: "marks", name: "Change what was written", about: "We stop if, we build if: until the time box begins", title: "Written beforehand", read: read})
}

// answerChanges are the questions, the open ones first.
func answerChanges(p Page) []change {
	questions := slices.Clone(p.Kickoff.Brief.Questions)
	slices.SortStableFunc(questions, func(a, b flows.Question) int { return answered(a) - answered(b) })
	var all []change
	for _, q := range questions {
		verb := "Answer"
		if q.Answer != "" {
			verb = "Change answer"
		}
		all = append(all, change{kind: "answer", which: strconv.Itoa(q.N), name: fmt.Sprintf("%s %d", verb, q.N), about: words.OneLine(q.Ask), title: fmt.Sprintf("Question %d", q.N),
			inputs: []slack.Block{block.Quote(block.Typed(q.Ask, 300)), textInput("answer", "The answer", q.Answer, true, flows.MaxText, block.Optional, block.Hint("Left empty, the question stays open."))},
			read: func(v block.Values) flows.Intent {
				return flows.ReviseAnswer{ByLead: byLead(p), N: q.N, Answer: v.Text("answer")}
			}})
	}
	return all
}

func answered(q flows.Question) int {
	if q.Answer == "" {
		return 0
	}
	return 1
}

func actionChanges(p Page) []change {
	next := flows.Action{Owner: p.Viewer, Due: inAWeek(p)}
	all := []change{{kind: "new", name: "Add an action", title: "Add an action", inputs: actionInputs(next),
		read: func(v block.Values) flows.Intent {
			return flows.AddAction{By: by(p), What: v.Text("what"), Owner: v.Person("owner"), Due: v.Day("due")}
		}}}
	for _, a := range p.Kickoff.StandingActions() {
		off := tickInput("withdraw", "Take it off", nil, []block.Option{{Value: "withdraw", Text: "Take this action off the list"}}, block.Optional)
		all = append(all, change{kind: "action", which: strconv.Itoa(a.N), name: fmt.Sprintf("Change action %d", a.N), about: words.OneLine(a.What),
			title: fmt.Sprintf("Action %d", a.N), inputs: append(actionInputs(a), off),
			read: func(v block.Values) flows.Intent {
				if len(v.Choices("withdraw")) > 0 {
					return flows.WithdrawAction{ByLead: byLead(p), N: a.N}
				}
				return flows.EditAction{By: by(p), N: a.N, What: v.Text("what"), Owner: v.Person("owner"), Due: v.Day("due")}
			}})
	}
	return all
}

// wordChange puts a word of the lead's to a part.
func wordChange(p Page, part string) change {
	now, name := p.Kickoff.Summary.Words[part].Text, "Add a word of yours"
	if now != "" {
		name = "Change your word"
	}
	return change{kind: "word", name: name, about: "Shown above this part, under your name", title: "A word of yours",
		inputs: []slack.Block{
			block.Text("It stands above “%s” in the thread and in the files, as a word from you.", report.Name(part)),
			textInput("word", "Your word", now, true, flows.MaxWord, block.Optional, block.Hint("Two or three sentences. Left empty, none is shown.")),
		},
		read: func(v block.Values) flows.Intent {
			return flows.GiveWord{ByLead: byLead(p), Part: part, Text: v.Text("word")}
		}}
}
