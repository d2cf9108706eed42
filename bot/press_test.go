package bot_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/journal"
	"soundings/bot/screens/screen"
	"soundings/flows/state"
	"soundings/prompts"
)

// A wrong is somebody who must not do something.
type wrong struct {
	rule string
	who  string
	team string // whose payloads say that they come from this team
}

// An attempt is something that was done rightly, to be done wrongly.
type attempt struct {
	scene   int
	who     string // who did it rightly
	rule    rule
	name    string           // of its rule
	element blockkit.Element // a button or choice
	form    *fakeslack.View  // the form in which it stands, or which is sent
	entries []entry          // of a form that is sent
	sent    bool
	stale   bool // has been tried after its end
}

// A guard watches a kickoff: whatever somebody is about to do rightly, it lets
// everybody do who must not.
type guard struct {
	*testBot
	t        *testing.T
	scene    int
	attempts []*attempt
	known    map[string]bool
	posted   map[string]string // copies of buttons in the lobby, by action and value
	shown    []string          // every action that was on a screen
	presses  int
}

func (g *guard) scenes() []string {
	var names []string
	for _, s := range script() {
		names = append(names, s.stage)
	}
	return append(names, always)
}

func TestOnlyThoseWhoMay(t *testing.T) {
	t.Parallel()
	h := newTestBot(t, options{drafter: idleDrafter{}})
	other := h.ws.AddChannel(fakeslack.Channel{Name: "another", Members: []string{h.ws.BotUser(), h.ids["hal"]}})
	h.start("hal", other, "hal")
	g := &guard{testBot: h, t: t, known: map[string]bool{}, posted: map[string]string{}}
	h.pressing, h.sending = g.pressing, g.sending
	for i, s := range script()[:scenesPlayed] {
		g.scene = i
		if s.stage == "framing" {
			g.consider("ana", "draft/ladder")
		}
		if s.stage == "timebox" {
			g.weeksForm()
		}
		if s.stage == "close" {
			g.shared()
		}
		s.play(h)
		if s.stage == "close" {
			g.send("ana") // the question whether others may read the summary
			g.settle()
		}
		g.lookAround()
		switch s.stage {
		case "brief":
			g.greetings()
		case "framing":
			g.unmute()
		}
		g.scene = i + 1
		g.late()
	}
	require.Empty(h.t, h.clock.Failed())
	if scenesPlayed == len(script()) {
		g.nothingForgotten()
	}
	t.Logf("%d buttons and forms, %d wrong presses", len(g.attempts), g.presses)
}

// shared lets another company into the channel: once the lead says by a button
// that this is well, and once the question is still open.
func (g *guard) shared() {
	g.t.Helper()
	g.must(g.ws.Share(g.t.Context(), g.channel, true))
	g.settle()
	g.press("ana", "do/lead.outside")
	g.settle()
	for _, on := range []bool{false, true} {
		g.must(g.ws.Share(g.t.Context(), g.channel, on))
		g.settle()
	}
}

// An idleDrafter is there to be asked, and nobody asks it.
type idleDrafter struct{}

func (idleDrafter) Host() string                 { return "127.0.0.1" }
func (idleDrafter) Model() string                { return "idle" }
func (idleDrafter) Request(prompts.Input) string { return "A request." }
func (idleDrafter) Draft(context.Context, prompts.Input) ([]string, prompts.Usage, error) {
	return nil, prompts.Usage{}, prompts.ErrNoDraft
}

// weeksForm votes by the form that a reminder and the home tab offer.
func (g *guard) weeksForm() {
	e := blockkit.Element{ActionID: "open/timebox.vote", Label: "Vote on the Weeks",
		Value: screen.Args{Kickoff: g.key().Kickoff, Stage: string(state.StageTimebox)}.String()}
	g.pressing("cy", fakeslack.Where{}, e)
	g.must(g.ws.Client.Press(g.t.Context(), g.ids["cy"], g.copyOf(e), e.ActionID, "", blockkit.Value{}))
	g.fill("cy", choice("weeks", "4"))
	g.send("cy")
}

// unmute tries the button that a message has only when it is drawn anew.
func (g *guard) unmute() {
	_, e := g.find("cy", "do/me.mute", "")
	e.ActionID, e.Label = "do/me.unmute", "Remind Me Again"
	g.pressing("cy", fakeslack.Where{}, e)
	g.must(g.ws.Client.Press(g.t.Context(), g.ids["cy"], g.copyOf(e), e.ActionID, "", blockkit.Value{}))
	k, err := g.bot.Kickoffs.Load(g.t.Context(), g.key())
	assert.NoError(g.t, err, "cy is still muted")
	assert.False(g.t, slices.ContainsFunc(k.People, func(p state.Person) bool { return p.Muted }), "cy is still muted")
}

// greetings tries the two buttons that stand on the home tab and in the first
// message to a channel.
func (g *guard) greetings() {
	g.t.Helper()
	for _, e := range []blockkit.Element{
		{ActionID: "do/me.join", Label: "Ask to Join", Value: screen.Args{Kickoff: g.key().Kickoff}.String()},
		{ActionID: "open/brief.start", Label: "Start a Kickoff", Value: screen.Args{Choice: g.channel}.String()},
		{ActionID: "turn/brief.start", Label: "More", Value: screen.Args{Choice: g.channel}.String()},
	} {
		d := &attempt{scene: g.scene, who: "cy", name: named(e.ActionID), element: e, rule: rules()[named(e.ActionID)]}
		g.try(wrong{"what has been done already", "cy", ""}, d)
		d.stale = d.name == "brief.start" // once a kickoff has ended, another may begin
		g.attempts = append(g.attempts, d)
	}
}

// pressing is called before somebody presses a button or makes a choice.
func (g *guard) pressing(who string, at fakeslack.Where, e blockkit.Element) {
	d := &attempt{scene: g.scene, who: who, name: named(e.ActionID), element: e}
	key := e.ActionID + " " + e.Value
	if at.ViewID != "" {
		v := g.top(who)
		d.form = &v
		if strings.HasPrefix(e.ActionID, "rate/") {
			key = d.name + " " + v.PrivateMetadata
		}
	}
	g.note(key, d)
}

// sending is called before somebody sends a form.
func (g *guard) sending(who string, v fakeslack.View, entries []entry) {
	g.note("form "+v.CallbackID+" "+v.PrivateMetadata, &attempt{scene: g.scene, who: who, name: v.CallbackID, form: &v, entries: entries, sent: true})
}

// note lets everybody do an attempt who must not, the first time that it comes up.
func (g *guard) note(key string, d *attempt) {
	g.t.Helper()
	if g.known[key] {
		return
	}
	g.known[key] = true
	r, ok := rules()[d.name]
	require.True(g.t, ok, "there is no rule for %s", d.name)
	d.rule = r
	g.secondRound(d)
	for _, w := range g.wrongs(d) {
		g.try(w, d)
	}
	g.attempts = append(g.attempts, d)
}

// secondRound tries what belongs to the first round of rating as soon as the
// second one is open.
func (g *guard) secondRound(d *attempt) {
	if d.name != "rating.ballot" || !strings.Contains(d.element.Value, `"r":2`) {
		return
	}
	for _, old := range g.attempts {
		if old.scene == g.scene && slices.Contains([]string{"rating.ballot", "importance", "evidence"}, old.name) {
			old.stale = true
			g.try(wrong{"a round that has closed", old.who, ""}, old)
		}
	}
}

// wrongs lists who must not do an attempt.
func (g *guard) wrongs(d *attempt) []wrong {
	if d.rule.any || d.name == "brief.whole" {
		return nil
	}
	all := []wrong{{"an outsider", "gus", ""}, {"a former participant", "dee", ""}, {"the lead of another kickoff", "hal", ""},
		{"a guest", "ivy", ""}, {"somebody of another company", "jon", ""}, {"another team", d.who, "T0ANOTHER"}}
	if d.rule.lead && !(d.rule.look && !d.sent) && d.who == "ana" {
		all = append(all, wrong{"a participant", "cy", ""})
	}
	if d.rule.own && d.sent {
		all = append(all, wrong{"a participant whose it is not", "eve", ""})
	}
	return all
}

// try does an attempt wrongly: nothing may change, and the person is told so.
func (g *guard) try(w wrong, d *attempt) {
	g.t.Helper()
	if g.presses++; g.presses%wrongEvery != 0 {
		return
	}
	before := g.written()
	said := g.do(w, d)
	after := g.written()
	assert.Equal(g.t, after, before, "%s, %s: the journal changed from %v to", w.rule, d, before)
	if d.rule.look && said == "" {
		return
	}
	assert.True(g.t, isSentence(said), "%s, %s: was told %q", w.rule, d, said)
}

func (d *attempt) String() string {
	switch {
	case d.sent:
		return "form " + d.name + " of " + d.who
	case d.form != nil:
		return d.element.ActionID + " in form " + d.form.CallbackID
	}
	return d.element.ActionID
}

// written is how far each journal has come.
func (g *guard) written() map[journal.Key]int {
	g.t.Helper()
	out := map[journal.Key]int{}
	for _, team := range []string{g.ws.TeamID(), "T0ANOTHER"} {
		keys, err := g.journal.Index.All(g.t.Context(), team)
		g.must(err)
		for _, key := range keys {
			k, err := g.bot.Kickoffs.Load(g.t.Context(), key)
			g.must(err)
			out[key] = int(k.Version)
		}
	}
	return out
}

// do does an attempt as somebody, and returns what they were told. The platform's
// own client would not let them, so what they press are copies: of a button,
// in the lobby, and of a form, on their own screen.
func (g *guard) do(w wrong, d *attempt) string {
	g.t.Helper()
	id, ctx := g.ids[w.who], g.t.Context()
	under := g.ws.Client.Views(id)
	defer func() {
		if len(under) == 0 {
			g.close(w.who)
		}
	}()
	if len(under) > 0 { // they are about to do it rightly: their own form stays as it is
		under = slices.Clone(under)
		defer g.reopen(w.who, under, g.filled[w.who])
	}
	switch {
	case d.sent:
		g.open(w.who, *d.form)
		for _, e := range d.entries {
			g.must(g.ws.Client.Type(id, g.top(w.who).ID, e.block, "in", e.value))
		}
		g.from(w.team)
		faults, err := g.ws.Client.Submit(ctx, id, g.top(w.who).ID)
		g.from("")
		assert.NoError(g.t, err, "%s, %s", w.rule, d)
		for _, fault := range faults {
			return fault
		}
		return g.notice(w.who, d.form.Title)
	case d.form != nil:
		g.open(w.who, *d.form)
		v := blockkit.Value{}
		if strings.HasPrefix(d.element.ActionID, "rate/") {
			v.Option = "7"
		}
		g.from(w.team)
		err := g.ws.Client.Press(ctx, id, fakeslack.Where{ViewID: g.top(w.who).ID}, d.element.ActionID, d.element.BlockID, v)
		g.from("")
		assert.NoError(g.t, err, "%s, %s", w.rule, d)
		return g.notice(w.who, d.form.Title)
	}
	at, heard := g.copyOf(d.element), len(ephemerals(g.ws, g.lobby, id))
	g.from(w.team)
	err := g.ws.Client.Press(ctx, id, at, d.element.ActionID, "", blockkit.Value{})
	g.from("")
	assert.NoError(g.t, err, "%s, %s", w.rule, d)
	said := ephemerals(g.ws, g.lobby, id)[heard:]
	if len(said) != 1 {
		top, open := g.ws.Client.TopView(id)
		assert.False(g.t, open && !d.rule.look, "%s, %s: opened the form “%s”", w.rule, d, top.Title)
		return ""
	}
	return said[0].Text
}

// notice is what a form says that stands in the place of another one, or on
// top of it.
func (g *guard) notice(who, instead string) string {
	v, open := g.ws.Client.TopView(g.ids[who])
	if !open || v.Title == instead || v.Submit != "" {
		return ""
	}
	return wordsOf(v.Blocks)
}

// open puts a copy of a form onto somebody's screen.
func (g *guard) open(who string, v fakeslack.View) {
	g.t.Helper()
	knob := blockkit.Element{ActionID: block.InputAction, Label: "Knob"} // the bot passes it over
	g.must(g.ws.Client.Press(g.t.Context(), g.ids[who], g.copyOf(knob), knob.ActionID, "", blockkit.Value{}))
	words := func(s string) map[string]any { return map[string]any{"type": "plain_text", "text": s} }
	view := map[string]any{"type": "modal", "callback_id": v.CallbackID, "private_metadata": v.PrivateMetadata,
		"title": words(v.Title), "close": words(v.Close), "blocks": v.Blocks}
	if v.Submit != "" {
		view["submit"] = words(v.Submit)
	}
	g.call("views.open", map[string]any{"trigger_id": g.front.trigger, "view": view})
}

// reopen gives somebody the form back that they had before.
func (g *guard) reopen(who string, views []fakeslack.View, filled []entry) {
	g.t.Helper()
	g.open(who, views[len(views)-1])
	for _, e := range filled {
		g.must(g.ws.Client.Type(g.ids[who], g.top(who).ID, e.block, "in", e.value))
	}
}

// copyOf is a copy of a button in the lobby, where everybody sees it.
func (g *guard) copyOf(e blockkit.Element) fakeslack.Where {
	g.t.Helper()
	key := e.ActionID + " " + e.Value
	if g.posted[key] == "" {
		button := map[string]any{"type": "button", "action_id": e.ActionID, "text": map[string]any{"type": "plain_text", "text": e.Label}}
		if e.Value != "" {
			button["value"] = e.Value
		}
		g.call("chat.postMessage", map[string]any{"channel": g.lobby, "text": "A copy.",
			"blocks": []any{map[string]any{"type": "actions", "elements": []any{button}}}})
		all := g.ws.Messages(g.lobby)
		g.posted[key] = all[len(all)-1].TS
	}
	return fakeslack.Where{Channel: g.lobby, TS: g.posted[key]}
}

// late tries what has ended with the last scene, as those who might do it
// before: a stale button, a stale form.
func (g *guard) late() {
	g.t.Helper()
	at := g.scenes()[g.scene]
	for _, d := range g.attempts {
		end := d.rule.until
		if end == "" {
			end = g.scenes()[d.scene]
		}
		over := slices.Index(g.scenes(), end) < g.scene || end == always && at == always
		if d.stale || !over || d.rule.look || d.name == "lead.day" {
			continue
		}
		d.stale = true
		if d.name == "brief.start" && d.who != "ana" {
			continue // of the other kickoff
		}
		g.try(wrong{"after its time, in " + at, d.who, ""}, d)
	}
}

// lookAround notes what is on everybody's screens.
func (g *guard) lookAround() {
	for _, c := range g.ws.Channels() {
		for _, m := range g.ws.Messages(c.ID) {
			for _, e := range blockkit.Elements(m.Blocks) {
				g.shown = append(g.shown, e.ActionID)
			}
		}
	}
}

// A reminder of a step that is over still has its buttons. Whoever presses one hears that
// it has closed, and the reminder then asks for what is open now; no Web API call is made.
func TestAnOldReminderIsBroughtUpToDate(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.pass(6 * time.Hour)
	reminders := p.ws.Messages(p.ws.DM(p.ids["Bo"]))
	require.Len(t, reminders, 1, "what Bo was sent")
	at := fakeslack.Where{Channel: p.ws.DM(p.ids["Bo"]), TS: reminders[0].TS}
	old, there := elementIn(reminders[0].Blocks, "do/brief.read", "")
	require.True(t, there, "the reminder has no button")
	p.press("Ana", "open/lead.missing")
	p.submit("Ana", nil)
	p.pass(5 * time.Minute)
	_, _, asks := p.look("Bo", "open/framing.vote", "")
	require.True(t, asks, "framing is not open")
	before := p.called("chat.update")
	p.pressAt("Bo", at, old)
	m, _ := p.ws.Message(at.Channel, at.TS)
	p.readsNot("Bo", wordsOf(m.Blocks), "The brief waits to be read", "Mark as Read")
	p.reads("Bo", wordsOf(m.Blocks), "Say how broad the problem should be", "Choose")
	assert.Equal(t, before, p.called("chat.update"), "calls of chat.update")
}
