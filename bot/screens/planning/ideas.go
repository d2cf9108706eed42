package planning

import (
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/state"
	"soundings/flows/views"
)

// A test is planned by taking an idea of the guide, which fills in the form, or by
// filling it in from nothing. Both are about one assumption.

// IdeasShown is how many ideas a page shows in full; the others are in a menu, of which each
// choice is taken at once.
const IdeasShown = 3

// drawIdeas shows the methods that suit the kinds of risk of an assumption, or where
// nobody has named one those of every kind.
func drawIdeas(p screen.Page, f *block.Form) flows.Intent {
	k, id := p.Kickoff, guidedBy(p)
	f.Title, f.Submit = "Plan a test", "My Own Idea"
	a, _ := k.Assumption(id)
	f.Add(block.Para(block.Bold("%s ", id), block.Typed(a.Text, 200)),
		block.Text("Take an idea, and change in it what you like."))
	shown, others := Ideas(k, id)
	for _, m := range shown {
		f.Add(block.Beside(fmt.Sprintf("%s · %s\nTells %s", m.Name, effortOf(m), m.Tells), screen.Button("Take", "turn/backlog.own", ideaArgs(k, id, m))))
	}
	var options []block.Option
	for _, m := range others {
		options = append(options, block.Option{Value: ideaArgs(k, id, m).String(), Text: m.Name + " · " + effortOf(m), About: "Tells " + m.Tells})
	}
	f.Add(block.Picker("turn/backlog.own", "Another idea", options))
	if len(k.Order()) > 1 {
		f.Add(block.Picker("turn/backlog.test", "Another assumption", OtherAssumptions(p)))
	}
	return nil
}

// Ideas are the methods for an assumption: the first, and all others.
func Ideas(k state.Kickoff, id string) (first, others []guide.Method) {
	kinds := views.KindsOf(k.Backlog, id)
	if len(kinds) == 0 {
		kinds = state.Kinds()
	}
	names := make([]string, len(kinds))
	for i, kind := range kinds {
		names[i] = string(kind)
	}
	all := guide.ForKinds(names...)
	return all[:IdeasShown], all[IdeasShown:]
}

// ideaArgs say that a method is taken for an assumption, in few enough characters for the
// value of an option. A form that an earlier release opened has the whole name.
func ideaArgs(k state.Kickoff, id string, m guide.Method) screen.Args {
	return screen.Args{Kickoff: k.ID, Assumption: id, Choice: m.Key()}
}

func effortOf(m guide.Method) string {
	return words.EffortText(state.Test{EffortDays: m.EffortDays, LeadDays: m.LeadDays})
}

// OtherAssumptions are those that a test can be about, each with what its choice says.
func OtherAssumptions(p screen.Page) []block.Option {
	options := assumptionOptions(p.Kickoff)
	for i := range options {
		options[i].Value = screen.Args{Kickoff: p.Kickoff.ID, Assumption: options[i].Value, N: p.Args.N}.String()
	}
	return options
}

// guidedBy is the assumption that a test is planned for: the one that was asked for,
// or the first that has none.
func guidedBy(p screen.Page) string {
	order := p.Kickoff.Order()
	if slices.Contains(order, p.Args.Assumption) {
		return p.Args.Assumption
	}
	if open := words.Untested(p.Kickoff); len(open) > 0 {
		return open[0]
	}
	if len(order) > 0 {
		return order[0]
	}
	return ""
}

// submitIdeas turns the page into the form of a test, without an idea.
func submitIdeas(p screen.Page, _ block.Values) (screen.Answer, error) {
	if err := mayPlan(p); err != nil {
		return screen.Answer{}, err
	}
	p.Args.Assumption, p.Args.Choice = guidedBy(p), ""
	return screen.Answer{Next: screen.Redrawn(Forms(), "backlog.own", p)}, nil
}

// proposedTest is a test as the method p.Args.Choice proposes it; without one it is
// empty.
func proposedTest(p screen.Page) (t state.Test, m guide.Method, known bool) {
	t.Assumption = guidedBy(p)
	if m, known = guide.Keyed(p.Args.Choice); !known {
		return t, m, false
	}
	t.Method, t.EffortDays, t.LeadDays = m.Name, m.EffortDays, m.LeadDays
	t.PassShare, t.YesNo, t.Bound = m.Mark.Share, m.Mark.YesNo, state.Bound{At: m.Mark.AtLeast, Unit: m.Mark.Unit}
	if size, counts := m.Sample.For(0); counts {
		t.Size = size.N
	}
	return t, m, true
}

// drawNewTest is the form of a test, filled in with the idea that was taken.
func drawNewTest(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Plan a test", "Add Test"
	t, m, known := proposedTest(p)
	args := screen.StageArgs(p, state.StageBacklog)
	args.Assumption, args.Choice = t.Assumption, m.Name
	about := withPeople(p, t)
	if known {
		about = screen.Button("About This Idea", "open/backlog.guide", args)
	}
	args.Choice = ""
	f.Add(block.Buttons(about, screen.Button("Other Ideas", "turn/backlog.test", args)))
	f.Select("assumption", "Assumption", t.Assumption, shortOptions(p))
	testEntries(f, t)
	if m.People || !known {
		f.Add(block.Note(guide.Caution))
	}
	f.Anew(slices.IndexFunc(guide.ForKinds(AllKinds()...), func(o guide.Method) bool { return o.Name == m.Name }) + 1)
	return nil
}

// shortOptions are the assumptions in a form that may answer another one: by their
// ids alone where with their words they would not fit.
func shortOptions(p screen.Page) []block.Option {
	options, letters := assumptionOptions(p.Kickoff), 0
	for _, o := range options {
		letters += len(words.Clip(o.Text, 75))
	}
	if letters > block.AnswerBytes/3 {
		for i := range options {
			options[i].Text = options[i].Value
		}
	}
	return options
}

// AllKinds are the names of all kinds of risk.
func AllKinds() (names []string) {
	for _, kind := range state.Kinds() {
		names = append(names, string(kind))
	}
	return names
}

// submitNewTest adds the test.
func submitNewTest(p screen.Page, v block.Values) (screen.Answer, error) {
	f := block.Read(v)
	plan := testEntries(f, state.Test{Assumption: f.Select("assumption", "Assumption", "", nil)})
	intent := flows.AddTest{By: screen.By(p), Plan: plan}
	if faults := faultsOf(p, f, intent); len(faults) > 0 {
		return screen.Answer{Errors: faults}, nil
	}
	p.Args.N, p.Args.Choice = numberOf(p, plan), ""
	return screen.Answer{Intents: []flows.Intent{intent}, Next: planned(p, plan)}, nil
}

// withPeople leads to what to mind in test t, where people are part of it.
func withPeople(p screen.Page, t state.Test) *slack.ButtonBlockElement {
	args := screen.StageArgs(p, state.StageBacklog)
	args.N = t.N
	return screen.Button("With People", "open/backlog.guide", args)
}

// howProposed says what an idea can tell, what to mind, and where its figures come from.
// Without an idea it says what to mind with people in test Args.N.
func howProposed(p screen.Page, f *block.Form) flows.Intent {
	if p.Args.Choice == "" {
		t, _ := p.Kickoff.Test(p.Args.N)
		f.Title = "With people"
		f.Add(block.Text("%s", guide.CautionFor(t.Care)))
		return nil
	}
	f.Title = "About this idea"
	m, ok := guide.Keyed(p.Args.Choice)
	if !ok {
		f.Add(block.Text("That idea is not in the guide any more."))
		return nil
	}
	f.Add(block.Para(block.Bold("%s", m.Name), block.Plain(" tells %s It cannot tell %s", m.Tells, m.CannotTell)), block.Text("%s", m.Mind))
	items := [][]block.Run{{block.Bold("Days: "), block.Plain("%s. Source: %s.", effortOf(m), guide.DaysSource)}}
	if size, counts := m.Sample.For(0); counts {
		items = append(items, []block.Run{block.Bold("%d %s: ", size.N, m.Sample.Unit), block.Plain("%s. Source: %s.", m.Sample.Buys, size.Source)})
		if m.Sample.Shares {
			items = append(items, []block.Run{block.Bold("Where there are few: "), block.Plain("%s.", ofFew(m.Sample))})
		}
	}
	if m.Mark.Source != "" {
		mark := words.PassMark(state.Test{PassShare: m.Mark.Share, Bound: state.Bound{At: m.Mark.AtLeast, Unit: m.Mark.Unit}})
		items = append(items, []block.Run{block.Bold("Counts as support: "), block.Plain("%s, to begin with. Source: %s.", mark, m.Mark.Source)})
	}
	f.Add(block.Para(block.Bold("How this is counted")), block.Bullets(items...))
	if m.People {
		f.Add(block.Note(guide.CautionFor(false)))
	}
	return nil
}

// ofFew: "of 90 people 74 will do, of 500 people 218".
func ofFew(r guide.SizeRule) string {
	var parts []string
	for _, all := range []int{90, 500, 2000} {
		if size, ok := r.For(all); ok {
			parts = append(parts, fmt.Sprintf("of %d in all %d will do", all, size.N))
		}
	}
	return strings.Join(parts, ", ")
}
