package bot_test

import (
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/report"
	"soundings/flows/state"
	"soundings/prompts"
	"soundings/prompts/modeltest"
)

// An assumption that holds two beliefs, with a reason that is nobody else's
// business, and what a model that does well makes of it.
const (
	twoBeliefs   = "Commuters would book a space for their bicycle and they would remunerate us for it."
	becauseTold  = "They told me so on board."
	plainerDraft = "Commuters would book a space for their bicycle and pay us for it."
	plainAnswer  = `{"plain":"` + plainerDraft + `"}`
	splitAnswer  = `{"parts":["Commuters would book a space for their bicycle.","Commuters would pay us for a space."]}`
	gistDraft    = "Some point to neighbours whose parking costs money. Others see that people on this line book nothing in advance."
)

// atTheList is a kickoff that has come to the assumptions. Bo, who does not
// lead, has added one.
func atTheList(t *testing.T, answers ...modeltest.Answer) *desk {
	t.Helper()
	d := atTheLadder(t, roomOnBoard, answers...)
	d.toTheList()
	return d
}

func (d *desk) toTheList() {
	d.t.Helper()
	d.voteAll()
	d.press("Ana", "do/framing.confirm")
	d.pass(5 * time.Minute)
	d.act("Ana", "open/lead.steps", many("steps", "assumptions", "backlog", "timebox"))
	d.pass(5 * time.Minute)
	d.add("Bo", twoBeliefs, becauseTold)
}

// add adds an assumption, past a second look.
func (d *desk) add(who, text, because string) {
	d.t.Helper()
	d.press(who, "open/assumptions.add")
	d.submit(who, map[string]blockkit.Value{"text": {Text: text}, "because": {Text: because}})
	if _, open := d.ws.Client.TopView(d.ids[who]); open {
		d.submit(who, nil)
	}
	d.pass(time.Minute)
}

// edit opens the form of an assumption, from the list.
func (d *desk) edit(who, id string) {
	d.t.Helper()
	d.press(who, "open/assumptions.list")
	for _, e := range blockkit.Elements(d.top(who).Blocks) {
		if e.ActionID == "open/assumptions.edit" && strings.Contains(e.Value, `"a":"`+id+`"`) {
			d.must(d.ws.Client.Press(d.t.Context(), d.ids[who], fakeslack.Where{ViewID: d.top(who).ID}, e.ActionID, e.BlockID, blockkit.Value{}))
			return
		}
	}
	d.t.Fatalf("%s is not offered to change %s", who, id)
}

// draftOf asks for a draft in the form of an assumption, up to what comes.
func (d *desk) draftOf(who, id, action string) {
	d.t.Helper()
	d.edit(who, id)
	d.pressIn(who, action, "")
	d.submit(who, nil)
	d.pass(time.Minute)
}

// fields fills in the inputs whose names begin so, in their order.
func (d *desk) fields(who, prefix string, texts ...string) map[string]blockkit.Value {
	d.t.Helper()
	out := map[string]blockkit.Value{}
	for _, b := range d.top(who).Blocks {
		if id, _ := b["block_id"].(string); strings.HasPrefix(id, prefix) && len(texts) > 0 {
			out[id], texts = blockkit.Value{Text: texts[0]}, texts[1:]
		}
	}
	return out
}

// Its author sees what would be sent, and to whom, before anything is; the
// draft comes to nobody else, and is marked until somebody changes it.
func TestPlainerWordsForAnAssumption(t *testing.T) {
	t.Parallel()
	d := atTheList(t, modeltest.Says(plainAnswer))
	d.edit("Bo", "A1")
	d.pressIn("Bo", "draft/plainer", "")
	shown := wordsOf(d.top("Bo").Blocks)
	d.reads("Bo", shown, d.config.Drafter.Host(), "second-pen", twoBeliefs)
	d.readsNot("Bo", shown, becauseTold, "key-of-no-use", "Bo ")
	require.Empty(t, d.model.Requests(), "requests were sent before Bo agreed")
	d.submit("Bo", nil)
	d.pass(time.Minute)
	sent := string(d.model.Requests()[0].Raw)
	d.reads("the model", sent, "remunerate")
	d.readsNot("the model", sent, becauseTold, "key-of-no-use", d.ids["Bo"])
	d.readsNot("the channel", d.everywhere(), plainerDraft)

	d.submit("Bo", nil) // as it is
	_, open := d.ws.Client.TopView(d.ids["Bo"])
	assert.False(t, open, "the form is still open, and shows the words of before")
	d.pass(5 * time.Minute)
	d.press("Ana", "open/assumptions.list")
	d.reads("Ana", wordsOf(d.top("Ana").Blocks), plainerDraft, "(a machine's draft)")
	d.close("Ana")
	a := d.assumption("A1")
	assert.False(t, a.Text != plainerDraft || !a.Drafted || a.Because != becauseTold || a.By != state.UserID(d.ids["Bo"]), "the list holds %+v", a)
	for name, want := range map[string]float64{"soundings_model_calls_total": 1, "soundings_model_tokens_total": modeltest.PromptTokens} {
		label := map[bool]string{true: "prompt"}[want > 1]
		assert.True(t, d.counted(name, label) == want, name)
	}
	d.edit("Ana", "A1")
	d.submit("Ana", map[string]blockkit.Value{"text": {Text: "Commuters would book a space and pay us."}})
	d.pass(5 * time.Minute)
	a = d.assumption("A1")
	assert.False(t, a.Drafted || a.By != state.UserID(d.ids["Bo"]), "after a change the list holds %+v", a)
	d.readsNot("the channel", d.everywhere(), "(a machine's draft)")
}

func (d *desk) assumption(id string) state.Assumption {
	d.t.Helper()
	k := d.kickoff()
	a, ok := k.Assumption(id)
	require.True(d.t, ok, "there is no %s", id)
	return a
}

// A draft that is discarded, or that comes too late, changes nothing.
func TestPlainerWordsAreDiscarded(t *testing.T) {
	t.Parallel()
	d := atTheList(t, modeltest.Says(plainAnswer))
	d.draftOf("Bo", "A1", "draft/plainer")
	d.reads("Bo", wordsOf(d.top("Bo").Blocks), "Only you see it.")
	d.must(d.ws.Client.CloseAll(d.ids["Bo"]))
	a := d.assumption("A1")
	assert.Equal(t, twoBeliefs, a.Text, "the list holds %+v", a)
	assert.False(t, a.Drafted, "the list holds %+v", a)
	d.edit("Bo", "A1")
	d.pressIn("Bo", "draft/plainer", "")
	d.submit("Bo", nil)
	d.edit("Ana", "A1")
	d.submit("Ana", map[string]blockkit.Value{"withdraw": {Options: []string{"yes"}}})
	d.pass(time.Minute)
	d.reads("Bo", wordsOf(d.top("Bo").Blocks), "not on the list any more")
	n := len(d.model.Requests())
	assert.Equal(t, 1, n, "the model was asked %d times, want once: the second time for nothing", n)
}

// The lead takes another's entry apart: the parts are its author's, and the
// lead does not learn whose.
func TestAnAssumptionIsSplit(t *testing.T) {
	t.Parallel()
	d := atTheList(t, modeltest.Says(splitAnswer))
	d.edit("Ana", "A1")
	d.pressIn("Ana", "draft/split", "")
	d.readsNot("Ana", wordsOf(d.top("Ana").Blocks), "Bo", d.ids["Bo"], becauseTold)
	d.submit("Ana", nil)
	d.pass(time.Minute)
	d.readsNot("Ana", wordsOf(d.top("Ana").Blocks), "Bo", d.ids["Bo"])
	const own = "Commuters would pay for a space on the ferry."
	d.submit("Ana", d.fields("Ana", "part/2", own))
	d.pass(5 * time.Minute)
	want := []state.Assumption{
		{ID: "A1", By: state.UserID(d.ids["Bo"]), Text: twoBeliefs, Because: becauseTold, Withdrawn: true},
		{ID: "A2", By: state.UserID(d.ids["Bo"]), Text: "Commuters would book a space for their bicycle.", Because: becauseTold, Drafted: true},
		{ID: "A3", By: state.UserID(d.ids["Bo"]), Text: own, Because: becauseTold},
	}
	k := d.kickoff()
	assert.True(t, slices.EqualFunc(k.Assumptions, want, func(a, b state.Assumption) bool {
		return a.ID == b.ID && a.By == b.By && a.Text == b.Text && a.Because == b.Because && a.Withdrawn == b.Withdrawn && a.Drafted == b.Drafted
	}), "the list holds %+v, want %+v", k.Assumptions, want)
}

// What is not on the list yet comes onto it before anything is sent.
func TestTwoBeliefsAreSplitWhileTheyAreAdded(t *testing.T) {
	t.Parallel()
	d := atTheList(t, modeltest.Says(splitAnswer))
	const other = "Tourists would book a space for a tandem and they would pay for it."
	d.press("Ana", "open/assumptions.add")
	d.submit("Ana", map[string]blockkit.Value{"text": {Text: other}})
	d.reads("Ana", wordsOf(d.top("Ana").Blocks), "There may be two beliefs")
	d.pressIn("Ana", "draft/typed", "")
	assert.Equal(t, other, d.assumption("A2").Text, "the list holds")
	d.reads("Ana", wordsOf(d.top("Ana").Blocks), "Sent to: ", other)
	require.Empty(t, d.model.Requests(), "requests were sent before Ana agreed")
	d.must(d.ws.Client.CloseAll(d.ids["Ana"]))
	d.press("Ana", "open/assumptions.add")
	d.submit("Ana", map[string]blockkit.Value{"text": {Text: "The pier has a sign and it is read."}, "because": {Text: "We looked."}})
	d.pressIn("Ana", "draft/halves", "")
	d.submit("Ana", nil)
	a, b := d.assumption("A3"), d.assumption("A4")
	assert.Equal(t, "The pier has a sign.", a.Text, "the list holds %+v and %+v", a, b)
	assert.Equal(t, "It is read.", b.Text, "the list holds %+v and %+v", a, b)
	assert.Equal(t, "We looked.", a.Because, "the list holds %+v and %+v", a, b)
	assert.Equal(t, "We looked.", b.Because, "the list holds %+v and %+v", a, b)
}

// toTheSplit goes on to where A1 is split, and gives reasons without a name.
func (d *desk) toTheSplit(reasons ...string) {
	d.t.Helper()
	d.add("Ana", "The crew counts.", "")
	for _, who := range []string{"Ana", "Bo"} {
		d.press(who, "do/assumptions.done")
	}
	d.pass(5 * time.Minute)
	if _, _, asked := d.look("Ana", "do/tidying.leave", ""); asked {
		d.press("Ana", "do/tidying.leave")
		d.pass(5 * time.Minute)
	}
	for i, who := range []string{"Ana", "Bo"} {
		d.press(who, "open/rating.ballot")
		v := d.top(who)
		for _, e := range blockkit.Elements(v.Blocks) {
			if strings.HasPrefix(e.ActionID, "rate/") {
				d.must(d.ws.Client.Press(d.t.Context(), d.ids[who], fakeslack.Where{ViewID: v.ID}, e.ActionID, e.BlockID,
					blockkit.Value{Option: []string{"1", "9"}[i]}))
			}
		}
		for d.submit(who, nil); d.top(who).CallbackID == "rating.because"; { // which may be left empty
			d.submit(who, nil)
		}
	}
	d.pass(5 * time.Minute)
	for _, text := range reasons {
		d.reason(text)
	}
}

func (d *desk) reason(text string) {
	d.t.Helper()
	for _, m := range d.ws.Messages(d.channel) {
		for _, e := range blockkit.Elements(m.Blocks) {
			if e.ActionID == "open/rating.reason" && strings.Contains(e.Value, `"a":"A1"`) {
				d.must(d.ws.Client.Press(d.t.Context(), d.ids["Bo"], fakeslack.Where{Channel: d.channel, TS: m.TS}, e.ActionID, e.BlockID, blockkit.Value{}))
				d.submit("Bo", map[string]blockkit.Value{"text": {Text: text}})
				d.pass(5 * time.Minute)
				return
			}
		}
	}
	d.t.Fatal("nobody can say why")
}

var parkingReasons = []string{"My neighbours pay for parking already.", "On our line nobody books anything in advance."}

// A gist is offered with the second unsigned reason, to the lead alone, who
// posts it or does not; it stands in the split's thread as a machine's draft
// until somebody words it anew.
func TestAGistOfTheReasons(t *testing.T) {
	t.Parallel()
	d := atTheList(t, modeltest.Says(`{"gist":"`+gistDraft+`"}`))
	d.toTheSplit(parkingReasons[0])
	_, _, ok := d.look("Ana", "draft/gist/1", "")
	require.False(t, ok, "one reason alone is offered to be summed up")
	d.reason(parkingReasons[1])
	_, _, ok = d.look("Bo", "draft/gist/1", "")
	assert.False(t, ok, "a participant sees the button")
	d.press("Ana", "draft/gist/1")
	d.reads("Ana", wordsOf(d.top("Ana").Blocks), d.config.Drafter.Host(), parkingReasons[0], parkingReasons[1], twoBeliefs)
	d.submit("Ana", nil)
	d.pass(time.Minute)
	d.reads("Ana", wordsOf(d.top("Ana").Blocks), "Only you see it.")
	d.readsNot("the channel", d.everywhere(), gistDraft)
	d.submit("Ana", nil)
	d.pass(time.Minute)
	split, gist := d.slot("split/A1"), d.slot("gist/A1")
	assert.Equal(t, split.TS, gist.ThreadTS, "the gist stands in %q with", gist.ThreadTS)
	assert.Contains(t, wordsOf(gist.Blocks), gistDraft, "the gist stands in %q with", gist.ThreadTS)
	d.reads("the channel", wordsOf(gist.Blocks), "A machine's draft, read and posted by Ana.")
	files, err := report.Files(d.kickoff())
	d.must(err)
	at := slices.IndexFunc(files, func(f report.File) bool { return strings.HasSuffix(f.Name, "summary.md") })
	d.reads("the summary", string(files[at].Data), "in short (a machine's draft): "+gistDraft)

	d.press("Ana", "draft/gist/1")
	d.pressIn("Ana", "open/rating.gist", "")
	const own = "Parking costs some neighbours money, and others book nothing."
	d.submit("Ana", d.fields("Ana", "gist", own))
	d.pass(time.Minute)
	said := wordsOf(d.slot("gist/A1").Blocks)
	d.reads("the channel", said, own, "Written by Ana")
	d.readsNot("the channel", said, "machine", gistDraft)
}

// slot is the message that shows a slot.
func (d *desk) slot(name string) fakeslack.Message {
	d.t.Helper()
	k := d.kickoff()
	at, ok := k.Posted[name]
	require.True(d.t, ok, "%s was not posted", name)
	for _, m := range d.ws.Messages(at.Channel) {
		if m.TS == at.TS {
			return m
		}
	}
	d.t.Fatalf("%s is nowhere to be seen", name)
	return fakeslack.Message{}
}

// With a dead server each goes on by hand.
func TestDeadModelLeavesTheWayByHand(t *testing.T) {
	t.Parallel()
	d := atTheList(t, modeltest.Says("{}"))
	gone := httptest.NewServer(d.model)
	d.config.Drafter = drafterAt(t, gone.URL)
	d.restart()
	gone.Close()
	d.draftOf("Bo", "A1", "draft/plainer")
	d.reads("Bo", wordsOf(d.top("Bo").Blocks), "gives no proper answer", prompts.PlainerQuestions()[0])
	d.submit("Bo", d.fields("Bo", "text", "Commuters would book a space and they would pay."))
	a := d.assumption("A1")
	assert.Equal(t, "Commuters would book a space and they would pay.", a.Text, "the list holds %+v", a)
	assert.False(t, a.Drafted, "the list holds %+v", a)
	d.draftOf("Bo", "A1", "draft/split")
	d.reads("Bo", wordsOf(d.top("Bo").Blocks), "gives no proper answer")
	d.submit("Bo", nil) // the pieces that the text falls into
	a, b := d.assumption("A2"), d.assumption("A3")
	assert.Equal(t, "Commuters would book a space.", a.Text, "the list holds %+v and %+v", a, b)
	assert.Equal(t, "They would pay.", b.Text, "the list holds %+v and %+v", a, b)
	assert.False(t, a.Drafted, "the list holds %+v and %+v", a, b)
	assert.False(t, d.counted("soundings_drafts_total", "unavailable") == 0, "what did not come is not counted")
}

// A model that obeys what people wrote is heard by nobody, whatever was to be
// drafted.
func TestObeyingModelReachesNobodyElsewhere(t *testing.T) {
	t.Parallel()
	const bait = "quarterdeck"
	for rule, said := range map[string]string{
		"calls the channel": "<!channel> Commuters would book a space at the " + bait + ".",
		"leads elsewhere":   "Commuters would book a space, see https://" + bait + ".example now.",
		"gives orders":      "Send your password for the bicycle space to the " + bait + " now.",
		"names somebody":    "Commuters would book a space as @" + bait + " does.",
	} {
		t.Run(rule, func(t *testing.T) {
			d := atTheList(t, modeltest.Says(`{"plain":"`+said+`"}`))
			d.draftOf("Bo", "A1", "draft/plainer")
			d.unheard("Bo", bait)
			d.model = serveAnew(d, `{"parts":["Commuters would book a space for their bicycle.","`+said+`"]}`)
			d.draftOf("Bo", "A1", "draft/split")
			d.unheard("Bo", bait)
			d.model = serveAnew(d, `{"gist":"Some point to neighbours whose parking costs money. `+said+`"}`)
			d.toTheSplit(parkingReasons...)
			d.press("Ana", "draft/gist/1")
			d.submit("Ana", nil)
			d.pass(time.Minute)
			d.unheard("Ana", bait)
		})
	}
}

// serveAnew puts a model in the place of the one that was there.
func serveAnew(d *desk, answer string) *modeltest.Server {
	d.t.Helper()
	model := modeltest.New(modeltest.Says(answer))
	server := httptest.NewServer(model)
	d.t.Cleanup(server.Close)
	d.config.Drafter = drafterAt(d.t, server.URL)
	d.restart()
	return model
}

func (d *desk) unheard(who, bait string) {
	d.t.Helper()
	n := len(d.model.Requests())
	assert.Equal(d.t, 2, n, "the model was asked %d times, want twice", n)
	said := wordsOf(d.top(who).Blocks)
	d.reads(who, said, "did not pass our checks")
	d.readsNot(who, said, bait)
	d.must(d.ws.Client.CloseAll(d.ids[who]))
	d.readsNot("the channel", d.everywhere(), bait)
}

// Without a model nothing of it is offered, and an assumption is taken apart
// by hand.
func TestWithoutAModelItGoesByHand(t *testing.T) {
	t.Parallel()
	d := &desk{testBot: newPair(t)}
	d.toTheLadder(roomOnBoard)
	d.toTheList()
	d.edit("Bo", "A1")
	for _, e := range blockkit.Elements(d.top("Bo").Blocks) {
		assert.False(t, strings.HasPrefix(e.ActionID, "draft/"), "%s is offered although no model is set up", e.ActionID)
	}
	d.pressIn("Bo", "open/assumptions.split", "")
	d.submit("Bo", nil)
	_, open := d.ws.Client.TopView(d.ids["Bo"])
	assert.False(t, open, "a form is still open, and shows what is not on the list any more")
	k := d.kickoff()
	listed := k.Listed()
	assert.False(t, len(listed) != 2 || listed[0].Text != "Commuters would book a space for their bicycle." || listed[1].Text != "They would remunerate us for it.", "the list holds %+v", listed)
}

func TestWithoutAModelNoGistIsOffered(t *testing.T) {
	t.Parallel()
	d := &desk{testBot: newPair(t)}
	d.toTheLadder(roomOnBoard)
	d.toTheList()
	d.toTheSplit(parkingReasons...)
	_, _, ok := d.look("Ana", "draft/gist/1", "")
	assert.False(t, ok, "a gist is offered although no model is set up")
}
