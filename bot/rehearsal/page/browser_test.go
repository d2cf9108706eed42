package page_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image/png"
	"net/http/httptest"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/rehearsal/page"
	"soundings/bot/scenario"
)

// A browser is a tab in a real one, before a rehearsal of its own.
type browser struct {
	t    *testing.T
	ctx  context.Context
	page *page.Page
	url  string
	lead string // key of who leads
}

// How long a test of a browser may wait for one thing, and take altogether.
// One press can have twelve people answer a whole stage while the bot draws
// its pictures: a second on a quiet machine, and well over half a minute on a
// busy one under the race detector.
const (
	longestWait = 4 * time.Minute
	longestTest = 9 * time.Minute
)

var (
	rewrite = flag.Bool("rewrite", false, "rewrite the pictures of the pages")
	choices = flag.Int("choices", 120, "how many fast choices are made in the menus of ballots")
)

// TestMain lets more tests run at once than there are cores: they wait for a
// browser most of their time.
func TestMain(m *testing.M) {
	flag.Parse()
	if err := flag.Set("test.parallel", "4"); err != nil {
		panic(err)
	}
	code := m.Run()
	chromium.stop()
	os.Exit(code)
}

// readScenario reads one of the scenarios in testdata.
func readScenario(t *testing.T, name string) *scenario.Scenario {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/scenarios/" + name)
	require.NoError(t, err)
	s, err := scenario.Parse(name, data)
	require.NoError(t, err)
	return s
}

// needsChromium skips where there is none, unless one is required.
func needsChromium(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err == nil {
		return path
	}
	require.NotEqual(t, "1", os.Getenv("SOUNDINGS_REQUIRE_CHROMIUM"), "Chromium is required here: %v", err)
	t.Skip("needs Chromium: install the package chromium")
	return ""
}

// chromium is the one browser of all tests.
var chromium sharedChromium

// A sharedChromium is started by the first test that needs one.
type sharedChromium struct {
	once    sync.Once
	ctx     context.Context
	err     error
	running []func() // what ends it, the last first
}

// startChromium returns the browser in which tests open tabs of their own.
func startChromium(t *testing.T) context.Context {
	t.Helper()
	path := needsChromium(t)
	chromium.once.Do(func() { chromium.err = chromium.start(path) })
	require.NoError(t, chromium.err, "start Chromium")
	return chromium.ctx
}

func (c *sharedChromium) start(path string) error {
	profile, err := os.MkdirTemp("", "chromium")
	if err != nil {
		return err
	}
	options := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(path), chromedp.UserDataDir(profile), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
	}
	// Nobody looks at the address bar, and its list of proposals is a page that
	// redraws itself at every key pressed: a third of all work here.
	options = append(options, chromedp.Flag("disable-features", "WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup"))
	// Tests work in several tabs at once: one that is not in front counts on
	// its timers all the same.
	for _, name := range []string{"disable-background-timer-throttling", "disable-renderer-backgrounding", "disable-quic", "disable-background-networking", "disable-component-update", "disable-sync", "hide-scrollbars"} {
		options = append(options, chromedp.Flag(name, true))
	}
	allocated, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, quit := chromedp.NewContext(allocated)
	c.ctx, c.running = ctx, []func(){func() { _ = os.RemoveAll(profile) }, stop, quit}
	return chromedp.Do(ctx)
}

// stop ends the browser, where one was started.
func (c *sharedChromium) stop() {
	for _, end := range slices.Backward(c.running) {
		end()
	}
}

// newBrowser opens the channel of a script as who, on a screen so many points
// wide.
func newBrowser(t *testing.T, script *scenario.Scenario, who string, width int64) *browser {
	t.Helper()
	tabs := startChromium(t)
	p, err := page.New(page.Config{Scenario: script, Journal: journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{})})
	require.NoError(t, err)
	server := httptest.NewServer(p.Handler())
	t.Cleanup(server.Close)
	t.Cleanup(p.Close)
	ctx, done := chromedp.NewContext(tabs)
	t.Cleanup(done)
	require.NoError(t, chromedp.Do(ctx), "open a tab")
	ctx, cancel := context.WithTimeout(ctx, longestTest)
	t.Cleanup(cancel)
	b := &browser{t: t, ctx: ctx, page: p, url: server.URL, lead: script.Lead().Key}
	b.screen(width, false)
	b.visit("/as/" + who + "/in/" + p.Team().Channels()[0].ID)
	return b
}

func (b *browser) run(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, actions...))
}

// screen sets how many points wide it is, a phone's below 600, and whether
// its owner likes it dark.
func (b *browser) screen(width int64, dark bool) {
	b.t.Helper()
	if width < 600 {
		b.run(chromedp.EmulateViewport(width, 740, chromedp.EmulateMobile, chromedp.EmulatePortrait))
	} else {
		b.run(chromedp.EmulateViewport(width, 800))
	}
	scheme := &emulation.MediaFeature{Name: "prefers-color-scheme", Value: "light"}
	if dark {
		scheme.Value = "dark"
	}
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{scheme}})
	require.NoError(b.t, err)
}

// visit goes to a place and waits until its script has run.
func (b *browser) visit(path string) {
	b.t.Helper()
	b.run(chromedp.Navigate(b.url+path), chromedp.WaitReady(chromedp.CSS("html[data-ready]")))
}

// eval returns what an expression gives in the page.
func eval[T any](b *browser, expression string) T {
	b.t.Helper()
	out, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	require.NoError(b.t, err, expression)
	return out
}

// until waits for a condition of the page.
func (b *browser) until(condition string) {
	b.t.Helper()
	err := chromedp.Do(b.ctx, chromedp.Poll[chromedp.Void](condition, chromedp.WithPollingInterval(30*time.Millisecond), chromedp.WithPollingTimeout(longestWait)))
	if err != nil {
		b.t.Fatalf("wait until %s: %v; the page says:\n%s", condition, err, eval[string](b, `document.body.innerText.slice(-1500)`))
	}
}

// idle waits until everything that was done has been answered.
func (b *browser) idle() {
	b.t.Helper()
	b.until(`!document.querySelector("[aria-busy=true]") && document.getElementById("news").textContent !== "One moment."`)
}

// keys presses keys one after the other.
func (b *browser) keys(keys ...string) {
	b.t.Helper()
	for _, k := range keys {
		b.run(chromedp.KeyEvent(k))
	}
}

// tabTo moves the focus on by the tabulator until it is on what a condition
// on e says.
func (b *browser) tabTo(condition string) {
	b.t.Helper()
	for range 400 {
		if eval[bool](b, `(e => !!e && (`+condition+`))(document.activeElement)`) {
			return
		}
		b.keys(kb.Tab)
	}
	b.t.Fatalf("the tabulator never reaches %s", condition)
}

// press reaches a button by the keyboard and presses it.
func (b *browser) press(label string) {
	b.t.Helper()
	b.tabTo(fmt.Sprintf(`e.tagName === "BUTTON" && e.innerText.trim() === %q`, label))
	b.keys(kb.Enter)
	b.idle()
}

// offers reports whether a button of that label stands on the page.
func (b *browser) offers(label string) bool {
	b.t.Helper()
	return eval[bool](b, fmt.Sprintf(`[...document.querySelectorAll("button")].some(e => e.innerText.trim() === %q)`, label))
}

// goOn lets the others act and time pass, by the keyboard, until a message
// offers a button.
func (b *browser) goOn(label string) {
	b.t.Helper()
	for range 12 {
		b.press("Let the others act")
		if b.offers(label) {
			return
		}
		b.press("To the next deadline")
		if b.offers(label) {
			return
		}
	}
	b.t.Fatalf("no message offers %q; the page says:\n%s", label, eval[string](b, `document.body.innerText.slice(-1500)`))
}

// tooLow lists what is pressed, ticked or typed into and is less than 44 points high.
// Source: WCAG 2.2, 2.5.5 Target Size (Enhanced).
const tooLow = `[...document.querySelectorAll("label.choice, select, textarea, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), button:not(.plain), .places a, .message > footer a, .more summary")]
	.filter(e => e.offsetHeight > 0 && e.offsetHeight < 44).map(e => e.tagName + " " + (e.innerText || e.id).slice(0, 30) + ": " + e.offsetHeight)`

// mustFit fails where the page is wider than the screen, or holds something that is
// hard to hit.
func (b *browser) mustFit() {
	b.t.Helper()
	wide := eval[int](b, `document.documentElement.scrollWidth - innerWidth`)
	assert.LessOrEqual(b.t, wide, 0, "%s scrolls sideways by %d points", eval[string](b, "document.title"), wide)
	form := eval[int](b, `(f => f ? f.scrollWidth - f.clientWidth : 0)(document.getElementById("form"))`)
	assert.LessOrEqual(b.t, form, 0, "the form scrolls sideways by %d points", form)
	assert.Empty(b.t, eval[[]string](b, tooLow), "these are hard to hit with a thumb")
}

// heaviestPicture is how many bytes a kept picture may have.
const heaviestPicture = 120_000

// shoot takes a picture, and with -rewrite keeps it.
func (b *browser) shoot(name string) {
	b.t.Helper()
	data, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err, "picture of %s", name)
	_, err = png.Decode(bytes.NewReader(data))
	require.NoError(b.t, err, "picture of %s", name)
	assert.LessOrEqual(b.t, len(data), heaviestPicture, "picture of %s: %d bytes, want at most", name, len(data))
	if !*rewrite {
		return
	}
	require.NoError(b.t, os.WriteFile("../../../testdata/pictures/"+name+".png", data, 0o644))
}

// TestBallotByKeyboard plays a stakeholder from the start to a whole ballot
// of 18, with nothing but the keyboard, and counts what a thumb would need.
func TestBallotByKeyboard(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, readScenario(t, "ferry.yaml"), "maya", 360)
	b.goOn("Open My Ballot")
	b.press("Open My Ballot")
	b.until(`document.activeElement.id === "form-title"`)
	b.shoot("ballot")
	taps, rated, pages := 1, 0, 0
	for eval[bool](b, `!!document.getElementById("form-submit")`) {
		n := eval[int](b, `document.querySelectorAll("#form select").length`)
		b.mustFit()
		for i := range n {
			b.tabTo(fmt.Sprintf(`e === document.querySelectorAll("#form select")[%d]`, i))
			b.keys(strings.Split(strings.Repeat(kb.ArrowDown, 1+(rated+i)%9), "")...)
		}
		rated, pages = rated+n, pages+1
		taps += 2*n + 1 // a menu is opened, and a choice touched
		title := eval[string](b, `document.getElementById("form").dataset.title`)
		b.tabTo(`e.id === "form-submit"`)
		b.keys(kb.Enter)
		b.until(fmt.Sprintf(`(f => !f || f.dataset.title !== %q)(document.getElementById("form"))`, title))
		b.idle()
	}
	assert.Contains(t, eval[string](b, `document.getElementById("form").innerText`), "You have answered for 18 of 18 assumptions.")
	b.press("Close")
	taps++
	assert.Equal(t, 36, rated, "got %d menus, want 36: two for each of 18 assumptions", rated)
	t.Logf("a ballot of 18 on %d pages: %d taps", pages, taps)
	assert.LessOrEqual(t, taps, 80, "got %d taps, want at most 80", taps)
	assert.Equal(t, "Open My Ballot", eval[string](b, `document.activeElement.innerText`), "after the form the focus is on")
	b.press("Open My Ballot")
	kept := eval[[]string](b, `[...document.querySelectorAll("#form select")].map(e => e.value)`)
	for i, got := range kept {
		// the list ends with "can't say"
		want := fmt.Sprint(1 + i%9)
		assert.False(t, got != want && want != "9", "menu %d: got %q, want %q", i+1, got, want)
	}
	assert.NotEmpty(t, kept, "the ballot does not open again")
}

// chooseFast makes choices in the menus of the open form by script, 20 to
// 400 ms apart and drawn from a seed, and keeps the last one of each menu. On
// the way it notes each menu that does not show its last choice.
const chooseFast = `(async (seed, count) => {
	const below = (n) => { seed = seed * 48271 % 2147483647; return seed % n }
	window.chosen = {}
	window.overwritten = []
	for (let i = 0; i < count; i++) {
		const menus = document.querySelectorAll("#form select"), menu = menus[below(menus.length)]
		menu.value = menu.options[1 + below(9)].value
		window.chosen[menu.name] = menu.value
		menu.dispatchEvent(new Event("input", {bubbles: true}))
		menu.dispatchEvent(new Event("change", {bubbles: true}))
		await new Promise((go) => setTimeout(go, 20 + below(381)))
		for (const e of document.querySelectorAll("#form select")) {
			if (e.name in window.chosen && e.value !== window.chosen[e.name]) window.overwritten.push(i + ", " + e.name + ": " + e.value + ", not " + window.chosen[e.name])
		}
	}
	window.chosenAll = true
})`

// lostChoices lists the menus of the open form that do not show what was
// chosen last.
const lostChoices = `[...document.querySelectorAll("#form select")].filter(e => e.value !== (window.chosen[e.name] || "")).map(e => e.name + ": " + e.value + ", not " + window.chosen[e.name])`

// TestNoChoiceIsLost chooses faster than the bot answers, in three tabs at once: each menu
// keeps what was chosen last, on the page and in the ballot. A tab goes on choosing by
// itself while the next ones are opened. With -choices 1000 it takes a minute and a half.
func TestNoChoiceIsLost(t *testing.T) {
	t.Parallel()
	tabs := make([]*browser, 3)
	for seed := range tabs {
		b := newBrowser(t, readScenario(t, "five.yaml"), "timo", 360)
		b.goOn("Open My Ballot")
		b.press("Open My Ballot")
		b.run(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("%s(%d, %d); 0", chooseFast, 20270301+seed, (*choices+seed)/len(tabs))))
		tabs[seed] = b
	}
	for seed, b := range tabs {
		b.until(`window.chosenAll && !document.querySelector("#form [data-touched]")`)
		assert.Empty(t, eval[[]string](b, `window.overwritten`), "tab %d: choices that a redraw has overwritten", seed)
		assert.Empty(t, eval[[]string](b, lostChoices), "tab %d: choices that the page has lost", seed)
		b.press("Later")
		b.press("Open My Ballot")
		assert.Empty(t, eval[[]string](b, lostChoices), "tab %d: choices that the bot has lost", seed)
	}
}

// TestKickoffAsLead plays the lead, who starts the kickoff by hand and then
// lets the script help, up to the summary; on the way the page is looked at.
func TestKickoffAsLead(t *testing.T) {
	t.Parallel()
	script := readScenario(t, "five.yaml")
	if *rewrite {
		script = readScenario(t, "ferry.yaml") // for the pictures
	}
	b := newBrowser(t, script, script.Lead().Key, 360)
	b.mustFit()
	b.press("Start a kickoff")
	b.until(`document.activeElement.id === "form-title"`)
	b.keys(kb.Tab)
	b.fill("Title", "Room for bicycles")
	b.press("Start")
	b.until(`document.activeElement.getAttribute("aria-invalid") === "true"`)
	b.mustFit()
	b.fill("The problem", "Passengers with bicycles cannot tell, before they reach the pier, whether there is room on board.")
	b.tickAll("Who takes part? (optional)")
	b.press("Start")
	b.until(`!document.getElementById("form")`)
	require.Contains(t, eval[string](b, `document.querySelector("#stream").innerText`), "Room for bicycles", "the channel lacks the title")
	b.shoot("channel")
	b.mustFit()
	b.playTo("stage/close")
	b.readsTheSummary()
	b.playTo("summary")
	assert.True(t, eval[bool](b, `[...document.querySelectorAll("#stream .badge")].some(e => e.innerText === "Pinned")`), "the summary is not pinned")
	assert.Equal(t, b.place()+"/"+b.slot("summary").TS, eval[string](b, `document.querySelector(".bookmarks a").getAttribute("href")`), "the bookmark leads to")
	b.visit("/as/" + b.lead + "/canvas")
	b.mustFit()
	b.visit(b.place() + "/" + b.slot("summary").TS)
	b.run(chromedp.Evaluate[chromedp.Void](`document.querySelector("article").scrollIntoView()`))
	b.shoot("summary")
	b.mustFit()
	result := b.slot("result/rating/1")
	b.visit(b.place() + "/" + result.TS)
	b.until(`[...document.querySelectorAll("figure img")].some(e => e.complete && e.naturalWidth > 0 && e.alt.length > 40)`)
	b.run(chromedp.Evaluate[chromedp.Void](`document.querySelector("figure").scrollIntoView()`))
	b.shoot("result")
	b.mustFit()
	b.visit("/as/" + b.lead + "/home")
	b.shoot("home")
	b.mustFit()
}

// place is the address of the channel, as the lead.
func (b *browser) place() string { return "/as/" + b.lead + "/in/" + b.page.Team().Channels()[0].ID }

// slot is the message of the bot that has a name of its own; its TS is empty
// before it is there.
func (b *browser) slot(name string) fakeslack.Message {
	for _, m := range b.page.Team().Messages(b.page.Team().Channels()[0].ID) {
		if m.Metadata != nil && m.Metadata.EventPayload["slot"] == name {
			return m
		}
	}
	return fakeslack.Message{}
}

// playTo lets the script play everybody, and time pass where nobody has
// anything to do, until the bot has posted a message.
func (b *browser) playTo(slot string) {
	b.t.Helper()
	for range 150 { // the demo has the lead do some seventy things
		b.press("Answer for me")
		if b.slot(slot).TS != "" {
			return
		}
		if eval[string](b, `document.getElementById("notice").innerText`) == "" {
			continue
		}
		b.press("Let the others act")
		if eval[string](b, `document.getElementById("notice").innerText`) != "" {
			b.press("To the next deadline")
		}
	}
	b.t.Fatalf("%s never comes; the page says:\n%s", slot, eval[string](b, `document.body.innerText.slice(-1500)`))
}

// fill types into the field of a label, by the keyboard.
func (b *browser) fill(label, text string) {
	b.t.Helper()
	b.tabTo(fmt.Sprintf(`!!e.labels && e.labels.length > 0 && e.labels[0].innerText.trim() === %q`, label))
	b.run(chromedp.KeyEvent(text))
}

// tickAll ticks every box of a group, by the keyboard.
func (b *browser) tickAll(legend string) {
	b.t.Helper()
	boxes := fmt.Sprintf(`[...document.querySelectorAll("#form fieldset")].find(f => f.querySelector("legend").innerText.trim() === %q).querySelectorAll("input")`, legend)
	for i := range eval[int](b, boxes+".length") {
		b.tabTo(fmt.Sprintf(`e === %s[%d]`, boxes, i))
		if !eval[bool](b, "document.activeElement.checked") {
			b.keys(" ")
		}
	}
}
