package closing

import (
	"fmt"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// What a lead can change about the parts of the summary, one page each.

// A change is one such page.
type change struct {
	kind, which string // together its value, unique within the part
	name, about string // as it is offered on the page of the part
	title       string // of its own page
	page        int    // which of the pages that its fields take, from 1; 0 is all of them
	fill        func(*block.Form) flows.Intent
}

func (c change) way() block.Option {
	return block.Option{Value: c.kind + "/" + c.which, Text: c.name, About: c.about}
}

// bytes is what offering c takes in the form.
func (c change) bytes() int {
	var f block.Form
	f.Select("x", "x", "", []block.Option{c.way()})
	return block.Size(f.Blocks...)
}

// revisable says for each part what can be changed about it, the likely first,
// and what is nobody's to change. To every part a lead can put a word.
var revisable = map[string]struct {
	changes func(screen.Page) []change
	stays   string
}{
	"problem":   {func(p screen.Page) []change { return append(briefChanges(p), problemChange(p)) }, "The ladder stays as people wrote and ticked it."},
	"roles":     {ringChanges, ""},
	"map":       {nil, "What people rated stands as it is. You can put a word of yours to it."},
	"backlog":   {testChanges, "Pass marks, days and kinds of risk stay: they were set before anybody looked."},
	"timebox":   {markChanges, "The votes and the weeks stay as they were settled."},
	"questions": {answerChanges, ""},
	"actions":   {actionChanges, ""},
}

func changesOf(p screen.Page, part string) []change {
	if part == rootPart {
		return nil
	}
	var all []change
	if list := revisable[part].changes; list != nil {
		all = list(p)
	}
	return append(all, wordChange(p, part))
}

// briefChanges are the lead's own texts. What is long takes a page of its own,
// since an answer to a form is bounded.
func briefChanges(p screen.Page) []change {
	b := p.Kickoff.Brief
	return onPages(change{kind: "brief", name: "Change title and texts", about: "Title, why now, the outcome, out of bounds", title: "Title and texts",
		fill: func(f *block.Form) flows.Intent {
			return flows.ReviseBrief{ByLead: screen.ByLead(p),
				Title:       screen.TitleEntry(f, "title", "Title", b.Title),
				Why:         f.Text("why", "Why now?", b.Why, block.Optional),
				Outcome:     f.Text("outcome", "The outcome hoped for", b.Outcome, block.Optional, block.Hint("And how it is measured.")),
				OutOfBounds: f.Text("out_of_bounds", "Out of bounds", b.OutOfBounds, block.Optional)}
		}})
}

// onPages divides the fields of a change into as many pages as they take. A
// field that stands on another page is read as what stood in it.
func onPages(c change) []change {
	var f block.Form
	c.fill(&f)
	n := len(fieldPages(f.Blocks))
	all := make([]change, n)
	for i := range all {
		all[i] = c
		all[i].which, all[i].page = strconv.Itoa(i), i+1
		if n > 1 {
			all[i].name += fmt.Sprintf(", %d of %d", i+1, n)
		}
	}
	return all
}

func fieldPages(fields []slack.Block) [][]slack.Block {
	return block.Pages(fields, block.AnswerBytes, func(b slack.Block) int { return block.Size(b) })
}

func problemChange(p screen.Page) change {
	return change{kind: "problem", name: "Change the problem", about: "The wording and the level that you settled", title: "The problem",
		fill: func(f *block.Form) flows.Intent {
			stood := words.SettledLevel(p.Kickoff)
			in := flows.ReviseProblem{ByLead: screen.ByLead(p), Problem: f.Text("problem", "The problem we work on", p.Kickoff.Problem())}
			var err error
			if in.Level, err = strconv.Atoi(f.Select("level", "The level at which we work", strconv.Itoa(stood), screen.Rungs)); err != nil {
				in.Level = stood
			}
			return in
		}}
}

func ringChanges(p screen.Page) []change {
	k := p.Kickoff
	if k.LeavesOut(state.StageRoles) {
		return nil
	}
	return []change{{kind: "rings", which: "0", name: "Move somebody", about: "Core team, consulted or informed", title: "Who stands where",
		fill: func(f *block.Form) flows.Intent {
			return flows.ReviseRings{ByLead: screen.ByLead(p), Rings: screen.RingLists(f, k)}
		}}}
}

func testChanges(p screen.Page) []change {
	var all []change
	for _, t := range p.Kickoff.Backlog.Tests {
		if t.Withdrawn {
			continue
		}
		all = append(all, change{kind: "test", which: strconv.Itoa(t.N), name: fmt.Sprintf("Change test %d, %s", t.N, t.Assumption),
			about: words.OneLine(t.Method), title: fmt.Sprintf("Test %d", t.N),
			fill: func(f *block.Form) flows.Intent {
				return flows.ReviseTest{ByLead: screen.ByLead(p), N: t.N, Method: screen.TitleEntry(f, "method", "Method", t.Method),
					Learn: f.Text("learn", "What we learn", t.Learn, block.Optional), Owner: f.Person("owner", "Owner", t.Owner, block.Optional)}
			}})
	}
	return all
}

func markChanges(p screen.Page) []change {
	t := p.Kickoff.Timebox
	if p.Kickoff.Stage == state.StageUnderway {
		return nil
	}
	return onPages(change{kind: "marks", name: "Change what was written", about: "We stop if, we build if: until the time box begins", title: "Written beforehand",
		fill: func(f *block.Form) flows.Intent {
			return flows.ReviseMarks{ByLead: screen.ByLead(p), StopIf: f.Text("stop_if", "We stop if …", t.StopIf, block.Optional),
				BuildIf: f.Text("build_if", "We build if …", t.BuildIf, block.Optional)}
		}})
}

// answerChanges are the questions, the open ones first.
func answerChanges(p screen.Page) []change {
	var open, answered []change
	for _, q := range p.Kickoff.Brief.Questions {
		c := change{kind: "answer", which: strconv.Itoa(q.N), name: fmt.Sprintf("Answer %d", q.N), about: words.OneLine(q.Ask), title: fmt.Sprintf("Question %d", q.N),
			fill: func(f *block.Form) flows.Intent {
				f.Add(block.Quote(block.Typed(q.Ask, 300)))
				return flows.ReviseAnswer{ByLead: screen.ByLead(p), N: q.N,
					Answer: f.Text("answer", "The answer", q.Answer, block.Optional, block.Hint("Left empty, the question stays open."))}
			}}
		if q.Answer == "" {
			open = append(open, c)
			continue
		}
		c.name = fmt.Sprintf("Change answer %d", q.N)
		answered = append(answered, c)
	}
	return append(open, answered...)
}

func actionChanges(p screen.Page) []change {
	all := []change{{kind: "new", name: "Add an action", title: "Add an action",
		fill: func(f *block.Form) flows.Intent { return newAction(p, f) }}}
	for _, a := range p.Kickoff.StandingActions() {
		all = append(all, change{kind: "action", which: strconv.Itoa(a.N), name: fmt.Sprintf("Change action %d", a.N), about: words.OneLine(a.What),
			title: fmt.Sprintf("Action %d", a.N),
			fill: func(f *block.Form) flows.Intent {
				b := actionEntries(f, a)
				if f.Tick("withdraw", "Take it off", "withdraw", "Take this action off the list") {
					return flows.WithdrawAction{ByLead: screen.ByLead(p), N: a.N}
				}
				return flows.EditAction{By: screen.By(p), N: a.N, What: b.What, Owner: b.Owner, Due: b.Due}
			}})
	}
	return all
}

// wordChange puts a word of the lead's to a part.
func wordChange(p screen.Page, part string) change {
	now, name := p.Kickoff.Summary.Words[part].Text, "Add a word of yours"
	if now != "" {
		name = "Change your word"
	}
	return change{kind: "word", name: name, about: "Shown above this part, under your name", title: "A word of yours",
		fill: func(f *block.Form) flows.Intent {
			f.Add(block.Text("It stands above “%s” in the thread and in the files, as a word from you.", report.Name(part)))
			return flows.GiveWord{ByLead: screen.ByLead(p), Part: part, Text: f.Text("word", "Your word", now, block.Longest(flows.MaxWord), block.Optional,
				block.Hint("Two or three sentences. Left empty, none is shown."))}
		}}
}
