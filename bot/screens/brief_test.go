package screens

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// start fills in the form that begins a kickoff.
func start(t *testing.T, channel string, answers map[string]string) Answer {
	t.Helper()
	p := Page{Viewer: "U1", Args: Args{Kickoff: "K9", Choice: channel}}
	view, err := Open("brief.start", p)
	if err != nil {
		t.Fatal(err)
	}
	checkView(t, "brief.start", view)
	answer, err := Submit("brief.start", p, fillIn(t, view, answers))
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

func TestStartBeginsAKickoff(t *testing.T) {
	answer := start(t, "C7", map[string]string{"title": " Bicycles ", "problem": "Nobody knows", "why": "Complaints", "outcome": "Fewer",
		"out_of_bounds": "Ships", "links": "- https://a.example\n\nhttps://b.example", "people": "U2,U1,U3", "pace": "2"})
	if len(answer.Intents) != 1 {
		t.Fatalf("answer = %+v", answer)
	}
	got := answer.Intents[0].(flows.Start)
	want := flows.Start{FromOutside: flows.FromOutside{Who: "U1"}, ID: "K9", Channel: "C7", Pace: 2,
		Brief: flows.Brief{Title: " Bicycles ", Problem: "Nobody knows", Why: "Complaints", Outcome: "Fewer", OutOfBounds: "Ships",
			Links: []string{"https://a.example", "https://b.example"}},
		People: []flows.Person{{ID: "U1"}, {ID: "U2"}, {ID: "U3"}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the form means\n%+v, want\n%+v", got, want)
	}
	if _, err := flows.Decide(flows.Kickoff{}, got, momentAt(t, "brief").Now); err != nil {
		t.Errorf("flows does not take it: %v", err)
	}
}

func TestStartAsksForAChannelWhereNoneIsKnown(t *testing.T) {
	got := start(t, "", map[string]string{"title": "T", "problem": "P", "channel": "C5"}).Intents[0].(flows.Start).Channel
	if got != "C5" {
		t.Errorf("the channel is %q, want C5", got)
	}
	answer, err := Submit("brief.start", Page{Viewer: "U1"}, entries("title", "T", "problem", "P"))
	if err != nil || answer.Errors["channel"] == "" || len(answer.Intents) > 0 {
		t.Errorf("a kickoff without a channel gives %+v, %v", answer, err)
	}
}

func TestStartTakesMarkdown(t *testing.T) {
	const pasted = "# Bicycles\n## Problem\nNobody knows\n## Why now\nComplaints\n## Links\nhttps://a.example"
	got := start(t, "C1", map[string]string{"markdown": pasted}).Intents[0].(flows.Start).Brief
	want := flows.Brief{Title: "Bicycles", Problem: "Nobody knows", Why: "Complaints", Links: []string{"https://a.example"}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the pasted brief is %+v, want %+v", got, want)
	}
	got = start(t, "C1", map[string]string{"markdown": pasted, "title": "My title", "outcome": "Fewer"}).Intents[0].(flows.Start).Brief
	if got.Title != "My title" || got.Problem != "Nobody knows" || got.Outcome != "Fewer" {
		t.Errorf("what was typed should stand, and the rest be filled in: %+v", got)
	}
	got = start(t, "C1", map[string]string{"markdown": "## Problem\nNobody knows", "title": "My title"}).Intents[0].(flows.Start).Brief
	if got.Title != "My title" || got.Problem != "Nobody knows" {
		t.Errorf("a title that was typed should do for a paste without one: %+v", got)
	}
}

func TestStartSaysAtTheFieldWhatIsMissing(t *testing.T) {
	for _, c := range []struct {
		rule  string
		fill  map[string]string
		field string
		says  string
	}{
		{"no title", map[string]string{"problem": "P"}, "title", "title"},
		{"no problem", map[string]string{"title": "T"}, "problem", "problem"},
		{"a paste without a title", map[string]string{"markdown": "## Problem\nP"}, "markdown", "no title"},
		{"a paste without a problem", map[string]string{"markdown": "# T\n"}, "markdown", "no problem"},
		{"a paste without either, and a title typed", map[string]string{"title": "T", "markdown": "## Why now\nW"}, "markdown", "no problem"},
		{"a paste with an unknown heading", map[string]string{"markdown": "# T\n## Budget\nB"}, "markdown", "“Budget”"},
		{"a paste with an unknown heading, and all typed", map[string]string{"title": "T", "problem": "P", "markdown": "# T\n## Budget\nB"}, "markdown", "“Budget”"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			answer := start(t, "C1", c.fill)
			if got := answer.Errors[c.field]; !strings.Contains(got, c.says) || len(answer.Intents) > 0 {
				t.Errorf("answer = %+v, want an error at %s that says %q", answer, c.field, c.says)
			}
		})
	}
}

func TestBriefEditChangesOnlyWhatWasChanged(t *testing.T) {
	before := momentAt(t, "brief").K.Brief
	got := filled{moment: "brief", form: "brief.edit", who: "U1", fill: map[string]string{"title": "Bikes"}}.taken(t).Brief
	before.Title = "Bikes"
	if !reflect.DeepEqual(got, before) {
		t.Errorf("the brief is %+v, want %+v", got, before)
	}
}

func TestAskAndAnswer(t *testing.T) {
	k := filled{moment: "brief", form: "brief.ask", who: "U3", fill: map[string]string{"ask": "Who counts?"}}.taken(t)
	if q := k.Brief.Questions[len(k.Brief.Questions)-1]; q.Ask != "Who counts?" || q.By != "U3" || q.Answer != "" {
		t.Errorf("the question is %+v", q)
	}
	k = filled{moment: "brief", form: "brief.answer", who: "U3", args: Args{N: 2}, fill: map[string]string{"answer": "We may"}}.taken(t)
	if q := k.Brief.Questions[1]; q.Answer != "We may" || q.Answered != "U3" {
		t.Errorf("the answer is %+v", q)
	}
}

func TestBriefStaysReadableAndQuestionsStayWelcome(t *testing.T) {
	for at, want := range map[string][]string{
		"brief": {"Mark as Read", "Ask a Question"}, "framing": {"Ask a Question"}, "close": {"Ask a Question"}, "underway": nil, "ended": nil,
	} {
		m := momentAt(t, at)
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "brief"}, m.Now)
		if err != nil {
			t.Fatal(err)
		}
		if got := labels(posting); !slices.Equal(got, want) {
			t.Errorf("at %s the brief has the buttons %q, want %q", at, got, want)
		}
		if drawn := PlainText(posting); !strings.Contains(drawn, m.K.Brief.Problem) || !strings.Contains(drawn, m.K.Brief.Outcome) {
			t.Errorf("at %s the brief cannot be read:\n%s", at, drawn)
		}
	}
}

// What a message cuts short is one press away, whole.
func TestALongBriefCanBeReadInFull(t *testing.T) {
	m := hostileMomentAt(t, "brief")
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "brief"}, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(labels(posting), "Read in Full") {
		t.Errorf("a long brief has the buttons %q", labels(posting))
	}
	view, err := Open("brief.whole", pageFor(m, "U2"))
	if err != nil {
		t.Fatal(err)
	}
	drawn := flat(PlainForm(view))
	for _, text := range []string{m.K.Brief.Problem, m.K.Brief.Why, m.K.Brief.Outcome, m.K.Brief.OutOfBounds, m.K.Brief.Links[29]} {
		if !strings.Contains(drawn, flat(text)) {
			t.Errorf("the whole brief leaves out %.40q…", text)
		}
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
	if err != nil {
		t.Fatal(err)
	}
	if k := take(t, m, intent).K; !k.Brief.Read["U3"] {
		t.Error("the brief is not marked as read")
	}
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
			words := linkWords(c.line, 200)
			address := ""
			for _, w := range words {
				if l, ok := w.(*slack.RichTextSectionLinkElement); ok {
					address = l.URL
				}
			}
			if got := plainBlock(para(words...)); got != c.want || address != c.address {
				t.Errorf("the line shows %q and leads to %q, want %q and %q", got, address, c.want, c.address)
			}
		})
	}
}

func TestALongLinkIsShownShortAndLeadsAllTheWay(t *testing.T) {
	address := "https://a.example/" + strings.Repeat("x", 400)
	l := linkWords(address, 200)[0].(*slack.RichTextSectionLinkElement)
	if l.URL != address || len([]rune(l.Text)) > 100 || !strings.HasPrefix(address, strings.TrimSuffix(l.Text, "…")) {
		t.Errorf("the link shows %q and leads to %d characters", l.Text, len(l.URL))
	}
}

func TestQuestionsThatAreNotThere(t *testing.T) {
	m := momentAt(t, "brief")
	for _, arg := range []string{"0", "99", "x", ""} {
		if _, err := Message(m.K, flows.Slot{Screen: flows.ScreenQuestion, Arg: arg}, m.Now); err == nil {
			t.Errorf("question %q was drawn", arg)
		}
	}
	p := pageFor(m, "U1")
	p.Args.N = 99
	var refused *flows.Refusal
	if _, err := Open("brief.answer", p); err == nil || errors.As(err, &refused) {
		t.Errorf("the form to answer question 99 gives %v, want an error that is no refusal", err)
	}
}
