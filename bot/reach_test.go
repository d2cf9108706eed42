package bot_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/flows/state"
)

// notes are the bot's private messages to somebody that hold words.
func (p *testBot) notes(who, words string) (all []string) {
	p.t.Helper()
	for _, m := range p.ws.Messages(p.ws.DM(p.ids[who])) {
		if strings.Contains(m.Text, words) {
			all = append(all, m.Text)
		}
	}
	return all
}

// stages are the texts of the bot's messages in the channel that ask for
// something or say what came of it, by their slot, in their order.
func (p *testBot) stages() (slots []string) {
	p.t.Helper()
	for _, m := range p.ws.Messages(p.channel) {
		if m.Metadata != nil {
			slot, _ := m.Metadata.EventPayload["slot"].(string)
			slots = append(slots, slot)
		}
	}
	return slots
}

// A channel goes out of reach and comes back: the lead gets one note with the
// mend, nothing is sent and nothing closes meanwhile, and then everything goes
// on where it stopped, with nothing lost and nothing doubled.
func TestChannelOutOfReachAndBack(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name       string
		away, back func(p *testBot) error
		told, mend string
	}{
		{"archived",
			func(p *testBot) error { return adminArchive(t.Context(), p.ws, p.channel, p.ids["Bo"]) },
			func(p *testBot) error { return adminUnarchive(t.Context(), p.ws, p.channel, p.ids["Bo"]) },
			"archived", "Unarchive"},
		{"removed from it",
			func(p *testBot) error { return adminLeave(t.Context(), p.ws, p.channel, p.ws.BotUser()) },
			func(p *testBot) error {
				return adminInvite(t.Context(), p.ws, p.ids["Ana"], p.channel, p.ws.BotUser())
			},
			"not in the channel any more", "/invite"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newPair(t)
			p.begin()
			p.must(c.away(p))
			p.pass(14 * 24 * time.Hour)
			notes := p.notes("Ana", c.told)
			require.Len(t, notes, 1, "the lead was told")
			require.Contains(t, notes[0], c.mend)
			assert.Empty(t, p.notes("Bo", ""), "somebody who does not lead was told")
			p.must(c.back(p))
			p.pass(10 * time.Minute)
			assert.Empty(t, p.notes("Ana", c.told), "the note still says")
			assert.Equal(t, []string{"stage/brief"}, p.stages(), "right after it came back there stand")
			p.pass(7 * 24 * time.Hour)
			got := p.stages()
			assert.GreaterOrEqual(t, len(got), 3, "a week later there stand")
			assert.Len(t, slices.Compact(slices.Sorted(slices.Values(got))), len(got), "a week later there stand")
			assert.Empty(t, p.notes("Ana", "stands still"), "the lead was told again")
		})
	}
}

// The platform sometimes says nothing: the next message finds out, once. What
// it was about is shown when the channel is back, in its order.
func TestChannelOutOfReachUnheard(t *testing.T) {
	t.Parallel()
	for code, told := range map[string]string{"not_in_channel": "not in the channel any more", "channel_not_found": "not in the channel any more", "is_archived": "archived"} {
		t.Run(code, func(t *testing.T) {
			p := newPair(t)
			p.begin()
			p.refuser.refuseChannel(p.channel, code)
			p.pass(3 * 24 * time.Hour)
			require.Len(t, p.notes("Ana", told), 1, "the lead was told")
			before := p.stages()
			p.pass(14 * 24 * time.Hour)
			p.refuser.refuseNothing()
			assert.Equal(t, before, p.stages(), "something was sent")
			p.press("Ana", "do/lead.go-on")
			p.pass(10 * time.Minute)
			want := []string{"stage/brief", "stage/framing"}
			got := p.stages()
			assert.Equal(t, want, got, "once it was back there stand %q, want %q: nothing lost, nothing doubled", got, want)
		})
	}
}

// Where a lead is mistaken, the next message finds out, and they are told
// again.
func TestGoOnTooEarly(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.must(adminArchive(t.Context(), p.ws, p.channel, p.ids["Bo"]))
	p.pass(5 * time.Minute)
	p.press("Ana", "do/lead.go-on")
	p.pass(3 * 24 * time.Hour)
	assert.Len(t, p.notes("Ana", "archived"), 1, "the lead was told")
	p.press("Ana", "do/lead.abandon")
	p.pass(5 * time.Minute)
	assert.NotEmpty(t, p.notes("Ana", "has ended"), "the lead is not told that it has ended")
	p.must(adminUnarchive(t.Context(), p.ws, p.channel, p.ids["Bo"]))
	p.begin()
	assert.Equal(t, []string{"stage/brief", "stage/brief"}, p.stages(), "there stand")
}

// A channel that is deleted ends its kickoff, and the lead is told.
func TestChannelDeleted(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.must(adminDelete(t.Context(), p.ws, p.channel))
	p.pass(14 * 24 * time.Hour)
	got := p.notes("Ana", "was deleted")
	assert.False(t, len(got) != 1 || !strings.Contains(got[0], "has ended"), "the lead was told %q", got)
	next, waits := p.clock.Next()
	assert.False(t, waits, "something is still due at %v", next)
	p.reads("Ana", p.openHome("Ana"), "Earlier kickoffs")
}

// A name is nowhere kept, so another one changes nothing.
func TestChannelRenamed(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.must(adminRename(t.Context(), p.ws, p.channel, "ferries"))
	p.pass(4 * 24 * time.Hour)
	assert.GreaterOrEqual(t, len(p.stages()), 2, "there stand")
}

// Of an account that is closed the platform says nothing that we subscribe
// to. The first message that does not get through tells, and nobody waits for
// that person any more.
func TestSomebodyIsDeactivated(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.must(adminDeactivate(p.ws, p.ids["Bo"]))
	p.pass(24 * time.Hour)
	k, err := p.bot.Kickoffs.Load(t.Context(), p.key())
	p.must(err)
	assert.False(t, k.Takes(state.UserID(p.ids["Bo"])), "there take part")
	assert.Len(t, k.Participants(), 1, "there take part")
	assert.Empty(t, p.notes("Ana", "stands still"), "the lead was told")
}

// A workplace that forbids late edits gets the message anew; the next change
// is made to the new one.
func TestMessageTooOldToEdit(t *testing.T) {
	t.Parallel()
	for _, code := range []string{"edit_window_closed", "cant_update_message", "message_not_found"} {
		t.Run(code, func(t *testing.T) {
			p := newPair(t)
			p.begin()
			briefs := func() (n int) {
				for _, slot := range p.stages() {
					if slot == "stage/brief" {
						n++
					}
				}
				return n
			}
			p.refuser.refuseMethod("chat.update", code)
			p.pass(26 * time.Hour) // too few have answered: the time on the message changes
			p.refuser.refuseNothing()
			got := briefs()
			require.Equal(t, 2, got, "the brief stands %d times, want it once more", got)
			before := p.called("chat.update")
			p.pass(2 * 24 * time.Hour) // it closes
			got = briefs()
			assert.Equal(t, 2, got, "the brief stands %d times, want that the second one was changed", got)
			assert.NotEqual(t, before, p.called("chat.update"), "the brief stands %d times, want that the second one was changed", got)
		})
	}
}

// Somebody who comes into the channel is shown, to them alone, how to take
// part; the lead lets them in.
func TestSomebodyComesLate(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], p.channel, p.ids["Cy"]))
	shown := ephemerals(p.ws, p.channel, p.ids["Cy"])
	require.Len(t, shown, 1, "Cy is shown %d messages, want one", len(shown))
	p.reads("Cy", shown[0].Text, "led by Ana", "Ask to Join")
	p.readsNot("Cy", wordsOf(shown[0].Blocks), "Bicycles")
	assert.Empty(t, p.notes("Ana", "asks to take part"), "the lead is asked before Cy has asked")
	at := fakeslack.Where{Channel: p.channel, TS: shown[0].TS}
	p.must(p.ws.Client.Press(t.Context(), p.ids["Cy"], at, "do/me.join", blockkit.Elements(shown[0].Blocks)[0].BlockID, blockkit.Value{}))
	p.pass(5 * time.Minute)
	p.press("Ana", "do/lead.admit")
	p.pass(5 * time.Minute)
	p.press("Cy", "do/brief.read")
	k, err := p.bot.Kickoffs.Load(t.Context(), p.key())
	p.must(err)
	assert.Len(t, k.Participants(), 3, "there take part")
}

// A kickoff is listed for those who take part in it, and for nobody who has
// gone, until they come back.
func TestWhoLeavesIsNoLongerListed(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	listed := func(who string, want int, when string) {
		t.Helper()
		got, err := p.journal.Index.Of(t.Context(), p.ws.TeamID(), p.ids[who])
		p.must(err)
		assert.Len(t, got, want, "%s, for %s", when, who)
	}
	listed("Bo", 1, "at first")
	p.must(adminLeave(t.Context(), p.ws, p.channel, p.ids["Bo"]))
	p.pass(5 * time.Minute)
	listed("Bo", 0, "gone")
	listed("Ana", 1, "still there")
	p.must(adminInvite(t.Context(), p.ws, p.ids["Ana"], p.channel, p.ids["Bo"]))
	p.must(p.ws.Client.Command(t.Context(), p.ids["Bo"], p.channel, "/soundings", "join"))
	p.pass(5 * time.Minute)
	p.press("Ana", "do/lead.admit")
	p.pass(5 * time.Minute)
	listed("Bo", 1, "back")
	p.reads("Bo", p.openHome("Bo"), "Bicycles on the ferry")
}

// A kickoff that everybody has left ends after five working days. Until then
// whoever asks is in, and leads it.
func TestEverybodyHasLeft(t *testing.T) {
	t.Parallel()
	for _, back := range []bool{false, true} {
		p := newPair(t)
		p.begin()
		p.must(adminLeave(t.Context(), p.ws, p.channel, p.ids["Bo"]))
		p.must(adminLeave(t.Context(), p.ws, p.channel, p.ids["Ana"]))
		p.pass(2 * 24 * time.Hour)
		if back {
			p.must(adminInvite(t.Context(), p.ws, "", p.channel, p.ids["Cy"]))
			p.must(p.ws.Client.Command(t.Context(), p.ids["Cy"], p.channel, "/soundings", "join"))
		}
		p.pass(30 * 24 * time.Hour)
		key := p.key()
		k, err := p.bot.Kickoffs.Load(t.Context(), key)
		p.must(err)
		assert.NotEqual(t, back, k.Stage == "ended", "came back %v: the stage is %s", back, k.Stage)
		assert.False(t, back && k.Lead().Name != "Cy", "it is led by %s, want Cy", k.Lead().Name)
		next, waits := p.clock.Next()
		assert.Equal(t, back, waits, "came back %v: something is due at %v", back, next)
	}
}
