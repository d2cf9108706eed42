package screens

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/screens/planning"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/state"
)

func isRefusal(err error) bool {
	var r *flows.Refusal
	return errors.As(err, &r)
}

// entry makes the values of a form from what people would enter.
func entries(pairs ...string) block.Values {
	v := block.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = map[string]slack.BlockAction{block.InputAction: {Value: pairs[i+1],
			SelectedOption: slack.OptionBlockObject{Value: pairs[i+1]}, SelectedUser: pairs[i+1], SelectedDate: pairs[i+1]}}
	}
	return v
}

func ticked(v block.Values, field string, values ...string) block.Values {
	var options []slack.OptionBlockObject
	for _, value := range values {
		options = append(options, slack.OptionBlockObject{Value: value})
	}
	v[field] = map[string]slack.BlockAction{block.InputAction: {SelectedOptions: options}}
	return v
}

// typedIn is an entry of a text or number input, and nothing chosen.
func typedIn(v block.Values, field, text string) block.Values {
	v[field] = map[string]slack.BlockAction{block.InputAction: {Value: text}}
	return v
}

// A formCase is somebody who opens a form and fills it in.
type formCase struct {
	form   string
	moment string
	who    state.UserID
	args   screen.Args
	fill   block.Values
	check  func(state.Kickoff) bool // what has to be so once flows took it
}

func formCases() []formCase {
	test := entries("assumption", "A2", "method", "Interviews", "learn", "who knew", "owner", "U2", "mark", "share")
	for field, text := range map[string]string{"pass": "62.5%", "size": "12", "effort": "2,5", "lead": "3"} {
		typedIn(test, field, text)
	}
	report := typedIn(typedIn(typedIn(block.Values{}, "k/1", "10"), "n/1", "12"), "learnt/1", "They look at the pier.")
	return []formCase{
		{"rating.reason", "rating/2", "U3", screen.Args{Assumption: "A1"}, ticked(entries("text", "I saw it"), "signed"),
			func(k state.Kickoff) bool {
				r := k.Reasons[len(k.Reasons)-1]
				return r.Text == "I saw it" && r.By == ""
			}},
		{"rating.reason", "rating/2", "U3", screen.Args{Assumption: "A1"}, ticked(entries("text", "I saw it"), "signed", "sign"),
			func(k state.Kickoff) bool { return k.Reasons[len(k.Reasons)-1].By == "U3" }},
		{"backlog.kinds", "backlog", "U3", screen.Args{}, entries("kind/A1", "usability", "kind/A2", ""),
			func(k state.Kickoff) bool {
				_, left := k.Backlog.Kinds["A2"]["U3"]
				return k.Backlog.Kinds["A1"]["U3"] == state.Usability && !left
			}},
		{"backlog.own", "backlog", "U3", screen.Args{}, test,
			func(k state.Kickoff) bool {
				t := k.Backlog.Tests[len(k.Backlog.Tests)-1]
				return t == state.Test{N: t.N, Assumption: "A2", By: "U3", Method: "Interviews", Learn: "who knew", PassShare: 0.625,
					EffortDays: 2.5, LeadDays: 3, Owner: "U2", Size: 12}
			}},
		{"backlog.edit", "backlog", "U1", screen.Args{N: 1}, typedIn(typedIn(entries("method", "Survey", "mark", ""), "effort", "1"), "pass", ""),
			func(k state.Kickoff) bool {
				return k.Backlog.Tests[0].Method == "Survey" && k.Backlog.Tests[0].PassShare == 0
			}},
		{"backlog.plan", "backlog", "U2", screen.Args{N: 2}, block.Values{},
			func(k state.Kickoff) bool {
				return k.Backlog.Tests[1].Size == 19 && k.Backlog.Tests[1].PassShare == 0.6
			}},
		{"backlog.own", "backlog", "U3", screen.Args{}, typedIn(typedIn(entries("assumption", "A2", "method", "Enquiry", "mark", "census"), "effort", "1"), "size", "2"),
			func(k state.Kickoff) bool { return k.Backlog.Tests[len(k.Backlog.Tests)-1].Census }},
		{"backlog.own", "backlog", "U3", screen.Args{}, ticked(typedIn(entries("assumption", "A2", "method", "Enquiry"), "effort", "1"), "care", "care"),
			func(k state.Kickoff) bool {
				n := len(k.Backlog.Tests)
				a, noted := k.ActionFor(state.ForTest(n))
				return k.Backlog.Tests[n-1].Care && k.Backlog.Tests[n-1].LeadDays == 10 && noted && a.Owner == "U3"
			}},
		{"backlog.edit", "backlog", "U1", screen.Args{N: 1}, ticked(block.Values{}, "withdraw", "withdraw"),
			func(k state.Kickoff) bool { return k.Backlog.Tests[0].Withdrawn }},
		{"timebox.vote", "timebox", "U2", screen.Args{}, entries("weeks", "6", "worth", "4", "cost", "name"),
			func(k state.Kickoff) bool {
				return k.Timebox.Votes["U2"] == 6 && k.Timebox.Worth["U2"] == 4 && k.Timebox.Cost["U2"] == engine.CostName
			}},
		{"timebox.settle", "timebox/settling", "U1", screen.Args{}, entries("weeks", "5", "checkin", "0", "stop_if", "nobody looks", "stop_on", "A1", "build_if", "half would wait", "build_on", "test 1"),
			func(k state.Kickoff) bool {
				t := k.Timebox
				return t.Weeks == 5 && t.Checkin == time.Sunday && t.StopIf == "nobody looks" && t.StopOn == "A1" && t.BuildOn == "test 1" && t.BuildIf == "half would wait"
			}},
		{"checkin.report", "underway", "U3", screen.Args{N: 1}, entries("confidence", "5", "expect/2", "70"),
			func(k state.Kickoff) bool { return k.Foresight[2].Said["U3"] == 70 }},
		{"decision.against", "underway/settling", "U1", screen.Args{Round: 1, Choice: "stop"}, entries("why", "The harbour says no."),
			func(k state.Kickoff) bool {
				return k.Underway.Decision.Set == state.Stop && k.Underway.Decision.Why == "The harbour says no."
			}},
		{"close.action", "close", "U3", screen.Args{}, entries("what", "Print the guide", "owner", "U2", "due", "2027-03-10"),
			func(k state.Kickoff) bool {
				a := k.Actions[len(k.Actions)-1]
				return a.What == "Print the guide" && a.Owner == "U2" && a.Due == "2027-03-10"
			}},
		{"close.action", "underway", "U3", screen.Args{}, entries("what", "Book a room", "owner", "U3", "due", "2027-03-10"),
			func(k state.Kickoff) bool { return k.Actions[len(k.Actions)-1].What == "Book a room" }},
		{"close.edit", "close", "U1", screen.Args{N: 1}, entries("what", "Ask again", "owner", "U1", "due", "2027-03-12"),
			func(k state.Kickoff) bool { return k.Actions[0].What == "Ask again" }},
		{"close.preview", "close", "U1", screen.Args{}, entries("go", "post"),
			func(k state.Kickoff) bool { return k.Stage == state.StageUnderway }},
		{"checkin.report", "underway", "U1", screen.Args{N: 1}, report,
			func(k state.Kickoff) bool {
				c := k.Underway.Checkins[0]
				found, _ := state.Found(&k, 1)
				return found.K == 19 && found.N == 24 && // with 9 of 12 from before
					c.Results[1].Learnt == "They look at the pier." && c.Results[0].Learnt == ""
			}},
		{"checkin.report", "underway", "U1", screen.Args{N: 1, Round: 1}, entries("confidence", "8"),
			func(k state.Kickoff) bool { return k.Underway.Checkins[0].Confidence["U1"] == 8 }},
		{"checkin.report", "underway", "U1", screen.Args{N: 1, Round: 2, Choice: "evidence"}, entries("evidence/A1", "7"),
			func(k state.Kickoff) bool { return k.Underway.Checkins[0].Evidence["U1"]["A1"] == 7 }},
		{"checkin.report", "underway", "U1", screen.Args{N: 1, Round: 2, Choice: "others"}, typedIn(typedIn(block.Values{}, "k/2", "3"), "n/2", "4"),
			func(k state.Kickoff) bool {
				found, _ := state.Found(&k, 2)
				return found.K == 3 && found.N == 4
			}},
		{"backlog.edit", "underway", "U1", screen.Args{N: 1}, entries("method", "Survey", "not_before", "2027-03-22"),
			func(k state.Kickoff) bool {
				return k.Backlog.Tests[0].Method == "Survey" && k.Backlog.Tests[0].NotBefore == "2027-03-22" && k.Backlog.Tests[0].PassShare == 0.6
			}},
		{"backlog.edit", "underway", "U1", screen.Args{N: 1}, entries("why", "The pier is closed."),
			func(k state.Kickoff) bool { return k.Backlog.Tests[0].Dropped == "The pier is closed." }},
		{"checkin.report", "underway", "U1", screen.Args{N: 1}, typedIn(block.Values{}, "learnt/1", "They look at the pier."),
			func(k state.Kickoff) bool {
				return k.Underway.Checkins[0].Results[0].Told == state.Told{Learnt: "They look at the pier."}
			}},
		{"checkin.report", "underway", "U1", screen.Args{N: 1, Round: 2, Choice: "told"}, typedIn(block.Values{}, "quote/1", "Never heard of it"),
			func(k state.Kickoff) bool {
				return k.Underway.Checkins[0].Results[0].Told == state.Told{Quote: "Never heard of it"}
			}},
		{"checkin.correct", "underway", "U1", screen.Args{N: 1, Round: 1}, typedIn(typedIn(typedIn(block.Values{}, "k/1", "6"), "n/1", "12"), "why", "Three were asked twice."),
			func(k state.Kickoff) bool {
				found, _ := state.Found(&k, 1)
				return found.K == 6 && found.N == 12 && k.Underway.Checkins[0].Results[1].Why == "Three were asked twice."
			}},
	}
}

// Open, fill in, submit, and flows takes it.
func TestLaterFormsRoundTrip(t *testing.T) {
	for i, c := range formCases() {
		t.Run(fmt.Sprintf("%d %s", i, c.form), func(t *testing.T) {
			m := momentAt(t, c.moment)
			c.args.Kickoff = m.K.ID
			p := screen.Page{Kickoff: m.K, Viewer: c.who, Now: m.Now, Args: c.args}
			view, err := Open(c.form, p)
			require.NoError(t, err)
			checkView(t, c.form, view)
			for field := range c.fill {
				assert.True(t, slices.ContainsFunc(view.Blocks.BlockSet, func(b slack.Block) bool { return b.ID() == field }), "the form has no field %q", field)
			}
			answer, err := Submit(c.form, p, c.fill)
			require.NoError(t, err, "submit")
			require.Empty(t, answer.Errors, "submit")
			for _, intent := range answer.Intents {
				m = take(t, m, intent)
			}
			assert.True(t, c.check(m.K), "flows took %#v, which is not what was filled in", answer.Intents)
		})
	}
}

// Whatever people typed before, every form opens, and stays within what the
// platform takes; those that answer a form stay under 20 kB.
func TestLaterFormsKeepTheRulesWhateverPeopleTyped(t *testing.T) {
	for _, test := range []struct {
		form, moment string
		args         screen.Args
		answers      bool // it may answer another form
	}{
		{"rating.reason", "rating/2", screen.Args{Assumption: "A1"}, false},
		{"backlog.kinds", "backlog", screen.Args{}, true}, {"backlog.kinds", "backlog", screen.Args{N: 1}, true},
		{"backlog.test", "backlog", screen.Args{}, false}, {"backlog.own", "backlog", screen.Args{}, true}, {"backlog.own", "backlog", screen.Args{Choice: "Survey"}, false},
		{"backlog.list", "backlog", screen.Args{}, false}, {"backlog.edit", "backlog", screen.Args{N: 1}, false},
		{"framing.whole", "roles", screen.Args{}, false}, {"assumptions.all", "rating", screen.Args{}, false}, {"timebox.why", "close", screen.Args{}, false},
		{"timebox.vote", "timebox", screen.Args{}, false}, {"timebox.settle", "timebox/settling", screen.Args{}, false},
		{"close.action", "close", screen.Args{}, false}, {"close.list", "close", screen.Args{}, false}, {"close.edit", "close", screen.Args{N: 1}, false},
		{"checkin.report", "underway", screen.Args{N: 1}, true}, {"checkin.report", "underway", screen.Args{N: 1, Round: 1}, true},
		{"checkin.report", "underway", screen.Args{N: 1, Round: 2, Choice: "evidence"}, true}, {"checkin.report", "underway", screen.Args{N: 1, Round: 2, Choice: "told"}, true}, {"checkin.report", "underway", screen.Args{N: 1, Round: 2, Choice: "others"}, true}, {"checkin.reports", "underway", screen.Args{N: 1}, false},
	} {
		for _, m := range []moment{momentAt(t, test.moment), hostileMomentAt(t, test.moment)} {
			for _, who := range []state.UserID{"U1", "U3"} {
				if who != "U1" && test.form == "timebox.settle" {
					continue // only the lead's
				}
				view, err := Open(test.form, screen.Page{Kickoff: m.K, Viewer: who, Now: m.Now, Args: test.args})
				if !assert.NoError(t, err, "%s for %s", test.form, who) {
					continue
				}
				checkView(t, test.form, view)
				n := viewBytes(t, view)
				assert.False(t, test.answers && n >= answerLimit, "%s has %d bytes", test.form, n)
				assert.LessOrEqual(t, n, 240_000, "%s has %d bytes", test.form, n)
			}
		}
	}
}

func TestKindsArePagedAndNoneIsLost(t *testing.T) {
	m := hostileMomentAt(t, "backlog")
	p := screen.Page{Kickoff: m.K, Viewer: "U7", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID}}
	view, err := Open("backlog.kinds", p)
	require.NoError(t, err)
	for pages := 1; ; pages++ {
		fill := block.Values{}
		for _, b := range view.Blocks.BlockSet {
			if strings.HasPrefix(b.ID(), "kind/") {
				fill[b.ID()] = entries("x", "viability")["x"]
			}
		}
		p.Args, err = screen.ParseArgs(view.PrivateMetadata)
		require.NoError(t, err)
		answer, err := Submit("backlog.kinds", p, fill)
		require.NoError(t, err)
		for _, in := range answer.Intents {
			m = take(t, m, in)
		}
		if answer.Next == nil {
			break
		}
		view, p.Kickoff = *answer.Next, m.K
		require.LessOrEqual(t, pages, 50, "the pages do not end")
		n := viewBytes(t, view)
		assert.Less(t, n, answerLimit, "a next page has %d bytes", n)
	}
	for _, id := range m.K.Order() {
		assert.Equal(t, state.Viability, m.K.Backlog.Kinds[id]["U7"], "%s was not asked about", id)
	}
}

// Whichever assumption is chosen, its ideas are shown, and a page of them at a time.
func TestIdeasAreForTheAssumptionThatIsChosen(t *testing.T) {
	for _, m := range []moment{momentAt(t, "backlog"), hostileMomentAt(t, "backlog")} {
		p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID}}
		other := m.K.Order()[len(m.K.Order())-1]
		chosen := slices.IndexFunc(planning.OtherAssumptions(p), func(o block.Option) bool { return strings.HasPrefix(o.Text, other+" ") })
		require.GreaterOrEqual(t, chosen, 0)
		args, err := screen.ParseArgs(planning.OtherAssumptions(p)[chosen].Value)
		require.NoError(t, err)
		p.Args = args
		view, err := Open("backlog.test", p)
		require.NoError(t, err)
		assert.True(t, strings.Contains(PlainForm(view), "\n"+other+" "), "the form does not speak of %s", other)
		answer, err := Submit("backlog.test", p, nil)
		require.NoError(t, err)
		require.NotNil(t, answer.Next)
		require.Empty(t, answer.Intents)
		assert.Less(t, viewBytes(t, *answer.Next), answerLimit)
		assert.Contains(t, PlainForm(*answer.Next), "["+other, "the form is about another one")
	}
}

// A list that stayed empty has nothing to be planned for, and says so.
func TestNothingIsPlannedForAnEmptyList(t *testing.T) {
	m := momentAt(t, "backlog")
	m.K.Assumptions, m.K.Rounds = nil, nil
	for _, form := range []string{"backlog.test", "backlog.own", "backlog.kinds"} {
		_, err := Open(form, screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now})
		assert.ErrorContains(t, err, "There is no assumption", form)
	}
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "backlog"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, PlainText(posting), "there is nothing to test. Press That Is All.")
}

// Every idea for the kinds of risk is there once: to be taken at once, or in the menu below.
func TestIdeasComeOnceEach(t *testing.T) {
	m := momentAt(t, "backlog")
	view, err := Open("backlog.test", screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Assumption: "A2"}}) // viability and feasibility
	require.NoError(t, err)
	var names []string
	add := func(key string) {
		m, known := guide.Keyed(key)
		require.True(t, known, key)
		names = append(names, m.Name)
	}
	for _, b := range view.Blocks.BlockSet {
		switch b := b.(type) {
		case *slack.SectionBlock:
			args, err := screen.ParseArgs(b.Accessory.ButtonElement.Value)
			require.NoError(t, err)
			add(args.Choice)
		case *slack.ActionBlock:
			for _, o := range b.Elements.ElementSet[0].(*slack.SelectBlockElement).Options {
				args, err := screen.ParseArgs(o.Value)
				require.NoError(t, err)
				if args.Choice != "" {
					add(args.Choice)
				}
			}
		}
	}
	var want []string
	for _, m := range guide.ForKinds("viability", "feasibility") {
		want = append(want, m.Name)
	}
	assert.Equal(t, want, names)
}

// An idea fills in the form by its key, and by its whole name, as forms had it that an
// earlier release opened.
func TestAnIdeaIsTakenByKeyAndByName(t *testing.T) {
	m := momentAt(t, "backlog")
	for _, choice := range []string{"Walk-through", "Walk-through with those who will run it"} {
		view, err := Open("backlog.own", screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Assumption: "A2", Choice: choice}})
		require.NoError(t, err)
		assert.Contains(t, PlainForm(view), "[Walk-through with those who will run it", choice)
	}
}

// Whoever looks at a test can make it one of another assumption, and keeps all the rest.
func TestATestCanMoveToAnotherAssumption(t *testing.T) {
	m := momentAt(t, "backlog")
	p := screen.Page{Kickoff: m.K, Viewer: "U2", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID, N: 2}}
	view, err := Open("backlog.edit", p)
	require.NoError(t, err)
	require.Contains(t, PlainForm(view), "\nA2 ")
	for _, o := range planning.OtherAssumptions(p) {
		if strings.HasPrefix(o.Text, "A3 ") {
			p.Args, err = screen.ParseArgs(o.Value)
			require.NoError(t, err)
		}
	}
	view, err = Open("backlog.edit", p)
	require.NoError(t, err)
	require.Contains(t, PlainForm(view), "\nA3 ")
	answer, err := Submit("backlog.edit", p, fillIn(t, view, nil).ByField())
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	before, _ := m.K.Test(2)
	m = take(t, m, answer.Intents[0])
	after, _ := m.K.Test(2)
	before.Assumption = "A3"
	assert.Equal(t, before, after)
}

// Each idea, taken with one tap, is a test that is taken as it stands.
func TestEveryIdeaIsATestAsItStands(t *testing.T) {
	m := momentAt(t, "backlog")
	for _, idea := range guide.ForKinds(planning.AllKinds()...) {
		p := screen.Page{Kickoff: m.K, Viewer: "U3", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID, Assumption: "A2", Choice: idea.Name}}
		view, err := Open("backlog.own", p)
		require.NoError(t, err)
		checkView(t, idea.Name, view)
		assert.LessOrEqual(t, len(inputsOf(view)), 10, idea.Name)
		answer, err := Submit("backlog.own", p, fillIn(t, view, nil).ByField())
		require.NoError(t, err)
		require.Empty(t, answer.Errors, idea.Name)
		require.Len(t, answer.Intents, 1)
		plan := answer.Intents[0].(flows.AddTest).Plan
		size, _ := idea.Sample.For(0)
		assert.Equal(t, state.Plan{Assumption: "A2", Method: idea.Name, EffortDays: idea.EffortDays, LeadDays: idea.LeadDays, Size: size.N,
			PassShare: idea.Mark.Share, YesNo: idea.Mark.YesNo, Bound: state.Bound{At: idea.Mark.AtLeast, Unit: idea.Mark.Unit}}, plan)
		take(t, m, answer.Intents[0])
	}
}

func TestPassMarksAsPeopleWriteThem(t *testing.T) {
	for _, c := range []struct {
		mark, much string
		want       state.Plan
		fault      string
	}{
		{"share", "60%", state.Plan{PassShare: 0.6}, ""},
		{"share", "62,5 %", state.Plan{PassShare: 0.625}, ""},
		{"", "60", state.Plan{PassShare: 0.6}, ""},
		{"", "60%", state.Plan{PassShare: 0.6}, ""},
		{"", "", state.Plan{}, ""},
		{"yes", "", state.Plan{YesNo: true}, ""},
		{"census", "100%", state.Plan{PassShare: 1, Census: true}, ""},
		{"most", "15 minutes", state.Plan{Bound: state.Bound{At: 15, Unit: "minutes", AtMost: true}}, ""},
		{"least", "EUR 2.50 a day", state.Plan{Bound: state.Bound{At: 2.5, Unit: "EUR a day"}}, ""},
		{"least", "-3 °", state.Plan{}, "pass"}, // no unit that may stand in a sentence
		{"least", "20 %", state.Plan{Bound: state.Bound{At: 20, Unit: "%"}}, ""},
		{"", "15 minutes", state.Plan{}, "mark"},
		{"share", "15 minutes", state.Plan{}, "pass"},
		{"share", "160%", state.Plan{}, "pass"},
		{"share", "", state.Plan{}, "pass"},
		{"most", "15", state.Plan{}, "pass"},
		{"most", "minutes", state.Plan{}, "pass"},
		{"least", "1,500 EUR", state.Plan{}, "pass"}, // 1.5 or 1500?
		{"least", "0.125 EUR", state.Plan{Bound: state.Bound{At: 0.125, Unit: "EUR"}}, ""},
		{"yes", "60%", state.Plan{}, "pass"},
	} {
		m := momentAt(t, "backlog")
		p := screen.Page{Kickoff: m.K, Viewer: "U3", Now: m.Now, Args: screen.Args{Assumption: "A2"}}
		v := entries("assumption", "A2", "method", "Enquiry", "mark", c.mark)
		v = typedIn(typedIn(typedIn(v, "pass", c.much), "effort", "1"), "size", "20")
		answer, err := Submit("backlog.own", p, v)
		require.NoError(t, err)
		if c.fault != "" {
			assert.NotEmpty(t, answer.Errors[c.fault], "%s %q: %+v", c.mark, c.much, answer)
			assert.Empty(t, answer.Intents)
			continue
		}
		if assert.Empty(t, answer.Errors, "%s %q", c.mark, c.much) {
			c.want.Assumption, c.want.Method, c.want.EffortDays, c.want.Size = "A2", "Enquiry", 1, 20
			assert.Equal(t, c.want, answer.Intents[0].(flows.AddTest).Plan, "%s %q", c.mark, c.much)
		}
	}
}

func TestPlanningATestNamesWhatIsMissing(t *testing.T) {
	m := momentAt(t, "backlog")
	p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Assumption: "A2"}}
	answer, err := Submit("backlog.own", p, entries("assumption", "A2"))
	require.NoError(t, err, "answer = %+v", answer)
	require.Len(t, answer.Intents, 1, "answer = %+v", answer)
	var refusal *flows.Refusal
	_, err = flows.Decide(m.K, answer.Intents[0], m.Now)
	assert.ErrorAs(t, err, &refusal, "flows says %v, want a refusal at the field method", err)
	assert.Equal(t, "method", refusal.Field, "flows says %v, want a refusal at the field method", err)
	answer, err = Submit("backlog.own", p, typedIn(typedIn(entries("assumption", "A2", "method", "Survey"), "effort", "two"), "size", "1.5"))
	assert.False(t, err != nil || answer.Errors["effort"] == "" || answer.Errors["size"] == "" || len(answer.Intents) > 0, "answer = %+v, %v, want faults at effort and size", answer, err)
}

func TestReportSaysWhereAResultMakesNoSense(t *testing.T) {
	m := momentAt(t, "underway")
	p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{N: 1}}
	for _, test := range []struct{ rule, k, n, field string }{
		{"more than all", "13", "12", "k/1"},
		{"only how many", "9", "", "n/1"},
		{"only of how many", "", "12", "k/1"},
		{"of none", "0", "0", "n/1"},
		{"a number that is none", "9.5", "12", "k/1"},
	} {
		answer, err := Submit("checkin.report", p, typedIn(typedIn(entries("confidence", "5"), "k/1", test.k), "n/1", test.n))
		assert.False(t, err != nil || answer.Errors[test.field] == "" || len(answer.Intents) > 0, "%s: answer = %+v, %v, want an error at %s and nothing taken", test.rule, answer, err, test.field)
	}
	answer, err := Submit("checkin.report", p, typedIn(typedIn(entries("confidence", ""), "k/1", ""), "n/1", ""))
	assert.NoError(t, err, "an empty form gives %+v", answer)
	assert.LessOrEqual(t, len(answer.Errors)+len(answer.Intents), 0, "an empty form gives %+v", answer)
}

// Everybody is asked about their own tests first. A lead reports for others on a
// page of its own, since the check-in of a busy lead was a form of 32 fields.
func TestOwnTestsFirst(t *testing.T) {
	m := momentAt(t, "underway")
	for _, c := range []struct {
		who   state.UserID
		round int
		want  []string
	}{
		{"U1", 0, []string{"k/1"}}, {"U1", 1, nil}, {"U1", 2, []string{"k/2"}},
		{"U2", 0, []string{"k/2"}}, {"U2", 1, nil},
		{"U3", 0, nil},
	} {
		view, err := Open("checkin.report", screen.Page{Kickoff: m.K, Viewer: c.who, Now: m.Now, Args: screen.Args{N: 1, Round: c.round, Choice: "others"}})
		require.NoError(t, err)
		asked := slices.DeleteFunc(inputsOf(view), func(id string) bool { return !strings.HasPrefix(id, "k/") })
		assert.ElementsMatch(t, c.want, asked, "%s is asked about %v on page %d", c.who, asked, c.round)
	}
}

// From the first page to the last by the button below: each is answered by the next,
// and what was ticked comes after confidence.
func TestCheckinGoesPageByPage(t *testing.T) {
	m := momentAt(t, "underway")
	p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{N: 1}}
	var pages [][]string
	v := block.Values{}
	for range 9 {
		view, err := Open("checkin.report", p)
		require.NoError(t, err)
		pages = append(pages, inputsOf(view))
		answer, err := Submit("checkin.report", p, v)
		require.NoError(t, err)
		if answer.Next == nil {
			break
		}
		p.Args, err = screen.ParseArgs(answer.Next.PrivateMetadata)
		require.NoError(t, err)
		v = block.Values{}
		if p.Args.Round == 1 {
			v["more"] = map[string]slack.BlockAction{"in": {SelectedOptions: []slack.OptionBlockObject{{Value: "evidence"}, {Value: "told"}}}}
		}
	}
	assert.Equal(t, [][]string{
		{"k/1", "n/1", "learnt/1", "action/2"}, // action 1 is done
		{"expect/2", "confidence", "more"},
		{"evidence/A1", "evidence/A2", "evidence/A3", "evidence/A4"},
		{"surprise/1", "quote/1", "link/1"},
	}, pages)
}

// What somebody expects of a test of others is asked until they have said it, or its first
// result is in.
func TestForesightIsAskedOnce(t *testing.T) {
	m := momentAt(t, "underway")
	asked := func(who state.UserID) []string {
		view, err := Open("checkin.report", screen.Page{Kickoff: m.K, Viewer: who, Now: m.Now, Args: screen.Args{N: 1, Round: 1}})
		require.NoError(t, err)
		return slices.DeleteFunc(inputsOf(view), func(id string) bool { return !strings.HasPrefix(id, "expect/") })
	}
	assert.Equal(t, []string{"expect/2"}, asked("U3"), "test 1 has a result")
	m.K.Foresight = map[int]state.Foresight{2: {Said: map[state.UserID]int{"U3": 30}}}
	assert.Empty(t, asked("U3"))
	assert.Equal(t, []string{"expect/2"}, asked("U1"))
	assert.Empty(t, asked("U2"), "they report what came of it, on the page before")
}

// In the first week nobody has to check in to say it: the message below the plan asks
// everybody until the first check-in does.
func TestForesightIsOneTapUntilTheFirstCheckin(t *testing.T) {
	m := momentAt(t, "underway")
	asks := func() bool {
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenForesight}, m.Now)
		require.NoError(t, err)
		return strings.Contains(PlainText(posting), words.ForesightAsk(m.K.Backlog.Tests[0]))
	}
	assert.False(t, asks(), "a check-in is open")
	m.K.Underway.Checkins = nil
	assert.True(t, asks())
}

// No page has more than ten fields, however much there is to ask.
func TestCheckinPagesAreShort(t *testing.T) {
	for _, m := range []moment{momentAt(t, "underway"), hostileMomentAt(t, "underway")} {
		for i := range 12 {
			m = take(t, m, flows.AddAction{By: flows.By{Who: "U1"}, What: fmt.Sprintf("Action %d", i), Owner: "U1", Due: "2027-03-08"})
		}
		for round := range 12 {
			view, err := Open("checkin.report", screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{N: 1, Round: round, Choice: "evidence told others"}})
			require.NoError(t, err)
			assert.LessOrEqual(t, len(inputsOf(view)), 10, "page %d", round)
		}
	}
}

// Of ten tests of one's own the first three come at once, and the others behind a tick.
func TestManyTestsOfOnesOwn(t *testing.T) {
	m := momentAt(t, "underway")
	for i := range 9 { // one is theirs already
		m = take(t, m, flows.AddTest{By: flows.By{Who: "U1"}, Plan: state.Plan{Assumption: "A1", Method: fmt.Sprintf("Count %d", i), YesNo: true, Owner: "U1"}})
	}
	asked := func(choice string) (all []string) {
		for round := range 12 {
			view, err := Open("checkin.report", screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{N: 1, Round: round, Choice: choice}})
			require.NoError(t, err)
			for _, id := range inputsOf(view) {
				if kind, _, _ := strings.Cut(id, "/"); (kind == "k" || kind == "yes") && !slices.Contains(all, id) {
					all = append(all, id)
				}
			}
		}
		return all
	}
	assert.Len(t, asked(""), 3)
	assert.Len(t, asked("own"), 10)
	m = take(t, m, flows.DropTest{By: flows.By{Who: "U1"}, N: 3, Why: "Too many."})
	assert.Len(t, asked(""), 9, "with nine nothing is hidden")
}

// A test whose day has passed is named with its owner, and can be put off there.
func TestACheckinNamesWhatIsLate(t *testing.T) {
	m := momentAt(t, "underway")
	shown := func(now time.Time) screen.Posting {
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenCheckin, Arg: "1"}, now)
		require.NoError(t, err)
		return posting
	}
	assert.NotContains(t, labels(shown(m.Now)), "Put Off or Drop")
	late := shown(m.K.Timebox.Ends.AddDate(0, 0, 1))
	assert.Equal(t, 1, len(slices.DeleteFunc(labels(late), func(l string) bool { return l != "Put Off or Drop" })), "test 1 has a result")
	test := m.K.Backlog.Tests[1]
	assert.Contains(t, words.OneLine(PlainText(late)), words.OneLine(test.Method)+": "+m.K.Name(test.Owner)+", by ")
	var args screen.Args
	for _, b := range late.Blocks {
		if acts, is := b.(*slack.ActionBlock); is && acts.Elements.ElementSet[0].(*slack.ButtonBlockElement).Text.Text == "Put Off or Drop" {
			var err error
			args, err = screen.ParseArgs(acts.Elements.ElementSet[0].(*slack.ButtonBlockElement).Value)
			require.NoError(t, err)
		}
	}
	view, err := Open("backlog.edit", screen.Page{Kickoff: m.K, Viewer: test.Owner, Now: m.Now, Args: args})
	require.NoError(t, err)
	assert.Contains(t, inputsOf(view), "not_before")
}

// The same report once more is not dropped without a word, and counts once more only
// if the person says so. What was sent before, and only its answer lost, is no second one.
func TestTheSameReportTwice(t *testing.T) {
	m := momentAt(t, "underway")
	p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{N: 1}}
	same := typedIn(typedIn(block.Values{}, "k/1", "9"), "n/1", "12")
	answer, err := Submit("checkin.report", p, same)
	require.NoError(t, err)
	require.Empty(t, answer.Intents)
	require.NotNil(t, answer.Next)
	assert.Contains(t, PlainForm(*answer.Next), "it counts once")
	p.Args, err = screen.ParseArgs(answer.Next.PrivateMetadata)
	require.NoError(t, err)
	answer, err = Submit("checkin.report", p, same)
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	found, _ := state.Found(new(take(t, m, answer.Intents[0]).K), 1)
	assert.Equal(t, 18, found.K)

	p.Args, p.SentBefore = screen.Args{N: 1}, func() bool { return true }
	answer, err = Submit("checkin.report", p, same)
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	assert.False(t, answer.Intents[0].(flows.ReportResult).Again)
}

// An action is done, or gets a new day, in one field; what is done stays on the page
// while the check-in is open.
func TestCheckinAsksAboutActions(t *testing.T) {
	m := momentAt(t, "underway")
	m = take(t, m, flows.AddAction{By: flows.By{Who: "U3"}, What: "Book a room", Owner: "U3", Due: "2027-03-08"})
	m = take(t, m, flows.AddAction{By: flows.By{Who: "U3"}, What: "Print the guide", Owner: "U3", Due: "2027-03-09"})
	n := len(m.K.Actions)
	first, second := fmt.Sprintf("action/%d", n-1), fmt.Sprintf("action/%d", n)
	p := screen.Page{Kickoff: m.K, Viewer: "U3", Now: m.Now, Args: screen.Args{N: 1}}
	answer, err := Submit("checkin.report", p, entries(first, "done", second, "2027-03-24"))
	require.NoError(t, err)
	for _, in := range answer.Intents {
		m = take(t, m, in)
	}
	assert.NotEmpty(t, m.K.Actions[n-2].Done)
	assert.Equal(t, state.LocalDay("2027-03-24"), m.K.Actions[n-1].Due)
	p.Kickoff = m.K
	view, err := Open("checkin.report", p)
	require.NoError(t, err)
	assert.Equal(t, []string{first, second}, inputsOf(view))
}

func TestClosedFormsSayWhy(t *testing.T) {
	for _, test := range []struct {
		form, moment string
		args         screen.Args
	}{
		{"checkin.report", "underway/moved", screen.Args{N: 1}}, {"checkin.report", "close", screen.Args{}}, {"checkin.report", "underway", screen.Args{N: 2}},
		{"backlog.edit", "backlog", screen.Args{N: 99}}, {"close.edit", "close", screen.Args{N: 99}},
	} {
		m := momentAt(t, test.moment)
		_, err := Open(test.form, screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: test.args})
		assert.True(t, isRefusal(err), "%s at %s opens with %v, want a refusal", test.form, test.moment, err)
	}
}

func TestOnlyALeadPostsFromThePreview(t *testing.T) {
	m := momentAt(t, "close")
	for _, form := range []string{"close.preview", "close.part", "close.change"} {
		p := screen.Page{Kickoff: m.K, Viewer: "U2", Now: m.Now, Args: screen.Args{Choice: "problem:word/"}}
		_, err := Open(form, p)
		assert.True(t, isRefusal(err), "%s opens for somebody who does not lead: %v", form, err)
		answer, err := Submit(form, p, entries("go", "post", "word", "x"))
		assert.True(t, isRefusal(err), "%s of somebody who does not lead gives %+v, %v", form, answer, err)
	}
}

func TestLaterActions(t *testing.T) {
	for _, test := range []struct {
		action, moment string
		who            state.UserID
		args           screen.Args
		check          func(state.Kickoff) bool
	}{
		{"backlog.done", "backlog", "U3", screen.Args{}, func(k state.Kickoff) bool { _, ok := k.Window.Done["U3"]; return ok }},
		{"close.post", "close", "U1", screen.Args{}, func(k state.Kickoff) bool { return k.Stage == state.StageUnderway }},
		{"decision.vote", "underway/decision", "U3", screen.Args{Round: 1, Choice: "another", N: 4},
			func(k state.Kickoff) bool {
				return slices.Contains(k.Underway.Decision.Tally(), state.ChoiceCount{DecisionVote: state.DecisionVote{Choice: state.Another, Weeks: 4}, N: 1})
			}},
		{"decision.settle", "underway/settling", "U1", screen.Args{Round: 1, Choice: "stop"}, func(k state.Kickoff) bool { return k.Underway.Decision.Set == state.Stop }},
		{"decision.settle", "underway/settling", "U1", screen.Args{Round: 1, Choice: "another", N: 2}, func(k state.Kickoff) bool { return len(k.Timebox.Renewals) == 1 }},
	} {
		m := momentAt(t, test.moment)
		intent, thanks, err := Do(test.action, screen.Page{Kickoff: m.K, Viewer: test.who, Now: m.Now, Args: test.args})
		if !assert.False(t, err != nil || thanks == "", "%s: %v, thanks %q", test.action, err, thanks) {
			continue
		}
		m = take(t, m, intent)
		assert.True(t, test.check(m.K), "%s did not do what it says", test.action)
	}
}

// Another box is a decision like any other: its message, its outcome and the
// next decision all draw.
func TestARenewedBoxDraws(t *testing.T) {
	m := momentAt(t, "underway/settling")
	m = take(t, m, flows.SettleDecision{ByLead: flows.ByLead{Who: "U1"}, N: 1, Choice: state.Another, Weeks: 2})
	for _, slot := range []flows.Slot{{Screen: flows.ScreenOutcome, Arg: "1"}, {Screen: flows.ScreenDecision, Arg: "1"},
		{Screen: flows.ScreenDecision, Arg: "2"}, {Screen: flows.ScreenSettle, Arg: "decision/1"}, {Screen: flows.ScreenSummary}} {
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		checkMessage(t, slot.Name(), posting)
		golden(t, goldenName("renewed", slot.Name()), "Lock screen: "+posting.Text+"\n\n"+PlainText(posting))
	}
}

// What people fill in, drawn as text.
func TestLaterFormsLookAsAgreed(t *testing.T) {
	for _, test := range []struct {
		form, moment string
		who          state.UserID
		args         screen.Args
	}{
		{"rating.ballot", "rating", "U2", screen.Args{Round: 1}}, {"rating.ballot", "rating/2", "U2", screen.Args{Round: 2}},
		{"rating.reason", "rating/2", "U2", screen.Args{Assumption: "A1"}},
		{"backlog.kinds", "backlog", "U2", screen.Args{}}, {"backlog.test", "backlog", "U2", screen.Args{Assumption: "A2"}}, {"backlog.own", "backlog", "U2", screen.Args{Assumption: "A2", Choice: "Survey"}},
		{"backlog.guide", "backlog", "U2", screen.Args{Choice: "Survey"}},
		{"backlog.list", "backlog", "U2", screen.Args{}}, {"backlog.edit", "backlog", "U2", screen.Args{N: 2}},
		{"backlog.plan", "backlog", "U2", screen.Args{N: 2}}, {"backlog.counted", "backlog", "U2", screen.Args{N: 2}},
		{"timebox.vote", "timebox", "U2", screen.Args{}}, {"timebox.settle", "timebox/settling", "U1", screen.Args{}},
		{"close.action", "close", "U2", screen.Args{}}, {"close.list", "close", "U1", screen.Args{}}, {"close.preview", "close", "U1", screen.Args{}},
		{"checkin.report", "underway", "U1", screen.Args{N: 1}}, {"checkin.report", "underway", "U3", screen.Args{N: 1}},
		{"backlog.edit", "underway", "U1", screen.Args{N: 1}}, {"checkin.report", "underway", "U2", screen.Args{N: 1}}, {"checkin.reports", "underway", "U1", screen.Args{N: 1}}, {"checkin.correct", "underway", "U1", screen.Args{N: 1, Round: 1}},
	} {
		m := momentAt(t, test.moment)
		view, err := Open(test.form, screen.Page{Kickoff: m.K, Viewer: test.who, Now: m.Now, Args: test.args})
		if !assert.NoError(t, err, "%s at %s", test.form, test.moment) {
			continue
		}
		golden(t, goldenName(test.moment, "form-"+test.form+"-"+string(test.who)), PlainForm(view))
	}
}

// Before a check-in closes, nobody's confidence or evidence shows anywhere.
func TestAnOpenCheckinShowsNoVotes(t *testing.T) {
	m := momentAt(t, "underway")
	before := m
	before.K = m.K
	before.K.Underway.Checkins = slices.Clone(m.K.Underway.Checkins)
	before.K.Underway.Checkins[0].Confidence = map[state.UserID]int{"U1": 1}
	before.K.Underway.Checkins[0].Evidence = nil
	for _, slot := range []flows.Slot{{Screen: flows.ScreenCheckin, Arg: "1"}, {Screen: flows.ScreenSummary}, {Screen: flows.ScreenDecision, Arg: "1"}} {
		a, errA := Message(m.K, slot, m.Now)
		b, errB := Message(before.K, slot, m.Now)
		require.NoError(t, errA)
		require.NoError(t, errB)
		assert.Equal(t, PlainText(b), PlainText(a), "%s depends on votes that nobody may see yet", slot.Name())
		assert.Equal(t, b.Text, a.Text, "%s depends on votes that nobody may see yet", slot.Name())
	}
}

// Before a round closes, ratings show nowhere but on their own ballot.
func TestAnOpenRoundShowsNoRatings(t *testing.T) {
	m := momentAt(t, "rating")
	blank := m.K
	blank.Rounds = slices.Clone(m.K.Rounds)
	blank.Rounds[0].Ballots = map[state.UserID]map[string]state.Marking{}
	for u, marks := range m.K.Rounds[0].Ballots {
		blank.Rounds[0].Ballots[u] = map[string]state.Marking{}
		for id := range marks {
			blank.Rounds[0].Ballots[u][id] = state.Marking{Importance: 1, Evidence: 1}
		}
	}
	for _, slot := range laterSlots(m.K) {
		a, errA := Message(m.K, slot, m.Now)
		b, errB := Message(blank, slot, m.Now)
		require.NoError(t, errA)
		require.NoError(t, errB)
		assert.Equal(t, PlainText(b), PlainText(a), "%s depends on ratings that nobody may see yet", slot.Name())
		assert.Equal(t, b.Text, a.Text, "%s depends on ratings that nobody may see yet", slot.Name())
	}
	for _, who := range []state.UserID{"U2", "U3"} {
		a, errA := Open("rating.ballot", ballot(t, m, who, 0))
		b, errB := Open("rating.ballot", ballot(t, moment{K: withOwn(blank, m.K, who), Now: m.Now}, who, 0))
		require.NoError(t, errA)
		require.NoError(t, errB)
		assert.Equal(t, PlainForm(b), PlainForm(a), "the ballot of %s depends on what others rated", who)
	}
}

// withOwn is k with who's own ballot as in other.
func withOwn(k, other state.Kickoff, who state.UserID) state.Kickoff {
	ballots := map[state.UserID]map[string]state.Marking{}
	for u, marks := range k.Rounds[0].Ballots {
		ballots[u] = marks
	}
	if own, ok := other.Rounds[0].Ballots[who]; ok {
		ballots[who] = own
	}
	k.Rounds = slices.Clone(k.Rounds)
	k.Rounds[0].Ballots = ballots
	return k
}

func TestWeekdaysAreGosOwn(t *testing.T) {
	options := screen.WeekdayOptions()
	require.Len(t, options, 7, "options")
	require.Equal(t, "Monday", options[0].Text, "options")
	for _, o := range options {
		n, err := strconv.Atoi(o.Value)
		assert.NoError(t, err, "has value %s", o.Value)
		assert.Equal(t, o.Text, time.Weekday(n).String(), "has value %s", o.Value)
	}
}

// inputsOf are the fields of a form, by block id.
func inputsOf(view slack.ModalViewRequest) []string {
	var ids []string
	for _, b := range view.Blocks.BlockSet {
		if in, ok := b.(*slack.InputBlock); ok {
			ids = append(ids, in.BlockID)
		}
	}
	return ids
}

// mostFormWords is how many words a form says at most that a person fills in with two
// minutes at hand, what stands in its fields included (our choice, no source). What
// lists what people wrote, as a ballot, is as long as that is.
const mostFormWords = 120

func TestFormsSayLittle(t *testing.T) {
	said := regexp.MustCompile(`[\pL\pN]\S*`)
	for _, test := range []struct {
		form, moment string
		who          state.UserID
		args         screen.Args
	}{
		{"brief.start", "brief", "U1", screen.Args{Choice: "C1"}},
		{"brief.start", "brief", "U1", screen.Args{Choice: "C1", N: withMore}},
		{"backlog.test", "backlog", "U2", screen.Args{Assumption: "A1"}},
		{"backlog.own", "backlog", "U2", screen.Args{Assumption: "A2"}},
		{"backlog.own", "backlog", "U2", screen.Args{Assumption: "A2", Choice: "Survey"}},
		{"backlog.edit", "backlog", "U2", screen.Args{N: 2}},
		{"close.preview", "close", "U1", screen.Args{}},
		{"close.preview", "underway", "U1", screen.Args{}},
		{"lead.more", "brief", "U1", screen.Args{}},
		{"lead.more", "assumptions", "U1", screen.Args{}},
		{"lead.more", "rating", "U1", screen.Args{}},
		{"lead.more", "underway", "U1", screen.Args{}},
		{"timebox.settle", "timebox/settling", "U1", screen.Args{}},
		{"framing.add", "framing", "U2", screen.Args{}},
		{"framing.vote", "framing", "U2", screen.Args{}},
		{"roles.place", "roles", "U2", screen.Args{}},
		{"checkin.report", "underway", "U3", screen.Args{N: 1}},
	} {
		m := momentAt(t, test.moment)
		view, err := Open(test.form, screen.Page{Kickoff: m.K, Viewer: test.who, Now: m.Now, Args: test.args})
		if !assert.NoError(t, err, "%s at %s", test.form, test.moment) {
			continue
		}
		text := PlainForm(view)
		words := said.FindAllString(text, -1)
		assert.LessOrEqual(t, len(words), mostFormWords, "words of %s at %s:\n%s", test.form, test.moment, text)
		assert.LessOrEqual(t, len(inputsOf(view)), screen.MostFields, "fields of %s", test.form)
	}
}

// A lead who chose that the others rate is asked for no rating at a check-in.
func TestCheckinAsksNoRatingOfWhoDoesNotRate(t *testing.T) {
	m := momentAt(t, "underway")
	for _, rates := range []bool{true, false} {
		k := m.K
		if !rates {
			k.NotRating = []state.UserID{"U1"}
		}
		asked, confidence := false, false
		for round := range 3 {
			view, err := Open("checkin.report", screen.Page{Kickoff: k, Viewer: "U1", Now: m.Now, Args: screen.Args{N: 1, Round: round}})
			require.NoError(t, err)
			drawn, err := json.Marshal(view.Blocks)
			require.NoError(t, err)
			asked = asked || strings.Contains(string(drawn), "How solid the evidence is now")
			confidence = confidence || strings.Contains(string(drawn), "How confident are you?")
		}
		assert.Equal(t, rates, asked)
		assert.True(t, confidence)
	}
}

// Tests are listed in the order in which their assumptions are to be tested, and not in
// that in which people thought of them.
func TestTestsAreListedInTestOrder(t *testing.T) {
	m := momentAt(t, "backlog")
	order := m.K.Order()
	for _, id := range []string{order[2], order[0]} {
		m = take(t, m, flows.AddTest{By: flows.By{Who: "U2"}, Plan: state.Plan{Assumption: id, Method: "Look for " + id, EffortDays: 1, YesNo: true}})
	}
	view, err := Open("backlog.list", pageFor(m, "U1"))
	require.NoError(t, err)
	inOrder(t, PlainForm(view), "Look for "+order[0], "Look for "+order[2])
}
