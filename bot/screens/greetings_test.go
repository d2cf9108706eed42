package screens

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows/state"
)

func TestWelcome(t *testing.T) {
	for _, inviter := range []string{"", "Ana", long("N", 80)} {
		p := Welcome("/soundings", "C1", inviter)
		checkMessage(t, "welcome", p)
		checkPoint(t, "welcome", p)
		assert.Equal(t, (inviter != ""), strings.Contains(p.Text, "added me"), "invited by %q: %s", inviter, p.Text)
		got := buttonsIn(p.Blocks)
		require.Len(t, got, 1, "the welcome has %d buttons, want one to start", len(got))
		require.Equal(t, "open/brief.start", got[0].ActionID, "the welcome has %d buttons, want one to start", len(got))
		args, err := screen.ParseArgs(buttonsIn(p.Blocks)[0].Value)
		assert.NoError(t, err, "the button is about %+v", args)
		assert.True(t, args == (screen.Args{Choice: "C1"}), "the button is about %+v", args)
	}
	golden(t, "welcome", PlainText(Welcome("/soundings", "C1", "Ana")))
}

func TestMentioned(t *testing.T) {
	for _, c := range []struct {
		rule, at string
		viewer   state.UserID
		want     []string
		not      []string
	}{
		{"nothing is open", "", "U1", []string{"No kickoff is open", "/soundings start"}, nil},
		{"it has ended", "ended", "U1", []string{"No kickoff is open", "/soundings start"}, []string{"Bicycles"}},
		{"not part of it", "brief", "U99", []string{"led by Ana", "/soundings join"}, []string{"Bicycles", "/soundings add"}},
		{"before the assumptions", "brief", "U2", []string{"Bicycles on the ferry", "step 1 of 8", "/soundings add", "home tab"}, nil},
		{"while they are taken", "assumptions", "U2", []string{"step 4 of 8", "/soundings add"}, nil},
		{"after that", "rating", "U2", []string{"step 5 of 8", "home tab"}, []string{"/soundings add"}},
		{"underway", "underway", "U2", []string{"underway here", "home tab"}, []string{"/soundings add", "step"}},
	} {
		m := moment{}
		if c.at != "" {
			m = momentAt(t, c.at)
		}
		p := Mentioned(screen.Page{Kickoff: m.K, Viewer: c.viewer, Now: m.Now}, "/soundings")
		checkMessage(t, c.rule, p)
		checkPoint(t, c.rule, p)
		for _, text := range []string{p.Text, PlainText(p)} {
			for _, want := range c.want {
				assert.Contains(t, text, want, "%s: %q does not say", c.rule, text)
			}
			for _, not := range c.not {
				assert.NotContains(t, text, not, "%s: %q says", c.rule, text)
			}
			assert.LessOrEqual(t, strings.Count(text, ". "), 0, "%s: %q is not one sentence", c.rule, text)
			assert.True(t, strings.HasSuffix(strings.TrimSpace(text), "."), "%s: %q is not one sentence", c.rule, text)
		}
	}
	eachMoment(t, func(t *testing.T, m moment) {
		for _, viewer := range viewers(m.K) {
			p := Mentioned(screen.Page{Kickoff: m.K, Viewer: viewer, Now: m.Now}, "/soundings")
			checkMessage(t, "mention", p)
			checkPoint(t, "mention", p)
		}
	})
}
