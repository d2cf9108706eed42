package screens

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// A due is one thing that waits for the viewer of a home tab.
type due struct {
	words []word
	acts  []*slack.ButtonBlockElement
	until time.Time // zero where nothing hurries
}

// waiting lists what waits for the viewer, the most urgent first.
func (h HomePage) waiting(open []flows.Kickoff) []slack.Block {
	var all []due
	for _, k := range open {
		all = append(all, h.duesIn(k)...)
	}
	if len(all) == 0 {
		return []slack.Block{heading("Nothing waits for you"), para(plain("You have done all that is asked of you. Thank you."))}
	}
	slices.SortStableFunc(all, func(a, b due) int {
		if a.until.IsZero() != b.until.IsZero() {
			return cmp.Compare(b.until.Unix(), a.until.Unix()) // what does not hurry comes last
		}
		return a.until.Compare(b.until)
	})
	blocks := []slack.Block{heading("Waiting for you")}
	for i, d := range firstOf(all, mostWaiting) {
		blocks = append(blocks, para(d.words...))
		blocks = append(blocks, rowOf(plainButtons(d.acts, i == 0))...)
	}
	if left := len(all) - mostWaiting; left > 0 {
		blocks = append(blocks, para(plain("And %d more, which show once these are done.", left)))
	}
	return blocks
}

// plainButtons takes the mark of the one that most people want from buttons
// that have it in a message, since a page can have one such button only; with
// first, the first of them gets it.
func plainButtons(all []*slack.ButtonBlockElement, first bool) []*slack.ButtonBlockElement {
	for _, b := range all {
		b.WithStyle(slack.StyleDefault)
	}
	if first && len(all) > 0 {
		primary(all[0])
	}
	return all
}

// duesIn lists what waits for the viewer in one kickoff.
func (h HomePage) duesIn(k flows.Kickoff) []due {
	p := h.pageOf(k)
	var all []due
	if n, closes, owes := nudgeFor(p); owes {
		text := fmt.Sprintf(". %s About %s. Closes ", n.open, count(n.minutes, "minute", "minutes"))
		words := append(h.named(k), plain("%s", text), when(closes), plain(", %s.", leftText(h.Now, closes)))
		all = append(all, due{words: words, acts: h.acts(p, n), until: closes})
	}
	if !k.IsLead(h.Viewer) {
		return all
	}
	if d, ok := h.settling(p); ok {
		all = append(all, d)
	}
	for _, j := range k.Asking {
		all = append(all, h.asking(k, j))
	}
	return all
}

// acts are the buttons of what is owed; a lead who has to close the kickoff
// wants to see the summary as well.
func (h HomePage) acts(p Page, n nudge) []*slack.ButtonBlockElement {
	if p.Kickoff.Stage == flows.StageClose && p.Kickoff.IsLead(h.Viewer) {
		return append(n.acts, button("Preview the Summary", "open/close.preview", stageArgs(p, flows.StageClose)))
	}
	return n.acts
}

// settling is what waits for a lead's last word, with the words that they
// would settle.
func (h HomePage) settling(p Page) (due, bool) {
	k := p.Kickoff
	if d := k.Underway.Decision; k.Stage == flows.StageUnderway && d.Phase == flows.PhaseSettling {
		text := ". The vote has closed. Please settle the decision: the votes and the buttons stand in our conversation, beside what was written down beforehand."
		return due{words: append(h.named(k), plain("%s", text)), until: d.Until}, true
	}
	if k.Stage == flows.StageUnderway || k.Window.Phase != flows.PhaseSettling {
		return due{}, false
	}
	until := k.Window.Until
	words, acts := settleWords(p)
	words = append(append(h.named(k), plain(". ")), words...)
	words = append(words, plain(" If you do nothing, it stands from "), when(until), plain(", %s.", leftText(h.Now, until)))
	return due{words: words, acts: acts, until: until}, true
}

// settleWords say what a lead may settle now, and its buttons do it.
func settleWords(p Page) ([]word, []*slack.ButtonBlockElement) {
	k := p.Kickoff
	args := stageArgs(p, k.Stage)
	switch k.Stage {
	case flows.StageFraming:
		return []word{plain("Please settle the problem. Proposed is: "), typed(k.WordingText(k.Framing.Proposed), 300)}, settleButtons(p)
	case flows.StageRoles:
		return []word{plain("Please settle who does what. %s", gapsText(k))}, []*slack.ButtonBlockElement{
			button("Leave It as It Is", "do/roles.confirm", args), button("Change Places", "open/roles.settle", args)}
	}
	return []word{plain("Please set the time box. The votes come to %s.", weeksText(k.ProposedWeeks()))},
		[]*slack.ButtonBlockElement{button("Set the Time Box", "open/timebox.settle", args)}
}

// asking is somebody who would like to take part.
func (h HomePage) asking(k flows.Kickoff, j flows.JoinRequest) due {
	name := j.Person.Name
	if name == "" {
		name = "Somebody in the channel"
	}
	words := append(h.named(k), plain(". "), boldTyped(name, 60), plain(" asks to take part. To leave it at that, do nothing."))
	let := button("Let Them In", "do/lead.admit", Args{Kickoff: k.ID, Choice: string(j.Person.ID)})
	return due{words: words, acts: []*slack.ButtonBlockElement{let}}
}
