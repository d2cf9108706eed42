package screens

import (
	"strings"
	"testing"

	"soundings/flows"
)

func TestWelcome(t *testing.T) {
	for _, inviter := range []string{"", "Ana", long("N", 80)} {
		p := Welcome("/soundings", "C1", inviter)
		checkMessage(t, "welcome", p)
		checkPoint(t, "welcome", p)
		if strings.Contains(p.Text, "added me") != (inviter != "") {
			t.Errorf("invited by %q: %s", inviter, p.Text)
		}
		if got := buttonsIn(p.Blocks); len(got) != 1 || got[0].ActionID != "open/brief.start" {
			t.Fatalf("the welcome has %d buttons, want one to start", len(got))
		}
		if args, err := ParseArgs(buttonsIn(p.Blocks)[0].Value); err != nil || args != (Args{Choice: "C1"}) {
			t.Errorf("the button is about %+v, %v, want channel C1", args, err)
		}
	}
	golden(t, "welcome", PlainText(Welcome("/soundings", "C1", "Ana")))
}

func TestMentioned(t *testing.T) {
	for _, c := range []struct {
		rule, at string
		viewer   flows.UserID
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
		p := Mentioned(Page{Kickoff: m.K, Viewer: c.viewer, Now: m.Now}, "/soundings")
		checkMessage(t, c.rule, p)
		checkPoint(t, c.rule, p)
		for _, text := range []string{p.Text, PlainText(p)} {
			for _, want := range c.want {
				if !strings.Contains(text, want) {
					t.Errorf("%s: %q does not say %q", c.rule, text, want)
				}
			}
			for _, not := range c.not {
				if strings.Contains(text, not) {
					t.Errorf("%s: %q says %q", c.rule, text, not)
				}
			}
			if strings.Count(text, ". ") > 0 || !strings.HasSuffix(strings.TrimSpace(text), ".") {
				t.Errorf("%s: %q is not one sentence", c.rule, text)
			}
		}
	}
	eachMoment(t, func(t *testing.T, m moment) {
		for _, viewer := range viewers(m.K) {
			p := Mentioned(Page{Kickoff: m.K, Viewer: viewer, Now: m.Now}, "/soundings")
			checkMessage(t, "mention", p)
			checkPoint(t, "mention", p)
		}
	})
}
