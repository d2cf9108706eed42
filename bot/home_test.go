package bot_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/journal"
	"soundings/flows/event"
	"soundings/flows/state"
)

func TestHomeOfSomebodyNew(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.reads("Cy", p.openHome("Cy"), "A kickoff brings a team", "type /soundings start", "add me with /invite")
	p.reads("Ivy", p.openHome("Ivy"), "A kickoff brings a team", "type /soundings start", "a full member of this workplace")
	before := p.called("views.publish")
	p.event(fmt.Sprintf(`{"type":"app_home_opened","user":%q,"tab":"messages"}`, p.ids["Cy"]))
	got := p.called("views.publish")
	assert.Equal(t, before, got, "the conversation was opened, and the home tab drawn %d times", got-before)
}

func TestHomeShowsWhatWaits(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.reads("Bo", p.openHome("Bo"), "Waiting for you", "The brief waits to be read", "Mark as Read", "Step 1 of 8", "Set My Hours")
	p.readsNot("Bo", p.readHome("Bo"), "Close This Step", "type /soundings join")
	p.reads("Ana", p.openHome("Ana"), "Your kickoffs", "Who Is Missing", "More")
	got := p.called("users.conversations")
	assert.Equal(t, 0, got, "the platform was asked %d times where somebody is, with nothing to join", got)
}

// What is done on the home tab is said there, and it is drawn anew; nobody
// else's is.
func TestPressOnHome(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.openHome("Ana")
	p.openHome("Bo")
	before := p.called("views.publish")
	p.pressHome("Bo", "do/brief.read")
	p.pass(10 * time.Minute)
	got := p.called("views.publish") - before
	assert.Equal(t, 1, got, "one press drew %d home tabs, want 1", got)
	p.reads("Bo", p.readHome("Bo"), "Thank you. Nothing else is asked of you until the next step opens.")
	p.readsNot("Bo", p.openHome("Bo"), "Mark as Read", "Thank you. Nothing else is asked")
}

// A form opens from the home tab by itself, and once it is sent, the tab is
// drawn anew.
func TestFormFromHome(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.openHome("Bo")
	p.pressHome("Bo", "open/me.hours")
	require.Equal(t, "me.hours", p.top("Bo").CallbackID, "the press opened")
	require.Len(t, p.ws.Client.Views(p.ids["Bo"]), 1, "the press opened")
	before := p.called("views.publish")
	p.submit("Bo", nil)
	got := p.called("views.publish") - before
	assert.Equal(t, 1, got, "a form from the home tab drew it %d times, want once", got)
	_, open := p.ws.Client.TopView(p.ids["Bo"])
	assert.False(t, open, "the form is still open")
}

// A button on a home tab that is out of date says why it did nothing, in a
// form of its own, and the tab is brought up to date.
func TestStalePressOnHome(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.openHome("Ana")
	p.handOver()
	for _, action := range []string{"open/lead.missing", "open/lead.more"} {
		p.openHome("Bo") // who leads now; his tab is none of this
		home, _ := p.ws.Client.Home(p.ids["Ana"])
		at := slices.IndexFunc(blockkit.Elements(home.Blocks), func(e blockkit.Element) bool { return e.ActionID == action })
		require.GreaterOrEqual(t, at, 0, "the home tab of Ana was brought up to date before she pressed %s", action)
		p.pressHome("Ana", action)
		notice := p.top("Ana")
		assert.Equal(t, "Nothing was changed", notice.Title, "after %s Ana looks at", action)
		p.reads("Ana", wordsOf(notice.Blocks), "Only the lead can do that", "Bo")
		p.readsNot("Ana", p.readHome("Ana"), "Who Is Missing")
		p.must(p.ws.Client.CloseAll(p.ids["Ana"]))
		if action == "open/lead.missing" {
			p.takeBack()
		}
	}
}

// Who comes into the channel of a kickoff finds a way in on their home tab,
// and reads nothing of the kickoff there until the lead lets them in.
func TestJoinFromHome(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.readsNot("Cy", p.openHome("Cy"), "Ask to Join", "A kickoff runs in")
	before := len(p.ws.Messages(p.channel))
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], p.channel, p.ids["Cy"]))
	p.pass(5 * time.Minute)
	got := len(p.ws.Messages(p.channel))
	assert.Equal(t, before, got, "somebody came, and %d messages were posted", got-before)
	p.reads("Cy", p.openHome("Cy"), "A kickoff runs in", "Ask to Join")
	p.readsNot("Cy", p.readHome("Cy"), "Bicycles", "Passengers", "Step 1")
	p.pressHome("Cy", "do/me.join")
	p.reads("Cy", p.readHome("Cy"), "I have asked Ana", "You have asked to take part")
	p.readsNot("Cy", p.readHome("Cy"), "Bicycles", "Ask to Join")

	p.reads("Ana", p.openHome("Ana"), "Cy asks to take part", "Let Them In")
	p.pressHome("Ana", "do/lead.admit")
	p.reads("Ana", p.readHome("Ana"), "They take part now.")
	p.readsNot("Ana", p.readHome("Ana"), "Let Them In")
	p.pass(5 * time.Minute)
	p.reads("Cy", p.openHome("Cy"), "Bicycles on the ferry", "Mark as Read")
	p.readsNot("Ivy", p.openHome("Ivy"), "Bicycles", "A kickoff runs in")
}

// However many kickoffs somebody was ever part of, a home tab reads only those
// it can show: of the ended ones the ten newest, and none that ended more than a
// year ago.
func TestHomeForgetsWhatEndedLongAgo(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	who := p.ids["Bo"]
	for n := range 12 {
		key := journal.Key{Team: p.ws.TeamID(), Kickoff: fmt.Sprintf("K%02d", n)}
		at := p.clock.Now().AddDate(0, 0, n-360)
		for v, r := range []event.Record{
			{At: at, By: state.UserID(who), Events: []event.Event{event.Started{ID: key.Kickoff, Team: key.Team, Channel: fmt.Sprint("C0", n),
				Brief: state.Brief{Title: fmt.Sprintf("Kickoff %02d", n)}, People: []state.Person{{ID: state.UserID(who)}}}}},
			{At: at.Add(time.Hour), Events: []event.Event{event.Abandoned{}}},
		} {
			data, err := r.MarshalJSON()
			p.must(err)
			_, err = p.journal.Append(t.Context(), key, journal.Write{Data: data, After: int64(v)})
			p.must(err)
		}
		p.must(p.journal.Index.Join(t.Context(), key, who))
	}
	home := p.openHome("Bo")
	p.reads("Bo", home, "Bicycles on the ferry", "Kickoff 11", "Kickoff 02")
	p.readsNot("Bo", home, "Kickoff 01", "Kickoff 00")
	listed := func() int {
		ids, err := p.journal.Index.Of(t.Context(), p.ws.TeamID(), who)
		p.must(err)
		return len(ids)
	}
	assert.Equal(t, 11, listed(), "kickoffs that are listed for Bo")
	assert.Equal(t, home, p.openHome("Bo"), "opened again, it says the same")
	p.pass(20 * 24 * time.Hour)
	p.readsNot("Bo", p.openHome("Bo"), "Kickoff 11")
	assert.LessOrEqual(t, listed(), 1, "a year after each")
}

// Without the right to know where people are, a home tab is drawn all the
// same.
func TestHomeWithoutDoors(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.refuser.refuseMethod("users.conversations", "missing_scope")
	p.reads("Cy", p.openHome("Cy"), "A kickoff brings a team")
}

func TestMention(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	mention := "<@" + p.ws.BotUser() + "> what is this?"
	last := func(who string) fakeslack.Message {
		t.Helper()
		all := ephemerals(p.ws, p.channel, p.ids[who])
		require.NotEmpty(t, all, "%s was told nothing", who)
		return all[len(all)-1]
	}
	say := func(who, thread string) (ts string) {
		t.Helper()
		ts, err := p.ws.Client.Say(t.Context(), p.ids[who], p.channel, mention, thread)
		p.must(err)
		return ts
	}
	say("Bo", "")
	p.reads("Bo", last("Bo").Text, "No kickoff is open", "/soundings start")
	p.begin()
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], p.channel, p.ids["Cy"]))
	said := len(p.ws.Messages(p.channel))
	ts := say("Bo", "")
	p.reads("Bo", last("Bo").Text, "Bicycles on the ferry", "step 1 of 8", "/soundings add", "home tab")
	say("Cy", ts)
	p.reads("Cy", last("Cy").Text, "you are not part of it", "/soundings join")
	assert.Equal(t, ts, last("Cy").ThreadTS, "asked in thread %q, answered in", ts)
	got := len(p.ws.Messages(p.channel)) - said
	assert.Equal(t, 2, got, "two mentions left %d messages in the channel, want these two alone", got)
	for _, m := range append(ephemerals(p.ws, p.channel, p.ids["Bo"]), ephemerals(p.ws, p.channel, p.ids["Cy"])...) {
		assert.Empty(t, slacktest.Pings(m.Text, m.Blocks), "an answer would notify")
	}
}

// Where nobody can be told alone, the answer stands in a thread under the
// mention.
func TestMentionIsAnsweredInAThread(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.refuser.refuseMethod("chat.postEphemeral", "user_not_in_channel")
	ts, err := p.ws.Client.Say(t.Context(), p.ids["Bo"], p.channel, "<@"+p.ws.BotUser()+">", "")
	p.must(err)
	all := p.ws.Messages(p.channel)
	answer := all[len(all)-1]
	assert.Equal(t, p.ws.BotUser(), answer.User, "the answer is by %s in thread", answer.User)
	assert.Equal(t, ts, answer.ThreadTS, "the answer is by %s in thread", answer.User)
	before := p.called("chat.postMessage")
	p.event(fmt.Sprintf(`{"type":"app_mention","user":%q,"bot_id":"B9","channel":%q,"ts":"1.000001"}`, p.ids["Bo"], p.channel))
	assert.Equal(t, before, p.called("chat.postMessage"), "another app was answered: two of the kind would never stop")
}

func TestWelcomeOnce(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	quay := p.ws.AddChannel(fakeslack.Channel{Name: "quay", Members: []string{p.ids["Ana"]}})
	welcomes := func() (all []fakeslack.Message) {
		for _, m := range p.ws.Messages(quay) {
			if m.User == p.ws.BotUser() {
				all = append(all, m)
			}
		}
		return all
	}
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], quay, p.ws.BotUser()))
	got := welcomes()
	require.Len(t, got, 1, "an invitation was answered with %d messages, want 1", len(got))
	p.reads("the channel", welcomes()[0].Text, "Ana has added me", "kickoff of a product discovery", "/soundings start")
	assert.Empty(t, slacktest.Pings(welcomes()[0].Text, welcomes()[0].Blocks), "the welcome would notify")
	p.must(adminLeave(t.Context(), p.ws, quay, p.ws.BotUser()))
	p.must(adminInvite(t.Context(), p.ws, "", quay, p.ws.BotUser()))
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], quay, p.ids["Bo"], p.ids["Cy"]))
	got = welcomes()
	assert.Len(t, got, 1, "after another invitation there are %d welcomes, want 1", len(got))
	assert.Equal(t, 1, p.called("auth.test"), "the bot asks who it is")
}

// The button of a welcome starts a kickoff there, and says at once when one
// is open already.
func TestStartFromTheWelcome(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	quay := p.ws.AddChannel(fakeslack.Channel{Name: "quay", Members: []string{p.ids["Ana"], p.ids["Bo"]}})
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], quay, p.ws.BotUser()))
	welcome := p.ws.Messages(quay)[0]
	press := func(who string) {
		t.Helper()
		at := fakeslack.Where{Channel: quay, TS: welcome.TS}
		p.must(p.ws.Client.Press(t.Context(), p.ids[who], at, "open/brief.start", "", blockkit.Value{}))
	}
	press("Ana")
	p.submit("Ana", map[string]blockkit.Value{"title": {Text: "Bicycles on the ferry"}, "people": {IDs: []string{p.ids["Bo"]}},
		"problem": {Text: "Passengers with bicycles cannot tell, before they reach the pier, whether there is room."}})
	p.pass(5 * time.Minute)
	p.reads("Bo", p.openHome("Bo"), "Bicycles on the ferry")
	press("Bo")
	v, open := p.ws.Client.TopView(p.ids["Bo"])
	assert.False(t, open, "Bo may fill in %q for nothing", v.Title)
	told := ephemerals(p.ws, quay, p.ids["Bo"])
	assert.False(t, len(told) != 1 || !strings.Contains(told[0].Text, "open in this channel already"), "Bo was told %d things, want that a kickoff is open", len(told))
}

// A greeting that did not get out is tried again when the platform reports
// the invitation again.
func TestWelcomeAfterAFailure(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	quay := p.ws.AddChannel(fakeslack.Channel{Name: "quay", Members: []string{p.ids["Ana"]}})
	p.refuser.refuseMethod("chat.postMessage", "internal_error")
	require.Error(t, adminInvite(t.Context(), p.ws, p.ids["Ana"], quay, p.ws.BotUser()), "the invitation was acknowledged, and nobody was greeted")
	p.refuser.refuseNothing()
	p.clock.Advance(p.clock.Now().Add(time.Minute))
	p.must(p.ws.Outbox.Redeliver(t.Context()))
	assert.Len(t, p.ws.Messages(quay), 1, "messages stand in the channel")
}

// A team that took the app away gets nothing until somebody uses it again;
// then it gets what has waited. People's own tokens are none of the bot's.
func TestAppTakenAway(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule, event string
		sends       bool
	}{
		{"uninstalled", `{"type":"app_uninstalled"}`, false},
		{"token revoked", `{"type":"tokens_revoked","tokens":{"oauth":[],"bot":["U00000001"]}}`, false},
		{"somebody's own token revoked", `{"type":"tokens_revoked","tokens":{"oauth":["U00000002"]}}`, true},
	} {
		t.Run(c.rule, func(t *testing.T) {
			p := newPair(t)
			p.must(p.ws.Client.Command(t.Context(), p.ids["Ana"], p.channel, "/soundings", "start"))
			p.submit("Ana", map[string]blockkit.Value{"title": {Text: "Bicycles on the ferry"}, "problem": {Text: "Passengers cannot tell whether there is room."},
				"people": {IDs: []string{p.ids["Bo"]}}})
			p.event(c.event)
			p.pass(30 * time.Minute)
			assert.Equal(t, c.sends, p.called("chat.postMessage") > 0, "something was sent")
			p.must(p.ws.Client.Command(t.Context(), p.ids["Ana"], p.channel, "/soundings", "help"))
			p.pass(2 * time.Hour)
			assert.NotEmpty(t, p.ws.Messages(p.channel), "nothing of what had waited was sent")
		})
	}
}

func TestChannelArchivedIsTakenNoteOf(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.must(adminArchive(t.Context(), p.ws, p.channel, p.ids["Ana"]))
	p.must(adminArchive(t.Context(), p.ws, p.ws.AddChannel(fakeslack.Channel{Name: "idle", Members: []string{p.ws.BotUser()}}), p.ids["Ana"]))
	p.reads("Bo", p.openHome("Bo"), "Bicycles on the ferry")
}

// The shortcut that belongs to no channel, and the button of the home tab: the
// form asks for the channel, and says at its field what is wrong with it.
func TestStartFromAnywhere(t *testing.T) {
	t.Parallel()
	for name, begin := range map[string]func(p *testBot){
		"by shortcut": func(p *testBot) { p.must(p.ws.Client.Shortcut(t.Context(), p.ids["Ana"], "start-kickoff")) },
		"from the home tab": func(p *testBot) {
			p.openHome("Ana")
			p.pressHome("Ana", "open/brief.start")
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPair(t)
			elsewhere := p.ws.AddChannel(fakeslack.Channel{Name: "elsewhere", Members: []string{p.ids["Ana"]}})
			begin(p)
			v := p.top("Ana")
			try := func(channel string) map[string]string {
				t.Helper()
				p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, "channel", "in", blockkit.Value{ID: channel}))
				faults, err := p.ws.Client.Submit(t.Context(), p.ids["Ana"], v.ID)
				p.must(err)
				return faults
			}
			p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, "people", "in", blockkit.Value{IDs: []string{p.ids["Bo"]}}))
			for block, text := range map[string]string{"title": "Bicycles on the ferry", "problem": "Cyclists cannot tell whether there is room."} {
				p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, block, "in", blockkit.Value{Text: text}))
			}
			assert.Contains(t, try(elsewhere)["channel"], "I am not in that channel yet", "where the bot is not, the field says")
			assert.Empty(t, try(p.channel), "where the bot is, the form says")
			p.pass(5 * time.Minute)
			p.reads("Ana", p.openHome("Ana"), "Bicycles on the ferry")
			begin(p)
			v = p.top("Ana")
			p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, "people", "in", blockkit.Value{IDs: []string{p.ids["Bo"]}}))
			for block, text := range map[string]string{"title": "Another", "problem": "Crews cannot count the bicycles."} {
				p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, block, "in", blockkit.Value{Text: text}))
			}
			assert.Contains(t, try(p.channel)["channel"], "open in this channel already", "where a kickoff is open, the field says")
		})
	}
}

// A command knows its channel, so the form has no field for it: what is wrong
// there is said at the first one, and nothing of what was typed is lost.
func TestStartWhereTheBotIsNot(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	elsewhere := p.ws.AddChannel(fakeslack.Channel{Name: "elsewhere", Members: []string{p.ids["Ana"]}})
	p.must(p.ws.Client.Command(t.Context(), p.ids["Ana"], elsewhere, "/soundings", "start"))
	v := p.top("Ana")
	p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, "people", "in", blockkit.Value{IDs: []string{p.ids["Bo"]}}))
	for block, text := range map[string]string{"title": "Bicycles on the ferry", "problem": "Cyclists cannot tell whether there is room."} {
		p.must(p.ws.Client.Type(p.ids["Ana"], v.ID, block, "in", blockkit.Value{Text: text}))
	}
	faults, err := p.ws.Client.Submit(t.Context(), p.ids["Ana"], v.ID)
	p.must(err)
	assert.Contains(t, faults["title"], "/invite", "the form says %q, want at its title to invite the bot", faults)
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], elsewhere, p.ws.BotUser()))
	faults, err = p.ws.Client.Submit(t.Context(), p.ids["Ana"], v.ID)
	p.must(err)
	assert.Empty(t, faults, "once the bot is there, the form says")
}
