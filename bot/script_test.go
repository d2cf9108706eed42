package bot_test

import (
	"fmt"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
)

// A scene is one stage of the kickoff that the tests here go through: small,
// but with every button and form that there is.
type scene struct {
	stage string
	play  func(h *testBot)
}

func script() []scene {
	return []scene{
		{"brief", theBrief}, {"framing", theFraming}, {"roles", theRoles}, {"assumptions", theAssumptions},
		{"rating", theRating}, {"backlog", theBacklog}, {"timebox", theTimebox}, {"close", theClose}, {"underway", theDiscovery},
	}
}

// playOn goes through the scenes.
func (h *testBot) playOn() {
	h.t.Helper()
	for _, s := range script()[:scenesPlayed] {
		s.play(h)
	}
}

// mark stands in every text that people write here, and in none of ours.
const mark = "quayside"

func written(what string) string { return "Of the " + mark + " we write: " + what + "." }

func (h *testBot) start(who, channel string, people ...string) {
	h.t.Helper()
	h.must(h.ws.Client.Command(h.t.Context(), h.ids[who], channel, "/soundings", "start"))
	h.pressIn(who, "turn/brief.start", "")
	h.fill(who, text("title", "Bicycles at the "+mark), text("problem", written("nobody knows whether there is room for a bicycle")),
		text("why", written(strings.Repeat("the season begins and the queue grows, ", 25))), text("outcome", written("nobody is turned away")),
		text("out_of_bounds", written("new ships")), text("links", "https://example.org/"+mark),
		entry{"people", blockkit.Value{IDs: h.all(people...)}}, choice("pace", "1"))
	h.send(who)
	h.settle()
}

func theBrief(h *testBot) {
	h.start("ana", h.channel, "bo", "cy", "dee")
	h.act("ana", "open/lead.remove", choice("person", h.ids["dee"]))
	h.must(h.ws.Client.Command(h.t.Context(), h.ids["eve"], h.channel, "/soundings", "join"))
	h.settle()
	h.press("ana", "do/lead.admit")
	h.act("ana", "open/lead.handover", choice("to", h.ids["bo"]))
	h.settle()
	h.act("bo", "open/lead.handover", choice("to", h.ids["ana"]))
	h.settle()
	h.consider("ana", "open/lead.invite", entry{"people", blockkit.Value{IDs: h.all("gus")}})
	h.consider("ana", "open/lead.add", choice("to", h.ids["bo"]))
	h.consider("ana", "open/lead.call-off", text("why", "The pier closes for good."))
	h.act("ana", "open/lead.extend", choice("days", "1"))
	h.act("ana", "open/rating.deal", choice("how", "all"))
	h.act("ana", "open/brief.edit", text("outcome", written("somebody is let in")))
	h.consider("ana", "open/lead.steps", many("steps", "framing", "assumptions", "backlog", "timebox"))
	h.consider("ana", "do/lead.remind")
	h.consider("ana", "open/lead.missing")
	h.press("bo", "open/brief.whole")
	h.close("bo")
	h.act("bo", "open/brief.ask", text("ask", written("how many bicycles fit?")))
	h.settle()
	h.act("ana", "open/brief.answer", text("answer", written("twelve")))
	h.press("cy", "do/brief.read")
	h.press("eve", "do/brief.read")
	h.settle()
}

func theFraming(h *testBot) {
	h.consider("ana", "do/lead.reopen")
	h.await("quorum/framing/@" + h.ids["ana"])
	h.press("ana", "do/lead.day")
	h.act("cy", "open/me.hours", text("zone", "Europe/Lisbon"), many("days", "1", "2", "3", "4", "5"), choice("from", "540"), choice("to", "1020"))
	h.press("cy", "do/me.mute")
	h.act("bo", "open/framing.add", choice("level", "1"), text("text", written("people cannot plan their way across")))
	h.press("bo", "open/framing.add")
	h.pressIn("bo", "open/framing.questions", "")
	h.close("bo")
	h.press("bo", "open/framing.add")
	h.pressIn("bo", "open/framing.edit", "")
	h.fill("bo", text("text", written("people cannot plan how to get across")))
	h.send("bo")
	h.act("cy", "open/framing.add", choice("level", "0"), text("text", written("people cannot see whether there is room")))
	for i, who := range participants {
		ticks := []string{"1", "2"}
		h.act(who, "open/framing.vote", choice("level", "0"), many("ticks/0", ticks[:2-min(i, 1)]...))
	}
	h.settle()
	h.consider("ana", "open/framing.settle", text("problem", written("something else")))
	h.consider("ana", "do/framing.original")
	h.consider("ana", "do/framing.rung")
	h.consider("ana", "do/framing.level")
	h.press("ana", "do/framing.confirm")
	h.settle()
}

func theRoles(h *testBot) {
	h.press("bo", "open/framing.whole")
	h.close("bo")
	h.must(adminArchive(h.t.Context(), h.ws, h.channel, h.ids["bo"]))
	h.settle()
	h.consider("ana", "do/lead.go-on")
	h.consider("ana", "do/lead.abandon")
	h.must(adminUnarchive(h.t.Context(), h.ws, h.channel, h.ids["bo"]))
	h.settle()
	h.act("cy", "open/roles.name", text("name", mark+" office"), choice("ring", "informed"))
	for i, who := range participants {
		if ring := []string{"core", "core", "consulted", "informed"}[i]; ring == "core" {
			h.act(who, "open/roles.place", choice("ring", "consulted"), choice("ring", ring))
		} else {
			h.press(who, "do/roles.place", ring)
		}
	}
	h.settle()
	h.consider("ana", "open/roles.settle", many("ring/core", h.all("ana", "bo", "cy")...), many("ring/consulted"), many("ring/informed", h.ids["eve"]))
	h.press("ana", "do/roles.confirm")
	h.settle()
}

func theAssumptions(h *testBot) {
	for i, who := range []string{"ana", "bo", "cy"} {
		h.act(who, "open/assumptions.add", text("because", written("a hunch")),
			text("text", written([]string{"passengers look at their phones", "deckhands can count bicycles", "the harbour should lend us its mast"}[i])))
	}
	h.settle()
	h.press("bo", "open/assumptions.list")
	h.pressIn("bo", "open/assumptions.edit", "A2")
	h.fill("bo", text("text", written("deckhands can count bicycles in the dark")))
	h.send("bo")
	h.press("bo", "open/assumptions.list")
	h.pressIn("bo", "open/assumptions.import", "")
	h.fill("bo", text("csv", "Somebody at the "+mark+" pays for it, They said so"))
	h.send("bo")
	h.edit("bo", "A4")
	h.pressIn("bo", "open/assumptions.split", "A4")
	h.fill("bo", text("part/1/0", written("somebody pays for it")), text("part/2/0", written("it costs little")))
	h.send("bo")
	if h.config.Drafter != nil {
		h.otherWords()
	}
	h.press("ana", "open/lead.more")
	h.pressIn("ana", "open/assumptions.tidy", "")
	h.close("ana")
	h.consider("ana", "open/assumptions.join", choice("keep", "A1"), many("join", "A3"))
	for _, who := range participants {
		h.press(who, "do/assumptions.done")
	}
	h.settle()
	h.tidy()
}

// tidy sends back the wish that stands on the list, asks two people what says the same, and
// leaves what else stands out.
func (h *testBot) tidy() {
	h.t.Helper()
	h.consider("ana", "do/tidying.leave")
	h.press("ana", "open/tidying.look")
	for v, open := h.ws.Client.TopView(h.ids["ana"]); open; v, open = h.ws.Client.TopView(h.ids["ana"]) {
		if v.Title == "Look at A3" {
			fields := blockkit.Elements(v.Blocks)
			at := slices.IndexFunc(fields, func(e blockkit.Element) bool { return strings.HasPrefix(e.BlockID, "word/") })
			h.fill("ana", text(fields[at].BlockID, written("what do you believe?")))
		}
		if h.sending != nil {
			h.sending("ana", v, h.filled["ana"])
		}
		faults, err := h.ws.Client.Submit(h.t.Context(), h.ids["ana"], h.top("ana").ID)
		h.must(err)
		require.Empty(h.t, faults)
		h.filled["ana"] = nil
	}
	h.settle()
	h.act("ana", "open/tidying.ask", many("people", h.all("bo", "cy")...))
	h.settle()
	h.act("bo", "open/tidying.alike", many("set/1", "A1", "A2"))
	h.press("cy", "do/tidying.none")
	h.settle()
	h.press("ana", "do/tidying.leave")
	h.settle()
	h.consider("ana", "do/tidying.open")
	h.press("cy", "do/tidying.stands")
	h.settle()
}

// edit opens the form of one assumption.
func (h *testBot) edit(who, id string) {
	h.t.Helper()
	h.press(who, "open/assumptions.list")
	h.pressIn(who, "open/assumptions.edit", `"a":"`+id+`"`)
}

// otherWords asks a model that has nothing to say, and goes on by hand.
func (h *testBot) otherWords() {
	h.t.Helper()
	h.edit("bo", "A2")
	h.draft("bo", "draft/plainer", text("text/1", written("deckhands count bicycles in the dark")))
	h.edit("bo", "A6")
	h.draft("bo", "draft/split", text("part/1/2", written("it costs very little")), text("part/2/2", written("it is found soon")))
	h.press("cy", "open/assumptions.add")
	two := written("it is cheap") + " " + written("it is soon found")
	h.fill("cy", text("text", two))
	h.pressOn("cy", "draft/halves")
	h.send("cy")
	h.press("cy", "open/assumptions.add")
	h.fill("cy", text("text", two))
	h.pressOn("cy", "draft/typed")
	h.close("cy")
	h.settle()
}

// pressOn sends a form that comes back for a second look, and presses a
// button on it.
func (h *testBot) pressOn(who, action string) {
	h.t.Helper()
	_, err := h.ws.Client.Submit(h.t.Context(), h.ids[who], h.top(who).ID)
	h.must(err)
	h.pressIn(who, action, "")
}

// draft asks for a draft and for another, and writes by hand what does not
// come.
func (h *testBot) draft(who, action string, byHand ...entry) {
	h.t.Helper()
	h.pressIn(who, action, "")
	if h.sending != nil {
		h.sending(who, h.top(who), nil)
	}
	_, err := h.ws.Client.Submit(h.t.Context(), h.ids[who], h.top(who).ID)
	h.must(err)
	h.settle()
	h.fill(who, byHand...)
	h.send(who)
	h.settle()
}

// evidenceOf is far apart on A1 and near each other elsewhere.
var evidenceOf = []string{"1", "9", "1", "9"}

func theRating(h *testBot) {
	if h.config.Drafter != nil { // else the list is so short that the channel shows it whole
		h.press("bo", "open/assumptions.all")
		h.close("bo")
	}
	h.press("ana", "open/rating.ballot")
	for h.top("ana").CallbackID == "rating.ballot" {
		_, err := h.ws.Client.Submit(h.t.Context(), h.ids["ana"], h.top("ana").ID)
		h.must(err)
	}
	h.pressIn("ana", "turn/rating.ballot", "")
	h.close("ana")
	for i, who := range participants {
		h.rate(who, evidenceOf[i])
	}
	h.settle()
	h.act("bo", "open/rating.reason", text("text", written("I have seen the count")))
	h.act("cy", "open/rating.reason", text("text", written("nobody counts in winter")))
	h.settle()
	if h.config.Drafter != nil {
		h.sumUp()
	}
	for _, who := range participants {
		h.rate(who, "3")
	}
	h.settle()
}

// sumUp posts a gist of the reasons by hand, and changes it.
func (h *testBot) sumUp() {
	h.t.Helper()
	h.consider("ana", "draft/gist/1")
	h.press("ana", "draft/gist/1")
	_, err := h.ws.Client.Submit(h.t.Context(), h.ids["ana"], h.top("ana").ID)
	h.must(err)
	h.settle()
	h.pressIn("ana", "draft/others", "")
	h.settle()
	h.fill("ana", text("gist/2", written("some have counted, others have not")))
	h.send("ana")
	h.settle()
	h.press("ana", "draft/gist/1")
	h.pressIn("ana", "open/rating.gist", "")
	h.fill("ana", text("gist/0", written("some count, others do not")))
	h.send("ana")
	h.settle()
}

// rate fills in somebody's ballot, with a given evidence for A1.
func (h *testBot) rate(who, evidence string) {
	h.t.Helper()
	h.press(who, "open/rating.ballot")
	v := h.top(who)
	for _, e := range blockkit.Elements(v.Blocks) {
		value := map[string]string{"rate/importance/A1": "9", "rate/evidence/A1": evidence}[e.ActionID]
		switch {
		case !strings.HasPrefix(e.ActionID, "rate/"):
			continue
		case value == "":
			value = "5"
		}
		if h.pressing != nil {
			h.pressing(who, fakeslack.Where{ViewID: v.ID}, e)
			v = h.top(who)
		}
		h.must(h.ws.Client.Press(h.t.Context(), h.ids[who], fakeslack.Where{ViewID: v.ID}, e.ActionID, e.BlockID, blockkit.Value{Option: value}))
	}
	h.send(who)
}

func theBacklog(h *testBot) {
	for _, who := range participants {
		h.act(who, "open/backlog.kinds", choice("kind/A1", "desirability"))
	}
	h.press("ana", "open/backlog.test")
	h.pressIn("ana", "turn/backlog.own", "")
	h.pressIn("ana", "open/backlog.guide", "")
	h.close("ana")
	h.press("ana", "open/backlog.test")
	h.pressIn("ana", "turn/backlog.own", "")
	h.pressIn("ana", "turn/backlog.test", "")
	h.turn("ana")
	h.fill("ana", h.test(10)...)
	h.send("ana")
	h.press("ana", "open/backlog.list")
	h.pressIn("ana", "open/backlog.edit", "")
	h.fill("ana", h.test(12)[1:]...) // a test stays with its assumption
	h.send("ana")
	h.press("ana", "open/backlog.list")
	h.pressIn("ana", "open/backlog.edit", "")
	_, err := h.ws.Client.Submit(h.t.Context(), h.ids["ana"], h.top("ana").ID)
	h.must(err)
	h.pressIn("ana", "open/backlog.counted", "")
	h.close("ana")
	for _, who := range participants {
		h.press(who, "do/backlog.done")
	}
	h.settle()
}

func (h *testBot) test(size int) []entry {
	return []entry{choice("assumption", "A1"), text("method", "Counting at the "+mark), text("learn", written("who looks")),
		choice("mark", "share"), text("pass", "60%"), text("size", fmt.Sprint(size)), text("effort", "2"), person("owner", h.ids["ana"])}
}

func theTimebox(h *testBot) {
	for _, who := range participants {
		h.pick(who, "do/timebox.worth", "5 · as likely as not")
		h.pick(who, "do/foresight.say", "60 to 80%")
		h.pick(who, "do/timebox.cost", "A quarter of a year")
		h.pick(who, "do/timebox.vote", "2 weeks")
	}
	h.settle()
	h.act("ana", "open/timebox.settle", choice("weeks", "2"), choice("checkin", "3"),
		text("stop_if", written("nobody looks")), text("build_if", written("many look")))
	h.settle()
}

func theClose(h *testBot) {
	h.press("bo", "open/timebox.why")
	h.close("bo")
	action := []entry{text("what", written("ask the harbour")), person("owner", h.ids["ana"]), {"due", blockkit.Value{Date: "2027-03-31"}}}
	h.act("ana", "open/close.action", action...)
	h.press("ana", "open/close.list")
	h.pressIn("ana", "open/close.edit", "")
	h.fill("ana", action...)
	h.send("ana")
	h.press("ana", "open/close.preview")
	h.turn("ana", choice("go", "problem"))
	h.turn("ana", choice("go", "word/"))
	h.turn("ana", text("word", written("thank you")))
	h.close("ana")
	h.press("ana", "do/close.post")
	h.settle()
}

// turn sends a page of a form that another page answers.
func (h *testBot) turn(who string, entries ...entry) {
	h.t.Helper()
	h.fill(who, entries...)
	if h.sending != nil {
		h.sending(who, h.top(who), h.filled[who])
	}
	v := h.top(who)
	faults, err := h.ws.Client.Submit(h.t.Context(), h.ids[who], v.ID)
	h.must(err)
	after, open := h.ws.Client.TopView(h.ids[who])
	require.Empty(h.t, faults, "the form “%s” of %s says %v, and is open: %v", v.Title, who, faults, open)
	require.True(h.t, open, "the form “%s” of %s says %v, and is open: %v", v.Title, who, faults, open)
	require.NotEqual(h.t, "", after.Submit, "the form “%s” of %s says %v, and is open: %v", v.Title, who, faults, open)
	h.filled[who] = nil
}

// sayConfidence goes past what a check-in asks before, without news.
func (h *testBot) sayConfidence(who, confidence string) {
	h.t.Helper()
	h.press(who, "open/checkin.report")
	asks := func() bool {
		return slices.ContainsFunc(blockkit.Elements(h.top(who).Blocks), func(e blockkit.Element) bool { return e.BlockID == "confidence" })
	}
	for range 9 {
		if asks() {
			break
		}
		h.turn(who)
	}
	h.fill(who, choice("confidence", confidence))
	h.send(who)
}

func theDiscovery(h *testBot) {
	h.await("checkin/1")
	h.press("ana", "open/checkin.report")
	h.turn("ana", text("k/1", "8"), text("n/1", "12"), text("learnt/1", written("they look at the pier")))
	h.turn("ana", choice("confidence", "6"), many("more", "evidence", "told"))
	h.turn("ana", choice("evidence/A1", "7"))
	h.fill("ana", text("quote/1", written("it was full again")))
	h.send("ana")
	h.settle()
	h.press("ana", "open/checkin.reports")
	h.pressIn("ana", "open/checkin.correct", "")
	h.fill("ana", text("k/1", "9"), text("n/1", "12"), text("why", written("one was missed")))
	h.send("ana")
	h.sayConfidence("bo", "7")
	h.await("moved/1")
	h.press("ana", "do/lead.decide")
	h.settle()
	for _, who := range participants {
		h.press(who, "do/decision.vote", "build")
	}
	h.settle()
	h.press("ana", "do/decision.settle", "build")
	h.settle()
}
