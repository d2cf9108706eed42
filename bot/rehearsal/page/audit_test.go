package page_test

import (
	"os"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// TestPagesAreAccessible has an accessibility engine look at the pages, light
// and dark, narrow and wide. SOUNDINGS_AXE names its script: axe.min.js of the
// npm package axe-core, which is not kept here.
func TestPagesAreAccessible(t *testing.T) {
	path := os.Getenv("SOUNDINGS_AXE")
	if path == "" {
		t.Skip("needs the npm package axe-core: set SOUNDINGS_AXE to its axe.min.js")
	}
	t.Parallel()
	engine, err := os.ReadFile(path)
	require.NoError(t, err)
	b := newBrowser(t, readScenario(t, "ferry.yaml"), "maya", 360)
	a := &audit{b, string(engine)}
	a.look("the empty channel")
	b.run(chromedp.Evaluate[chromedp.Void](`document.getElementById("who").open = true`))
	a.look("the list of people")
	b.press("Start a kickoff")
	b.press("Start")
	a.look("a form with errors")
	b.press("Not Now")
	for _, form := range []string{"Ask a Question", "Add a Wording", "Choose", "Core Team", "Add an Assumption"} {
		a.form(form, "Not Now")
	}
	b.goOn("Open My Ballot")
	a.look("the channel")
	b.press("Open My Ballot")
	a.look("a ballot")
	b.press("Later")
	b.visit(eval[string](b, `[...document.querySelectorAll(".places a")].find(e => e.innerText === "Private").getAttribute("href")`))
	a.look("private messages")
	b.visit("/as/maya/in/" + b.page.Team().Channels()[0].ID)
	a.form("Add a Test", "Not Now")
	b.press("Name the Risks")
	a.look("the form of Name the Risks")
	b.press("Not Now")
	b.visit("/as/maya/in/" + b.page.Team().Channels()[0].ID + "/" + b.slot("result/rating/1").TS)
	a.look("the map")
	b.visit("/as/maya/home")
	a.look("the home tab")
	b.visit("/as/ines/home")
	a.look("the lead's home tab")
	b.visit(b.place())
	b.playTo("summary")
	b.visit(b.place() + "/" + b.slot("summary").TS)
	a.look("the summary")
	b.visit("/as/ines/canvas")
	a.look("the canvas")
	b.visit("/as/maya/in/" + b.page.Team().Channels()[0].ID)
	a.form("Check In", "Not Now")
	b.run(chromedp.Navigate(summaryURL(t)))
	a.look("the summary for any browser")
}

// form waits for the button of a form, and looks at the form.
func (a *audit) form(label, close string) {
	a.t.Helper()
	a.goOn(label)
	a.press(label)
	a.until(`!!document.getElementById("form")`)
	a.look("the form of " + label)
	a.press(close)
}

// An audit is an engine at work in a browser.
type audit struct {
	*browser
	engine string
}

// look reports what the engine has against the page as it stands.
func (a *audit) look(what string) {
	a.t.Helper()
	if !eval[bool](a.browser, `typeof axe === "object"`) {
		a.run(chromedp.Evaluate[chromedp.Void](a.engine + "; 0"))
	}
	for _, s := range []struct {
		name  string
		width int64
		dark  bool
	}{{"phone, light", 360, false}, {"phone, dark", 360, true}, {"desktop, light", 1280, false}, {"desktop, dark", 1280, true}} {
		a.screen(s.width, s.dark)
		found, err := chromedp.Run(a.ctx, chromedp.Evaluate[[]string](`axe.run().then(r => r.violations.map(v =>
			v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 200) + " " + n.failureSummary).join(" | ")))`, chromedp.EvalAwaitPromise))
		require.NoError(a.t, err, "%s, %s", what, s.name)
		for _, v := range found {
			a.t.Errorf("%s, %s: %s", what, s.name, v)
		}
	}
	a.screen(360, false)
}
