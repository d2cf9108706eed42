package screens

import (
	"encoding/json"
	"errors"
	"strconv"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/plaintext"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// start fills in the form that begins a kickoff, with all that it may ask.
func start(t *testing.T, channel string, answers map[string]string) screen.Answer {
	t.Helper()
	p := screen.Page{Viewer: "U1", Args: screen.Args{Kickoff: "K9", Choice: channel, N: withMore}}
	view, err := Open("brief.start", p)
	require.NoError(t, err)
	checkView(t, "brief.start", view)
	answer, err := Submit("brief.start", p, fillIn(t, view, answers))
	require.NoError(t, err)
	return answer
}

func TestStartBeginsAKickoff(t *testing.T) {
	answer := start(t, "C7", map[string]string{"title": " Bicycles ", "problem": "Nobody knows", "why": "Complaints", "outcome": "Fewer",
		"out_of_bounds": "Ships", "links": "- https://a.example\n\nhttps://b.example", "people": "U2,U1,U3", "pace": "2"})
	require.Len(t, answer.Intents, 1, "answer = %+v", answer)
	got := answer.Intents[0].(flows.Start)
	want := flows.Start{FromOutside: flows.FromOutside{Who: "U1"}, ID: "K9", Channel: "C7", Pace: 2,
		Brief: state.Brief{Title: " Bicycles ", Problem: "Nobody knows", Why: "Complaints", Outcome: "Fewer", OutOfBounds: "Ships",
			Links: []string{"https://a.example", "https://b.example"}},
		People: []state.Person{{ID: "U1"}, {ID: "U2"}, {ID: "U3"}}}
	assert.Equal(t, want, got, "the form means")
	_, err := flows.Decide(flows.WithZones(state.Kickoff{}, testZones), got, momentAt(t, "brief").Now)
	assert.NoError(t, err, "flows does not take it")
}

// Most leads need no more than a title, the problem and people. What a form has asked for
// stands in it again when it comes back with a question, and nothing else does.
func TestStartNeedsLittle(t *testing.T) {
	p := screen.Page{Viewer: "U1", Args: screen.Args{Kickoff: "K9", Choice: "C7"}}
	view, err := Open("brief.start", p)
	require.NoError(t, err)
	checkView(t, "brief.start", view)
	fields := []string{"title", "problem", "people", everybody}
	assert.Equal(t, fields, inputsOf(view))
	answer, err := Submit("brief.start", p, fillIn(t, view, map[string]string{"title": "T", "problem": "Nobody knows", "people": "U2"}))
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	assert.Equal(t, 1, answer.Intents[0].(flows.Start).Pace)
	assert.Empty(t, answer.Intents[0].(flows.Start).LeaveOut)
	alone, err := Submit("brief.start", p, fillIn(t, view, map[string]string{"title": "T", "problem": "Nobody knows"}))
	require.NoError(t, err)
	assert.Equal(t, fields, inputsOf(*alone.Next))

	p.Args.N = withMore
	more, err := Open("brief.start", p)
	require.NoError(t, err)
	assert.Subset(t, inputsOf(more), fields, "what was typed has its field still")
	alone, err = Submit("brief.start", p, fillIn(t, more, map[string]string{"title": "T", "problem": "Nobody knows", "out_of_bounds": "New ships", "size": "rate", "pace": "3"}))
	require.NoError(t, err)
	assert.Equal(t, inputsOf(more), inputsOf(*alone.Next))
	assert.Contains(t, PlainForm(*alone.Next), "New ships")
	assert.Contains(t, PlainForm(*alone.Next), "3 working days")
}

func TestStartAsksForAChannelWhereNoneIsKnown(t *testing.T) {
	got := start(t, "", map[string]string{"title": "T", "problem": "P", "channel": "C5", "people": "U2"}).Intents[0].(flows.Start).Channel
	assert.Equal(t, "C5", got, "the channel")
	answer, err := Submit("brief.start", screen.Page{Viewer: "U1"}, entries("title", "T", "problem", "P"))
	assert.False(t, err != nil || answer.Errors["channel"] == "" || len(answer.Intents) > 0, "a kickoff without a channel gives %+v, %v", answer, err)
}

// A kickoff of one is asked about once: people forget to tick the others. It is no error,
// since others can join later.
func TestStartAsksWhetherNobodyElseTakesPart(t *testing.T) {
	filled := entries("title", "T", "problem", "Nobody knows")
	first, err := Submit("brief.start", screen.Page{Viewer: "U1", Args: screen.Args{Choice: "C1"}}, filled)
	require.NoError(t, err)
	require.NotNil(t, first.Next)
	assert.Empty(t, first.Intents)
	assert.Contains(t, plaintext.Blocks(first.Next.Blocks.BlockSet), "Nobody but you takes part so far")
	args, err := screen.ParseArgs(first.Next.PrivateMetadata)
	require.NoError(t, err)
	again, err := Submit("brief.start", screen.Page{Viewer: "U1", Args: args}, filled)
	require.NoError(t, err)
	require.Len(t, again.Intents, 1, "started alone all the same")
	assert.Len(t, again.Intents[0].(flows.Start).People, 1)
}

// The form comes again with a question; what was typed before it is still there.
func TestStartKeepsLinksWhenItAsks(t *testing.T) {
	const link = "https://a.example"
	filled := entries("title", "T", "problem", "P", "links", link)
	filled["pace"] = entries("pace", "1")["pace"]
	asked, err := Ask("brief.start", screen.Page{Viewer: "U1", Args: screen.Args{Choice: "C1"}}, filled)
	require.NoError(t, err)
	filled["channel"] = entries("channel", "C5")["channel"]
	again, ok := startAgain(screen.Page{Viewer: "U1"}, filled, state.Brief{Title: "T", Problem: "We have no app that shows the room on board.", Links: []string{link}})
	for name, view := range map[string]slack.ModalViewRequest{"another company reads along": asked, "a channel was chosen": again} {
		drawn, err := json.Marshal(view)
		require.NoError(t, err)
		assert.Contains(t, string(drawn), link, name)
	}
	assert.True(t, ok)
}

// pastes sends the form in which a brief is pasted.
func pastes(t *testing.T, markdown string) screen.Answer {
	t.Helper()
	p := screen.Page{Viewer: "U1", Args: screen.Args{Kickoff: "K9", Choice: "C1", N: fromPaste}}
	view, err := Open("brief.start", p)
	require.NoError(t, err)
	checkView(t, "brief.start, pasted", view)
	answer, err := Submit("brief.start", p, fillIn(t, view, map[string]string{"markdown": markdown, "people": "U2"}))
	require.NoError(t, err)
	return answer
}

func TestStartTakesMarkdown(t *testing.T) {
	got := pastes(t, "# Bicycles\n## Problem\nNobody knows\n## Why now\nComplaints\n## Links\nhttps://a.example").Intents[0].(flows.Start).Brief
	want := state.Brief{Title: "Bicycles", Problem: "Nobody knows", Why: "Complaints", Links: []string{"https://a.example"}}
	assert.Equal(t, want, got, "the pasted brief")
	again := pastes(t, "# Room\n## Problem\nWe need an app that shows the room on board.\n## Why now\nComplaints")
	require.NotNil(t, again.Next, "a problem that names a solution is looked at")
	text := PlainForm(*again.Next)
	assert.Contains(t, text, "names a solution")
	assert.Contains(t, text, "Complaints", "what was pasted stands in the fields")
	args, err := screen.ParseArgs(again.Next.PrivateMetadata)
	require.NoError(t, err)
	answer, err := Submit("brief.start", screen.Page{Viewer: "U1", Args: args}, fillIn(t, *again.Next, nil))
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	assert.Equal(t, "Room", answer.Intents[0].(flows.Start).Brief.Title)
}

func TestAPasteSaysWhatIsMissing(t *testing.T) {
	for markdown, says := range map[string]string{
		"## Problem\nP": "no title", "# T\n": "no problem", "# T\n## Budget\nB": "“Budget”",
	} {
		answer := pastes(t, markdown)
		assert.Contains(t, answer.Errors["markdown"], says)
		assert.Empty(t, answer.Intents)
	}
}

func TestStartSaysAtTheFieldWhatIsMissing(t *testing.T) {
	for _, c := range []struct {
		rule  string
		fill  block.Values
		field string
		says  string
	}{
		{"no title", entries("problem", "P"), "title", "title"},
		{"no problem", entries("title", "T"), "problem", "problem"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			answer, err := Submit("brief.start", screen.Page{Viewer: "U1", Args: screen.Args{Choice: "C1"}}, c.fill)
			require.NoError(t, err)
			assert.Contains(t, answer.Errors[c.field], c.says, "answer = %+v, want an error at %s that says", answer, c.field)
			assert.Empty(t, answer.Intents, "answer = %+v, want an error at %s that says", answer, c.field)
		})
	}
}

func TestBriefEditChangesOnlyWhatWasChanged(t *testing.T) {
	before := momentAt(t, "brief").K.Brief
	got := filled{moment: "brief", form: "brief.edit", who: "U1", fill: map[string]string{"title": "Bikes"}}.taken(t).Brief
	before.Title = "Bikes"
	assert.Equal(t, before, got, "the brief")
}

func TestAskAndAnswer(t *testing.T) {
	k := filled{moment: "brief", form: "brief.ask", who: "U3", fill: map[string]string{"ask": "Who counts?"}}.taken(t)
	q := k.Brief.Questions[len(k.Brief.Questions)-1]
	assert.Equal(t, "Who counts?", q.Ask, "the question is %+v", q)
	assert.Equal(t, state.UserID("U3"), q.By, "the question is %+v", q)
	assert.Equal(t, "", q.Answer, "the question is %+v", q)
	k = filled{moment: "brief", form: "brief.answer", who: "U3", args: screen.Args{N: 2}, fill: map[string]string{"answer": "We may"}}.taken(t)
	q = k.Brief.Questions[1]
	assert.Equal(t, "We may", q.Answer, "the answer is %+v", q)
	assert.Equal(t, state.UserID("U3"), q.Answered, "the answer is %+v", q)
}

// Whoever asks when it is built is told at once when that is decided, and the lead is
// asked all the same.
func TestWhoAsksWhenIsToldOfTheDecision(t *testing.T) {
	asked := func(moment, ask string) (state.Kickoff, string) {
		k := filled{moment: moment, form: "brief.ask", who: "U3", fill: map[string]string{"ask": ask}}.taken(t)
		arg := strconv.Itoa(len(k.Brief.Questions))
		lead, err := Message(k, flows.Slot{Screen: flows.ScreenAsked, Arg: arg, To: "U1"}, momentAt(t, moment).Now)
		require.NoError(t, err)
		assert.Contains(t, labels(lead), "Answer")
		posting, err := Message(k, flows.Slot{Screen: flows.ScreenQuestion, Arg: arg}, momentAt(t, moment).Now)
		require.NoError(t, err)
		return k, PlainText(posting)
	}
	k, says := asked("brief", "When is it live?")
	at, certain := flows.DecisionAbout(&k)
	assert.False(t, certain)
	assert.Contains(t, words.OneLine(says), "Nobody can say that yet: whether it is built at all is decided after the tests, about "+at.Format("Mon 2 Jan 2006")+".")
	_, says = asked("brief", "Who counts?")
	assert.NotContains(t, says, "Nobody can say that yet")
	k, says = asked("underway", "When is it live?") // the summary is out, and questions go on
	assert.Contains(t, words.OneLine(says), "whether it is built at all is decided on "+k.Timebox.Ends.Format("Mon 2 Jan 2006")+", when the time box ends.")
}

// Whoever comes later and whoever comes back are told the same, each welcomed in their way.
func TestWhereThingsStand(t *testing.T) {
	m := momentAt(t, "backlog")
	for arg, welcome := range map[string]string{"90": "You are in. This is where we are", "back/backlog": "Good to have you back. This is where we are"} {
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStanding, Arg: arg, To: "U2"}, m.Now)
		require.NoError(t, err)
		assert.Contains(t, PlainText(posting), welcome)
		assert.Contains(t, PlainText(posting), "Plan the tests")
	}
}

func TestBriefStaysReadableAndQuestionsStayWelcome(t *testing.T) {
	for at, want := range map[string][]string{
		"brief":   {"Read the Brief", "Mark as Read", "Ask a Question"},
		"framing": {"Read the Brief", "Ask a Question"}, "close": {"Read the Brief", "Ask a Question"},
		"underway": {"Read the Brief", "Ask a Question"}, "ended": {"Read the Brief"},
	} {
		m := momentAt(t, at)
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "brief"}, m.Now)
		require.NoError(t, err)
		assert.Equal(t, want, labels(posting), "at %s the brief has the buttons", at)
		assert.Contains(t, PlainText(posting), m.K.Brief.Problem, "at %s the problem cannot be read", at)
		view, err := Open("brief.whole", pageFor(m, "U2"))
		require.NoError(t, err)
		assert.Contains(t, PlainForm(view), m.K.Brief.Outcome, "at %s the brief cannot be read", at)
	}
}

// What a message leaves out is one press away, whole.
func TestALongBriefCanBeReadInFull(t *testing.T) {
	m := hostileMomentAt(t, "brief")
	view, err := Open("brief.whole", pageFor(m, "U2"))
	require.NoError(t, err)
	drawn := flat(PlainForm(view))
	for _, text := range []string{m.K.Brief.Problem, m.K.Brief.Why, m.K.Brief.Outcome, m.K.Brief.OutOfBounds, m.K.Brief.Links[29]} {
		assert.Contains(t, drawn, flat(text), "the whole brief leaves out %.40q…", text)
	}
}

// flat leaves out blanks, quote marks and line breaks, which a drawing sets
// anew.
func flat(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \n>\u2068\u2069", r) }), "")
}

func TestMarkAsRead(t *testing.T) {
	m := momentAt(t, "brief")
	intent, _, err := Do("brief.read", pageFor(m, "U3"))
	require.NoError(t, err)
	assert.True(t, take(t, m, intent).K.Brief.Read["U3"], "the brief is not marked as read")
}

func TestLinksLeadWhereTheySay(t *testing.T) {
	for _, c := range []struct{ rule, line, want, address string }{
		{"a bare address", "https://a.example/x", "https://a.example/x", "https://a.example/x"},
		{"words around it", "Counts: https://a.example (new)", "Counts: https://a.example (new)", "https://a.example"},
		{"no address", "ask the harbour office", "ask the harbour office", ""},
		{"another scheme is only text", "javascript:alert(1)", "javascript:alert(1)", ""},
		{"an address with somebody's name before its host is only text", "https://bank.example@evil.example/", "https://bank.example@evil.example/", ""},
		{"an address without a host is only text", "https:///x", "https:///x", ""},
	} {
		t.Run(c.rule, func(t *testing.T) {
			runs := linkWords(c.line, 200)
			address := ""
			for _, w := range runs {
				if l, ok := w.(*slack.RichTextSectionLinkElement); ok {
					address = l.URL
				}
			}
			got := plainBlock(block.Para(runs...))
			assert.Equal(t, c.want, got, "the line shows %q and leads to %q, want %q and", got, address, c.want)
			assert.Equal(t, c.address, address, "the line shows %q and leads to %q, want %q and", got, address, c.want)
		})
	}
}

func TestALongLinkIsShownShortAndLeadsAllTheWay(t *testing.T) {
	address := "https://a.example/" + strings.Repeat("x", 400)
	l := linkWords(address, 200)[0].(*slack.RichTextSectionLinkElement)
	assert.Equal(t, address, l.URL, "the link shows %q and leads to %d characters", l.Text, len(l.URL))
	assert.LessOrEqual(t, len([]rune(l.Text)), 100, "the link shows %q and leads to %d characters", l.Text, len(l.URL))
	assert.True(t, strings.HasPrefix(address, strings.TrimSuffix(l.Text, "…")), "the link shows %q and leads to %d characters", l.Text, len(l.URL))
}

func TestQuestionsThatAreNotThere(t *testing.T) {
	m := momentAt(t, "brief")
	for _, arg := range []string{"0", "99", "x", ""} {
		_, err := Message(m.K, flows.Slot{Screen: flows.ScreenQuestion, Arg: arg}, m.Now)
		assert.Error(t, err, "question %q was drawn", arg)
	}
	p := pageFor(m, "U1")
	p.Args.N = 99
	var refused *flows.Refusal
	_, err := Open("brief.answer", p)
	assert.Error(t, err, "the form to answer question 99")
	assert.False(t, errors.As(err, &refused), "the form to answer question 99")
}

// A lead who names a solution hears of it before anybody else does, once, and starts
// as they like.
func TestAThoughtOnTheProblem(t *testing.T) {
	p := screen.Page{Viewer: "U1", Now: momentAt(t, "brief").Now, Args: screen.Args{Choice: "C1"}}
	begin := func(problem string) (block.Values, screen.Answer) {
		v := typedIn(typedIn(entries("pace", "3"), "title", "Room"), "problem", problem)
		v["people"] = map[string]slack.BlockAction{block.InputAction: {SelectedUsers: []string{"U2"}}}
		answer, err := Submit("brief.start", p, v)
		require.NoError(t, err)
		return v, answer
	}
	_, answer := begin("Passengers with bicycles cannot tell whether there is room.")
	require.Len(t, answer.Intents, 1, "a plain problem starts at once")

	const problem = "We need an app that shows passengers how much room is left."
	_, answer = begin(problem)
	require.Empty(t, answer.Intents)
	require.NotNil(t, answer.Next)
	checkView(t, "brief.start", *answer.Next)
	assert.Contains(t, PlainForm(*answer.Next), "names a solution")
	assert.Contains(t, PlainForm(*answer.Next), problem)
	args, err := screen.ParseArgs(answer.Next.PrivateMetadata)
	require.NoError(t, err)
	p.Args = args
	_, other := begin("We need a website that shows how much room is left.")
	assert.NotNil(t, other.Next, "another text is looked at again")
	again, err := Submit("brief.start", p, fillIn(t, *answer.Next, nil))
	require.NoError(t, err)
	require.Len(t, again.Intents, 1, "sent as it is, it starts")
	start := again.Intents[0].(flows.Start)
	assert.Equal(t, problem, start.Brief.Problem)
	assert.Equal(t, 3, start.Pace)
	assert.Len(t, start.People, 2)
	assert.False(t, start.GoOn, "nobody has been asked about another company")
}

func TestAThoughtOnAProblemThatIsChanged(t *testing.T) {
	m := momentAt(t, "brief")
	p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID}}
	view, err := Open("brief.edit", p)
	require.NoError(t, err)
	answer, err := Submit("brief.edit", p, fillIn(t, view, map[string]string{"problem": "Our goal is that every passenger boards within five minutes."}))
	require.NoError(t, err)
	require.NotNil(t, answer.Next)
	require.Empty(t, answer.Intents)
	checkView(t, "brief.edit", *answer.Next)
	assert.Contains(t, PlainForm(*answer.Next), "This is a goal")
	p.Args, err = screen.ParseArgs(answer.Next.PrivateMetadata)
	require.NoError(t, err)
	answer, err = Submit("brief.edit", p, fillIn(t, *answer.Next, nil))
	require.NoError(t, err)
	require.Len(t, answer.Intents, 1)
	take(t, m, answer.Intents[0])

	p.Args.Saw = ""
	answer, err = Submit("brief.edit", p, fillIn(t, view, nil))
	require.NoError(t, err)
	assert.Len(t, answer.Intents, 1, "what stood there is not looked at again")
}

// Single steps are ticked on the page that follows; left as it is, all of them stay.
func TestStartLetsTheStepsBeChosen(t *testing.T) {
	answer := start(t, "C7", map[string]string{"title": "T", "problem": "P", "size": "steps", "people": "U2"})
	require.Len(t, answer.Intents, 1)
	assert.Empty(t, answer.Intents[0].(flows.Start).LeaveOut, "until the page is sent, it has every step")
	require.NotNil(t, answer.Next)
	assert.Equal(t, "lead.steps", answer.Next.CallbackID)
	checkView(t, "the steps", *answer.Next)
	m := momentAt(t, "brief")
	p := screen.Page{Kickoff: m.K, Viewer: "U1", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID, Stage: "brief"}}
	for ticked, want := range map[string][]state.Stage{
		"framing,roles,assumptions,backlog,timebox": nil,
		"assumptions,backlog":                       {state.StageFraming, state.StageRoles, state.StageTimebox},
	} {
		sent, err := Submit("lead.steps", p, fillIn(t, *answer.Next, map[string]string{"steps": ticked}))
		require.NoError(t, err)
		assert.Equal(t, want, take(t, m, sent.Intents[0]).K.LeftOut, ticked)
	}
}
