package screens

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/flows"
)

// What a canvas takes, from the platform's page on canvases: headings of three
// levels, lists, quotes, dividers, bold; tables of 300 cells, of which ours
// has none; no HTML and no Block Kit. A quote within a list is refused, and so
// is one kind of list within another (github.com/getsentry/junior, pull
// request 1115); a table was refused for weeks (slackapi/python-slack-sdk,
// issue 1720).
func checkCanvas(t *testing.T, name string, page report.CanvasPage) {
	t.Helper()
	if n := utf8.RuneCountInString(page.Markdown); n == 0 || n > report.LongestCanvas {
		t.Errorf("%s has %d characters", name, n)
	}
	allowed := regexp.MustCompile(`^(|#{2,3} .+|- .+|> .+|---|[^#>|\s].*)$`)
	for i, l := range strings.Split(page.Markdown, "\n") {
		if !allowed.MatchString(l) {
			t.Errorf("%s, line %d is nothing that a canvas takes: %q", name, i+1, l)
		}
		bare := regexp.MustCompile(`\\.`).ReplaceAllString(l, "")
		bare = strings.TrimPrefix(bare, "> ")
		if strings.ContainsAny(bare, "[]<>`|~&@") {
			t.Errorf("%s, line %d has marks that are not escaped: %q", name, i+1, l)
		}
	}
	if strings.ContainsAny(page.Title, "\n") || utf8.RuneCountInString(page.Title) > 150 {
		t.Errorf("%s has the title %q", name, page.Title)
	}
}

func TestCanvasIsWhatACanvasTakes(t *testing.T) {
	for _, name := range []string{"close", "underway", "underway/moved", "underway/decision", "underway/settling", "ended"} {
		checkCanvas(t, name, report.Canvas(momentAt(t, name).K))
		checkCanvas(t, "hostile "+name, report.Canvas(hostileMomentAt(t, name).K))
	}
}

// Nothing that people type can mention somebody, call a channel, end a line or
// begin a heading. The marks are those of the platform's pages on canvases and
// on formatting text.
func TestCanvasTakesWordsAsWords(t *testing.T) {
	for _, text := range []string{
		"![](@U00000001)", "![](#C00000001)", "<!channel>", "<@U00000001>", "# A heading", "- a list", "1. a list", "> a quote", "---", "+ x", "= y",
		"| a | b |", "```", "a\n\n# b", "[here](https://example.org)", "**strong**", "&lt;!here&gt;", "\\![](@U1)", "\\", "\u202eback",
	} {
		k := kickoffAt(t, flows.StageUnderway)
		k.Brief.Problem, k.Framing.Settled, k.Framing.Problem = text, true, text
		k.Actions = []flows.Action{{N: 1, What: text, Owner: k.Lead().ID, Due: "2027-03-05"}}
		k.Timebox.StopIf = text
		checkCanvas(t, text, report.Canvas(k))
		if open := strings.Count(report.Canvas(k).Markdown, "\u202e") - strings.Count(report.Canvas(k).Markdown, "\u202c") - strings.Count(report.Canvas(k).Markdown, "\u2069"); open > 0 {
			t.Errorf("%q turns what follows it", text)
		}
	}
}

func TestCanvasIsAsKept(t *testing.T) {
	for _, name := range []string{"underway", "ended"} {
		golden(t, "canvas_"+name, report.Canvas(momentAt(t, name).K).Markdown)
	}
}

// The canvas is true until the next check-in: nothing on it changes with the
// day, or while one is open.
func TestCanvasSaysNothingOfTheDay(t *testing.T) {
	k := momentAt(t, "underway").K
	for _, word := range []string{"today", "left.", "tomorrow", "overdue"} {
		if strings.Contains(report.Canvas(k).Markdown, word) {
			t.Errorf("the canvas says %q", word)
		}
	}
}

func TestExtrasSayTheMend(t *testing.T) {
	k := kickoffAt(t, flows.StageUnderway)
	for _, x := range flows.AllExtras() {
		seen := map[string]flows.Fault{}
		for _, why := range []flows.Fault{flows.FaultScope, flows.FaultOff, flows.FaultPlan, flows.FaultTaken, flows.FaultFull,
			flows.FaultBarred, flows.FaultLong, flows.FaultDeleted, flows.FaultRefused} {
			k.Extras.Faults = map[flows.Extra]flows.Fault{x: why}
			p, err := extrasMessage(Page{Kickoff: k, Viewer: k.Lead().ID}, "")
			if err != nil {
				t.Fatal(err)
			}
			checkMessage(t, string(x)+" "+string(why), p)
			text := faultText(x, why)
			if other, twice := seen[text]; twice {
				t.Errorf("%s: %s and %s read alike", x, why, other)
			}
			seen[text] = why
			if !strings.HasSuffix(text, ".") {
				t.Errorf("%s %s: %q is no sentence", x, why, text)
			}
		}
	}
}

// The answer to a form has to fit into an envelope of Socket Mode, 20 kB, with
// whatever was typed.
func TestAskingWhereToStartFits(t *testing.T) {
	for _, text := range []string{"Bicycles", strings.Repeat("🚲", flows.MaxText)} {
		values := Values{}
		for _, field := range []string{"title", "problem", "why", "outcome", "out_of_bounds", "links", "markdown"} {
			values[field] = map[string]slack.BlockAction{inputAction: {Value: clip(text, flows.MaxTitle)}}
			if field != "title" {
				values[field] = map[string]slack.BlockAction{inputAction: {Value: text}}
			}
		}
		view, err := Ask("brief.start", Page{Args: Args{Choice: "C1"}, Viewer: "U1"}, values)
		if err != nil {
			t.Fatal(err)
		}
		checkView(t, "where to start", view)
		data, err := json.Marshal(view)
		if err != nil || len(data) > longestAnswer {
			t.Errorf("the answer has %d bytes (%v)", len(data), err)
		}
		if kept := strings.Contains(string(data), text); kept != (text == "Bicycles") {
			t.Errorf("what was typed is written in again: %v", kept)
		}
	}
}
