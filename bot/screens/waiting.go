package screens

import (
	"cmp"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows/state"
	"soundings/flows/views"
)

// What waits for somebody in their kickoffs, for the home tab.

// A due is one thing that waits for the viewer of a home tab.
type due struct {
	words []block.Run
	acts  []*slack.ButtonBlockElement
	until time.Time // zero where nothing hurries
}

// waiting lists what waits for the viewer, the most urgent first.
func (h HomePage) waiting(open []state.Kickoff) []slack.Block {
	var all []due
	for _, k := range open {
		all = append(all, h.duesIn(k)...)
	}
	if len(all) == 0 {
		return []slack.Block{block.Heading("Nothing waits for you"), block.Text("You have done all that is asked of you. Thank you.")}
	}
	slices.SortStableFunc(all, func(a, b due) int {
		if a.until.IsZero() != b.until.IsZero() {
			return cmp.Compare(b.until.Unix(), a.until.Unix()) // what does not hurry comes last
		}
		return a.until.Compare(b.until)
	})
	blocks := []slack.Block{block.Heading("Waiting for you")}
	for i, d := range words.FirstOf(all, mostWaiting) {
		for at, b := range d.acts { // a page can have one button only that most people want
			b.WithStyle(slack.StyleDefault)
			if i == 0 && at == 0 {
				block.Primary(b)
			}
		}
		blocks = append(append(blocks, block.Para(d.words...)), block.RowOf(d.acts)...)
	}
	if left := len(all) - mostWaiting; left > 0 {
		blocks = append(blocks, block.Text("And %d more, which show once these are done.", left))
	}
	return blocks
}

// duesIn lists what waits for the viewer in one kickoff.
func (h HomePage) duesIn(k state.Kickoff) []due {
	p := h.pageOf(k)
	var all []due
	if n, owes := nudgeFor(p); owes {
		runs := append(h.named(k), block.Plain(". %s About %s.", n.Open, screen.MinutesText(n.Minutes)))
		if !n.Closes.IsZero() {
			runs = append(runs, block.Plain(" Closes "), block.When(n.Closes), block.Plain(", %s.", leftText(h.Now, n.Closes)))
		}
		all = append(all, due{words: runs, acts: append(n.Acts, n.Home...), until: n.Closes})
	}
	for _, r := range k.Tidying.Remarks {
		if a, _ := k.Assumption(r.About[0]); r.Waits() && a.By == h.Viewer {
			all = append(all, h.sentBack(k, a.ID, r.Until))
		}
	}
	if state.OwesAlike(&k, h.Viewer) {
		all = append(all, h.alike(k))
	}
	if !k.IsLead(h.Viewer) {
		return all
	}
	if d, ok := h.settling(p); ok {
		all = append(all, d)
	}
	if screen.Before(k.Stage, state.StageUnderway) { // afterwards each check-in names what has no answer
		for _, q := range words.FirstOf(views.OpenQuestions(k.Brief), mostQuestions) {
			all = append(all, h.question(k, q))
		}
	}
	for _, j := range k.Asking {
		all = append(all, h.asking(k, j))
	}
	return all
}

// settling is what waits for a lead's last word, with the words that they
// would settle.
func (h HomePage) settling(p screen.Page) (due, bool) {
	row, ok := stageOf(p.Kickoff.Stage)
	if !ok {
		return due{}, false
	}
	p.Args.Round = len(p.Kickoff.Underway.Decision.Earlier) + 1 // which decision, if it is one
	s, err := row.settles(p)
	if err != nil || len(s.Home) == 0 {
		return due{}, false
	}
	runs := append(append(h.named(p.Kickoff), block.Plain(". ")), s.Home...)
	if len(s.Acts) > 0 {
		runs = append(runs, block.Plain(" If you do nothing, it stands from "), block.When(s.Until), block.Plain(", %s.", leftText(h.Now, s.Until)))
	}
	return due{words: runs, acts: s.Acts, until: s.Until}, true
}

// sentBack is an assumption that whoever wrote it is asked to look at again.
func (h HomePage) sentBack(k state.Kickoff, id string, until time.Time) due {
	runs := append(h.named(k), block.Plain(". "), block.Typed(words.LeadName(k), 60),
		block.Plain(" asks you to look again at %s, which you wrote. If you do nothing, it stays as it is from ", id), block.When(until), block.Plain(", %s.", leftText(h.Now, until)))
	return due{words: runs, acts: backButtons(k, id), until: until}
}

// alike is the question which assumptions say the same.
func (h HomePage) alike(k state.Kickoff) due {
	until := k.Tidying.Asked[h.Viewer]
	runs := append(h.named(k), block.Plain(". "), block.Typed(words.LeadName(k), 60),
		block.Plain(" asks you which entries on the list say the same in other words. Your answer counts until "), block.When(until), block.Plain(", %s.", leftText(h.Now, until)))
	return due{words: runs, acts: alikeButtons(k), until: until}
}

// mostQuestions is how many questions of one kickoff a home tab shows, the oldest first.
const mostQuestions = 3

// question is one about the brief that has no answer.
func (h HomePage) question(k state.Kickoff, q state.Question) due {
	runs := append(h.named(k), block.Plain(". "), block.BoldTyped(k.Name(q.By), 60), block.Plain(" asks about the brief: "), block.Typed(words.OneLine(q.Ask), 200))
	answer := screen.Button("Answer", "open/brief.answer", screen.Args{Kickoff: k.ID, Stage: string(state.StageBrief), N: q.N})
	return due{words: runs, acts: []*slack.ButtonBlockElement{answer}}
}

// asking is somebody who would like to take part.
func (h HomePage) asking(k state.Kickoff, j state.JoinRequest) due {
	name := cmp.Or(j.Person.Name, "Somebody in the channel")
	runs := append(h.named(k), block.Plain(". "), block.BoldTyped(name, 60), block.Plain(" asks to take part. To leave it at that, do nothing."))
	let := screen.Button("Let Them In", "do/lead.admit", screen.Args{Kickoff: k.ID, Choice: string(j.Person.ID)})
	return due{words: runs, acts: []*slack.ButtonBlockElement{let}}
}
