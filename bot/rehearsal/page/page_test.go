package page_test

import (
	"bufio"
	"context"
	"html"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack/wire"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/rehearsal"
	"soundings/bot/rehearsal/page"
	"soundings/bot/scenario"
)

// A visitor is somebody at the page, with a browser that runs no scripts.
type visitor struct {
	t    *testing.T
	page *page.Page
	url  string
	base string // /as/ines
	here string // the page they look at
	html string // what it shows
}

// complaints fails a test when the page says that it cannot draw something.
type complaints struct{ t *testing.T }

func (c complaints) Enabled(_ context.Context, l slog.Level) bool { return l >= slog.LevelError }
func (c complaints) WithAttrs([]slog.Attr) slog.Handler           { return c }
func (c complaints) WithGroup(string) slog.Handler                { return c }
func (c complaints) Handle(_ context.Context, r slog.Record) error {
	r.Attrs(func(a slog.Attr) bool {
		c.t.Errorf("%s: %v", r.Message, a.Value)
		return true
	})
	return nil
}

func newVisitor(t *testing.T, who string) *visitor {
	t.Helper()
	return newVisitorOf(t, nil, who)
}

// newVisitorOf is one where another script than the demo is played.
func newVisitorOf(t *testing.T, script *scenario.Scenario, who string) *visitor {
	t.Helper()
	p, err := page.New(page.Config{Scenario: script, Journal: journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{}), Logger: slog.New(complaints{t})})
	require.NoError(t, err)
	server := httptest.NewServer(p.Handler())
	t.Cleanup(server.Close)
	t.Cleanup(p.Close)
	v := &visitor{t: t, page: p, url: server.URL}
	v.as(who)
	return v
}

// A site elsewhere whose name is made to lead to this machine would be of one
// origin with the page, and could act as anyone.
func TestThePageIsKnownUnderItsOwnNameAlone(t *testing.T) {
	p, err := page.New(page.Config{Journal: journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{}), Host: "harbour.local"})
	require.NoError(t, err)
	t.Cleanup(p.Close)
	for host, want := range map[string]int{
		"127.0.0.1:8090": http.StatusFound, "[::1]:8090": http.StatusFound, "192.168.1.5": http.StatusFound,
		"localhost:8090": http.StatusFound, "harbour.local:8090": http.StatusFound, "Harbour.Local": http.StatusFound,
		"rebound.example:8090": http.StatusMisdirectedRequest, "localhost.rebound.example": http.StatusMisdirectedRequest,
		"127.0.0.1.rebound.example": http.StatusMisdirectedRequest, "": http.StatusMisdirectedRequest,
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		p.Handler().ServeHTTP(w, r)
		assert.Equal(t, want, w.Code, host)
	}
}

// as looks at the channel as somebody.
func (v *visitor) as(who string) {
	v.t.Helper()
	v.base = "/as/" + who
	v.visit(v.base + "/in/" + v.channel())
}

func (v *visitor) channel() string { return v.page.Team().Channels()[0].ID }

func (v *visitor) visit(path string) {
	v.t.Helper()
	v.here = path
	resp, err := http.Get(v.url + path)
	require.NoError(v.t, err)
	v.take(resp)
}

func (v *visitor) take(resp *http.Response) {
	v.t.Helper()
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	require.NoError(v.t, err)
	require.Equal(v.t, http.StatusOK, resp.StatusCode, "%s: %s", resp.Request.URL, body)
	v.html = string(body)
}

// post sends a form of the page, and follows it back to where they were.
func (v *visitor) post(to string, pairs ...string) {
	v.t.Helper()
	form := url.Values{"back": {v.here}}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	resp, err := http.PostForm(v.url+v.base+to, form)
	require.NoError(v.t, err)
	v.take(resp)
}

// press presses the last button of a label on the page, with what else its
// form holds.
func (v *visitor) press(label string, pairs ...string) {
	v.t.Helper()
	buttons := regexp.MustCompile(`<button[^>]*name="do" value="([^"]*)"[^>]*>`+regexp.QuoteMeta(label)+`</button>`).FindAllStringSubmatchIndex(v.html, -1)
	require.NotEmpty(v.t, buttons, "there is no button %q on the page", label)
	last := buttons[len(buttons)-1]
	places := regexp.MustCompile(`name="at" value="([^"]*)"`).FindAllStringSubmatch(v.html[:last[0]], -1)
	v.post("/act", append([]string{"at", places[len(places)-1][1], "do", html.UnescapeString(v.html[last[2]:last[3]])}, pairs...)...)
}

// notice is what the page has told them of.
func (v *visitor) notice() string {
	found := regexp.MustCompile(`<p class="notice">([^<]*)</p>`).FindStringSubmatch(v.html)
	if found == nil {
		return ""
	}
	return html.UnescapeString(found[1])
}

func (v *visitor) mustShow(words ...string) {
	v.t.Helper()
	for _, w := range words {
		if !strings.Contains(v.html, w) {
			v.t.Errorf("%s lacks %s:\n%s", v.here, w, v.html[max(0, len(v.html)-3000):])
		}
	}
}

func (v *visitor) mustNotShow(words ...string) {
	v.t.Helper()
	for _, w := range words {
		assert.NotContains(v.t, v.html, w, "%s shows", v.here)
	}
}

func TestLeadStartsByForm(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	v.mustShow("You are</span> <strong>Inês</strong>", "09:00 in Lisbon", "22:00 in Auckland", "Nothing has been said here yet")
	v.post("/say", "channel", v.channel(), "text", "/soundings start")
	v.mustShow(`<dialog id="form"`, "Start a kickoff", `name="field:title:in"`)
	v.press("Start", "field:title:in", "Bikes & boats", "field:size:in", "all", "field:pace:in", "1")
	v.mustShow(`aria-invalid="true"`, `class="error"`, `value="Bikes &amp; boats"`)
	v.press("Start", "field:title:in", "Bikes & boats", "field:problem:in", "Nobody knows whether\r\nthere is room.", "field:size:in", "all", "field:pace:in", "1",
		"field:people:in", v.page.Team().Users()[2].ID)
	v.mustNotShow(`<dialog id="form"`)
	v.mustShow("Bikes &amp; boats", "Nobody knows whether<br>there is room.", "Mark as Read")
}

// started is a visitor to whom the lead of the script has sent a kickoff.
func started(t *testing.T, who string) *visitor {
	t.Helper()
	v := newVisitor(t, who)
	v.post("/time", "do", "others")
	require.Equal(t, "", v.notice())
	v.mustShow("Room for bicycles on the Ellorin ferries", "Mark as Read")
	return v
}

func TestThanksAreForOneAlone(t *testing.T) {
	t.Parallel()
	v := started(t, "tui")
	const note = "Only you see this"
	mine := strings.Count(v.html, note)
	v.as("ines")
	hers := strings.Count(v.html, note)
	v.as("tui")
	v.press("Mark as Read")
	got := strings.Count(v.html, note)
	assert.Equal(t, mine+1, got, "Tui sees %d notes", got)
	v.as("ines")
	got = strings.Count(v.html, note)
	assert.Equal(t, hers, got, "Inês sees %d notes, want %d as before", got, hers)
}

// What somebody has done themselves the script does not do for them again.
func TestScriptDoesNotRepeatAPerson(t *testing.T) {
	t.Parallel()
	v := started(t, "bento")
	v.press("Ask a Question")
	v.press("Ask", "field:ask:in", "Who counts today?")
	v.mustNotShow(`<dialog id="form"`)
	v.post("/time", "do", "me") // what is left is to mark the brief as read
	require.Equal(t, "", v.notice(), "reading is left to the script")
	asked := ""
	for _, m := range v.page.Team().Messages(v.channel()) {
		asked += string(wire.Encode(m.Blocks))
	}
	assert.Contains(t, asked, "Who counts today?", "the script has asked again for Bento, who had asked himself")
	assert.NotContains(t, asked, "May a count leave the ship", "the script has asked again for Bento, who had asked himself")
}

func TestClockMovesWhenAsked(t *testing.T) {
	t.Parallel()
	v := started(t, "tui")
	clock := regexp.MustCompile(`<time datetime="([^"]*)"><span class="day">`)
	before := clock.FindStringSubmatch(v.html)[1]
	v.visit(v.here)
	assert.Equal(t, before, clock.FindStringSubmatch(v.html)[1], "looking moved the clock from %s to", before)
	v.post("/time", "do", "deadline")
	assert.Greater(t, clock.FindStringSubmatch(v.html)[1], before, "the deadline moved the clock from %s to", before)
	v.mustShow("Framing the problem")
}

func TestNothingToMoveTo(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	v.post("/time", "do", "deadline")
	got := v.notice()
	assert.True(t, strings.HasPrefix(got, "No deadline is ahead"), "got %q", got)
	v.post("/time", "do", "others")
	got = v.notice()
	assert.True(t, strings.HasPrefix(got, "Nobody else has anything to do"), "got %q", got)
}

// After each act stands what has happened, and for whom the kickoff waits; who is not
// going to answer is said to be so.
func TestTheyHearWhatHappenedAndForWhomItWaits(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "maya")
	v.post("/time", "do", "others")
	assert.Equal(t, "Asha, Noor and 2 others asked about the brief. Marek, Asha and 8 others read the brief. Inês answered a question. Waiting for you.", v.happened())
	v.post("/time", "do", "others")
	assert.Equal(t, "Nobody else has anything to do now. Do it yourself, or go to the next deadline.", v.notice())
	assert.Equal(t, "Waiting for you.", v.happened())
	v.press("Mark as Read")
	assert.Equal(t, "Waiting for you, Inês, Tui and 9 others.", v.happened(), "the next step is open at once")
	v.as("owen")
	assert.Equal(t, "Waiting for you, Inês, Tui and 9 others.", v.happened(), "what others have done since is known here as well")
	v.post("/time", "do", "others")
	assert.Equal(t, "Tui, Yuki and 4 others put the problem in other words. Inês answered a question. Kofi, Marek and 8 others chose a level and wordings. Waiting for you; Maya will not answer on their own.", v.happened())
	v.post("/time", "do", "deadline")
	assert.Equal(t, "“Framing the problem” is closed: the lead settles it. Waiting for Inês.", v.happened())
}

// happened is what the page says beside the clock.
func (v *visitor) happened() string {
	found := regexp.MustCompile(`role="status" data-part>(.*)</div>`).FindStringSubmatch(v.html)
	require.NotNil(v.t, found)
	return strings.TrimSpace(html.UnescapeString(regexp.MustCompile(`</?p>`).ReplaceAllString(strings.ReplaceAll(found[1], "</p><p>", " "), "")))
}

// A form that was opened and left starts nothing, so the lead still can.
func TestOthersStartWhereAPersonDidNot(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "maya")
	v.post("/say", "channel", v.channel(), "text", "/soundings start")
	v.press("Not Now")
	v.post("/time", "do", "others")
	v.mustShow("Room for bicycles on the Ellorin ferries")
}

func TestWriting(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "tui")
	say := func(text string) { v.post("/say", "channel", v.channel(), "text", text) }
	say("Hello @ines, <b>look</b>")
	v.mustShow(`<span class="mention">@Inês</span>, &lt;b&gt;look&lt;/b&gt;`, "Log as assumption")
	say("/soundings")
	v.mustShow("Only you see this", "/soundings start")
	for text, want := range map[string]string{"/other": "There is no command /other here: try /soundings.", " ": "There is nothing to send: write something first."} {
		say(text)
		assert.Equal(t, want, v.notice(), text)
	}
	ts := v.page.Team().Messages(v.channel())[0].TS
	v.visit(v.base + "/in/" + v.channel() + "/" + ts)
	v.post("/say", "channel", v.channel(), "thread", ts, "text", "An answer")
	v.mustShow("An answer", "Back to #kickoff")
	v.as("ines")
	v.mustShow("<mark>@Inês</mark>", "1 message in the thread")
	v.mustNotShow("An answer</p>")
}

func TestShortcutOpensItsForm(t *testing.T) {
	t.Parallel()
	v := started(t, "tui")
	v.post("/say", "channel", v.channel(), "text", "Crews count faster than we think")
	messages := v.page.Team().Messages(v.channel())
	v.post("/shortcut", "channel", v.channel(), "ts", messages[len(messages)-1].TS, "id", "log-assumption")
	assert.False(t, v.notice() == "" && !strings.Contains(v.html, "Only you see this") && !strings.Contains(v.html, "<dialog id=\"form\""), "neither a form nor a word why not")
}

func TestShortcutFromAnywhere(t *testing.T) {
	t.Parallel()
	v := started(t, "tui")
	v.visit("/as/tui/home")
	v.mustShow(`id="shortcut-start-kickoff"`)
	v.post("/shortcut", "id", "start-kickoff")
	v.mustShow("<dialog id=\"form\"", "In which channel?")
}

func TestHomeTab(t *testing.T) {
	t.Parallel()
	v := started(t, "tui")
	v.visit("/as/tui/home")
	v.mustShow("<h1>Home tab</h1>", `name="at" value="home"`)
}

func TestStaleButtonsSaySo(t *testing.T) {
	t.Parallel()
	v := started(t, "tui")
	v.post("/act", "at", "message:"+v.channel()+":1.000000", "do", "press::do%2Fbrief.read:")
	got := v.notice()
	assert.True(t, strings.HasPrefix(got, "That is no longer there"), "got %q", got)
	v.post("/act", "at", "view:V99999999", "do", "submit")
	got = v.notice()
	assert.True(t, strings.HasPrefix(got, "That is no longer there"), "got %q", got)
}

func TestAddressesThatLeadNowhere(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	for _, path := range []string{"/as/nobody/home", "/as/soundings/home", "/as/ines/in/C99999999", "/as/ines/in/" + v.channel() + "/1.000000",
		"/as/ines/in/" + v.page.Team().DM(v.page.Team().Users()[2].ID), "/files/F99999999/x.png"} {
		resp, err := http.Get(v.url + path)
		require.NoError(t, err)
		_ = resp.Body.Close()
		assert.Equal(t, http.StatusNotFound, resp.StatusCode, "%s: got %s, want 404", path, resp.Status)
	}
}

// Other sites' pages cannot act here, nor send anybody elsewhere.
func TestOtherSitesAreKeptOut(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	post := func(origin, back string) *http.Response {
		t.Helper()
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, v.url+"/as/ines/time", strings.NewReader(url.Values{"do": {"deadline"}, "back": {back}}.Encode()))
		require.NoError(t, err)
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", origin)
		resp, err := client.Do(req)
		require.NoError(t, err)
		_ = resp.Body.Close()
		return resp
	}
	assert.Equal(t, http.StatusForbidden, post("https://example.com", "/").StatusCode, "from another site")
	assert.Equal(t, "/", post(v.url, "//example.com/").Header.Get("Location"), "leads to")
	resp, err := http.Get(v.url + "/as/ines/home")
	require.NoError(t, err)
	_ = resp.Body.Close()
	assert.Contains(t, resp.Header.Get("Content-Security-Policy"), "default-src 'none'", "policy")
}

func TestTroubleOnDemand(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	v.mustNotShow("is on</strong>")
	v.post("/trouble", "fault", "lost", "fault", "doubled")
	assert.Equal(t, "lost=3,doubled=3", v.page.Team().Faults.Now().String())
	v.mustShow("is on</strong>", `value="lost" checked`)
	v.post("/trouble")
	assert.False(t, v.page.Team().Faults.Now().Any(), "it goes on")
	v.post("/trouble", "fault", "rain")
	assert.Contains(t, v.notice(), "the faults are slow")
}

// TestSharingOnDemand lets another company into the channel: starting there
// asks first, and what was typed stays.
func TestSharingOnDemand(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	v.mustNotShow("Shared with another company")
	v.post("/share", "do", "share")
	v.mustShow("Shared with another company", "Stop sharing the channel")
	v.post("/say", "channel", v.channel(), "text", "/soundings start")
	typed := []string{"field:title:in", "Bikes & boats", "field:problem:in", "Nobody knows.", "field:size:in", "all", "field:pace:in", "3",
		"field:people:in", v.page.Team().Users()[2].ID}
	v.press("Start", typed...)
	v.mustShow(`<dialog id="form"`, "Another company reads this channel", `value="Bikes &amp; boats"`, "Nobody knows.")
	assert.Empty(t, v.page.Team().Messages(v.channel()), "messages stand in the channel already")
	v.press("Start Anyway", typed...)
	v.mustNotShow(`<dialog id="form"`)
	v.mustShow("Read the Brief")
	v.post("/share", "do", "stop")
	v.mustNotShow("Shared with another company")
}

func TestNewsArrive(t *testing.T) {
	t.Parallel()
	v := newVisitor(t, "ines")
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, v.url+"/as/ines/news", nil)
	require.NoError(t, err)
	resp, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer resp.Body.Close()
	lines := bufio.NewScanner(resp.Body)
	lines.Scan() // how soon to come back
	v.post("/say", "channel", v.channel(), "text", "Hello")
	for lines.Scan() {
		if lines.Text() == "data: changed" {
			return
		}
	}
	t.Errorf("the stream ended without news: %v", lines.Err())
}

// With a problem of somebody's own the others say what fits any problem, rate what
// was added by hand, and take no number from it.
func TestOwnProblem(t *testing.T) {
	t.Parallel()
	v := newVisitorOf(t, readScenario(t, "five.yaml"), "lena")
	v.mustShow("Bring a problem of your own", "Or see the demo: Waiting for an allotment garden. Lena starts it")
	v.post("/say", "channel", v.channel(), "text", "/soundings start")
	everybody := []string{"field:title:in", "Late parcels", "field:problem:in", "Shops hear too late that a parcel has not left.", "field:size:in", "all", "field:pace:in", "1"}
	for _, u := range v.page.Team().Users() {
		if !u.Bot && u.Name != "ayla" && u.Name != "sena" {
			everybody = append(everybody, "field:people:in", u.ID)
		}
	}
	v.press("Start", everybody...)
	v.goOn("Add an Assumption")
	v.press("Add an Assumption")
	v.press("Add", "field:text:in", "Shops would tell their customers at once.", "field:because:in", "", "field:id:in", "A1")
	v.mustShow("Another one?")
	heard := v.goOn("Check In")
	assert.NotRegexp(t, "Ayla|Sena|others", heard, "two have done something in which they take no part")
	said := regexp.MustCompile(`\s+`).ReplaceAllString(rehearsal.Transcript(v.page.Team(), v.channel(), time.UTC), " ")
	assert.Regexp(t, `A1 Shops would tell their customers at once\. Importance \d[.\d]* \(\w+\), evidence \d[.\d]* \(\w+\)`, said, "nobody has rated what was added by hand")
	assert.Contains(t, said, "10 assumptions to rate", "there are nine of the others beside A1")
	assert.NotRegexp(t, "(?i)garden|allotment|waiting list", said)
}

// goOn lets the others act, and time pass where nobody has anything to do, until there
// is a button of that label. It returns what was told on the way.
func (v *visitor) goOn(label string) (heard string) {
	v.t.Helper()
	for range 40 {
		if strings.Contains(v.html, ">"+label+"</button>") {
			return heard
		}
		if v.post("/time", "do", "others"); v.notice() != "" {
			v.post("/time", "do", "deadline")
		}
		heard += v.happened() + "\n"
	}
	v.t.Fatalf("no button says %q; the page ends with:\n%s", label, v.html[max(0, len(v.html)-3000):])
	return heard
}
