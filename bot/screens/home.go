package screens

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/planning"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/views"
)

// A HomePage is what one person's home tab is drawn from. Of a kickoff that
// the viewer is not part of it shows where it runs, and nothing else.
type HomePage struct {
	Viewer   state.UserID
	Now      time.Time
	Command  string          // the slash command
	Guest    bool            // the viewer has a guest's account
	Said     string          // what came of the viewer's last press here; may be empty
	Kickoffs []state.Kickoff // what the viewer may be part of; others are passed over
	Joinable []state.Kickoff // others that are open, in a channel where the viewer is
}

// How much of each kind a home tab shows: with all of it, fewer than the 100
// blocks that the platform takes.
const (
	mostWaiting  = 10
	mostKickoffs = 9
	mostJoinable = 8
	mostEarlier  = 10
)

// Home draws somebody's home tab: what matters most, what waits for them, then their
// kickoffs, for a lead with the controls, then what has ended and what they
// could join. Whoever is part of nothing reads what this is about.
func Home(h HomePage) slack.HomeTabViewRequest {
	open, ended := h.split()
	var blocks []slack.Block
	if h.Said != "" {
		blocks = append(blocks, block.Para(block.Bold("%s", h.Said)))
	}
	if len(open) == 0 {
		blocks = append(blocks, h.introduction()...)
	} else {
		blocks = append(blocks, h.three(open)...)
		blocks = append(blocks, h.waiting(open)...)
		blocks = append(blocks, h.foresight(open)...)
		blocks = append(blocks, h.running(open)...)
	}
	blocks = append(blocks, h.joinable()...)
	blocks = append(blocks, earlier(ended)...)
	blocks = append(blocks, h.starting()...)
	fromHome(blocks)
	return slack.HomeTabViewRequest{Type: slack.VTHomeTab, Blocks: slack.Blocks{BlockSet: blocks}}
}

// three is what matters most in the newest kickoff that was rated. It has no button, so
// that what waits for the viewer is still on the first screen of a phone.
func (h HomePage) three(open []state.Kickoff) []slack.Block {
	k, rated := lists.Find(open, func(k state.Kickoff) bool { return k.Map() != nil })
	if !rated {
		return nil
	}
	return append([]slack.Block{block.Heading("What matters most"), block.Para(append(h.named(k), block.Plain("."))...)}, block.Drawn(report.Three(k, h.Now))...)
}

// foresight asks what the viewer expects of tests, in the newest kickoff that has some.
func (h HomePage) foresight(open []state.Kickoff) []slack.Block {
	for _, k := range open {
		p := h.pageOf(k)
		p.Args.Home = true
		if asks := planning.ForesightLeft(p); len(asks) > 0 {
			return append([]slack.Block{block.Para(h.named(k)...)}, asks...)
		}
	}
	return nil
}

// split parts the viewer's kickoffs into those that run and those that have
// ended, the newest first.
func (h HomePage) split() (open, ended []state.Kickoff) {
	for _, k := range h.Kickoffs {
		switch {
		case !k.Takes(h.Viewer):
		case k.Stage == state.StageEnded:
			ended = append(ended, k)
		default:
			open = append(open, k)
		}
	}
	newest := func(a, b state.Kickoff) int {
		return cmp.Or(b.Started.Compare(a.Started), cmp.Compare(a.ID, b.ID))
	}
	slices.SortFunc(open, newest)
	slices.SortFunc(ended, newest)
	return open, ended
}

func (h HomePage) pageOf(k state.Kickoff) screen.Page {
	return screen.Page{Kickoff: k, Viewer: h.Viewer, Now: h.Now, Args: screen.Args{Kickoff: k.ID}}
}

// introduction is for somebody who is part of no open kickoff.
func (h HomePage) introduction() []slack.Block {
	return []slack.Block{
		block.Heading("A discovery begins here, without a meeting"),
		block.Text("A kickoff brings a team to a shared start on a problem: what it is, who does what, what has to be true, and what to test first. " +
			"It runs in a channel over a few working days, in short steps that take minutes and fit everybody's own hours. " +
			"At its end stand a summary, a plan of tests and a time box, and then the decision: build, stop, or look further."),
		block.Text("When you are part of one, this page shows first what waits for you. Nothing does now."),
	}
}

// starting says how a kickoff begins. The form behind the button asks for the
// channel.
func (h HomePage) starting() []slack.Block {
	invite := "If I am not there yet, add me with /invite."
	if h.Guest {
		invite = "If I am not in yours, a full member of this workplace can add me with /invite."
	}
	return []slack.Block{
		block.Buttons(screen.Button("Start a Kickoff", "open/brief.start", screen.Args{})),
		block.Note(fmt.Sprintf("Or type %s start in a channel that I am in. %s", h.Command, invite)),
	}
}

// running lists the open kickoffs.
func (h HomePage) running(open []state.Kickoff) []slack.Block {
	blocks := []slack.Block{block.Heading("Your kickoffs")}
	for _, k := range words.FirstOf(open, mostKickoffs) {
		blocks = append(blocks, h.kickoff(k)...)
	}
	return append(blocks, andMore(len(open)-mostKickoffs)...)
}

// kickoff is one open kickoff: where it stands, and what the viewer may
// change about it.
func (h HomePage) kickoff(k state.Kickoff) []slack.Block {
	p := h.pageOf(k)
	runs := append(h.named(k), block.Plain(". "))
	blocks := []slack.Block{block.Para(append(runs, standsAt(p)...)...)}
	own := []*slack.ButtonBlockElement{screen.HereButton(p, "Set My Hours", "open/me.hours"), muteButton(p)}
	if !k.IsLead(h.Viewer) {
		return append(blocks, block.Buttons(append(screen.AskButton(p), own...)...))
	}
	blocks = append(blocks, missingLine(p)...)
	buttons := deskButtons(p)
	for _, d := range h.duesIn(k) { // whose buttons stand above
		buttons = slices.DeleteFunc(buttons, func(b *slack.ButtonBlockElement) bool {
			return slices.ContainsFunc(d.acts, func(above *slack.ButtonBlockElement) bool { return above.ActionID == b.ActionID })
		})
	}
	for _, b := range buttons {
		b.WithStyle(slack.StyleDefault) // one button of the page stands out, and that is what waits
	}
	return append(blocks, block.Buttons(append(buttons, own...)...))
}

// named is a kickoff by its title and channel.
func (h HomePage) named(k state.Kickoff) []block.Run {
	return []block.Run{block.BoldTyped(k.Brief.Title, 150), block.Plain(" in "), place(k)}
}

// place is the channel of a kickoff. The platform shows its name only to
// whom the channel is open.
func place(k state.Kickoff) block.Run { return slack.NewRichTextSectionChannelElement(k.Channel, nil) }

// standsAt says where a kickoff is and how much time is left.
func standsAt(p screen.Page) []block.Run {
	k := p.Kickoff
	switch {
	case k.Stage == state.StageUnderway:
		return []block.Run{block.Plain("The discovery is underway. %s", words.DaysLeftText(views.ProgressOf(k, p.Now)))}
	case k.Window.Phase == state.PhaseSettling:
		return []block.Run{block.Plain("Step %s, “%s”, waits for the lead to settle it.", screen.Position(k), flows.TitleOf(k.Stage))}
	}
	name := flows.TitleOf(k.Stage)
	if k.Window.Round > 1 {
		name += ", second round"
	}
	return []block.Run{block.Plain("Step %s: %s Closes ", screen.Position(k), screen.FullStop(name)), block.When(k.Window.Closes),
		block.Plain(", %s. %s", leftText(p.Now, k.Window.Closes), screen.ProgressLine(k, k.Window))}
}

// leftText says how long it is until t, as roughly as people do.
func leftText(now, t time.Time) string {
	switch left := t.Sub(now); {
	case left <= 0:
		return "any moment now"
	case left < 90*time.Minute:
		return "in " + words.Count(max(1, int(left.Round(time.Minute).Minutes())), "minute", "minutes")
	case left < 36*time.Hour:
		return "in about " + words.Count(int(left.Round(time.Hour).Hours()), "hour", "hours")
	default:
		return "in about " + words.Count(int((left+12*time.Hour).Hours())/24, "day", "days")
	}
}

// joinable lists kickoffs that the viewer could join. What they are about stays
// with those who are part of them.
func (h HomePage) joinable() []slack.Block {
	open := slices.DeleteFunc(slices.Clone(h.Joinable), func(k state.Kickoff) bool {
		return k.Takes(h.Viewer) || k.Started.IsZero() || k.Stage == state.StageEnded
	})
	if len(open) == 0 {
		return nil
	}
	blocks := []slack.Block{block.Heading("You could take part")}
	for _, k := range words.FirstOf(open, mostJoinable) {
		runs := []block.Run{block.Plain("A kickoff runs in "), place(k), block.Plain(", where you are, without you. ")}
		if slices.ContainsFunc(k.Asking, func(j state.JoinRequest) bool { return j.Person.ID == h.Viewer }) {
			blocks = append(blocks, block.Para(append(runs, block.Plain("You have asked to take part, and the lead decides."))...))
			continue
		}
		blocks = append(blocks, block.Para(append(runs, block.Plain("Its lead decides who takes part."))...),
			block.Buttons(screen.Button("Ask to Join", "do/me.join", screen.Args{Kickoff: k.ID})))
	}
	return append(blocks, andMore(len(open)-mostJoinable)...)
}

// earlier lists kickoffs that have ended, with what was decided.
func earlier(ended []state.Kickoff) []slack.Block {
	if len(ended) == 0 {
		return nil
	}
	return append([]slack.Block{block.Heading("Earlier kickoffs")}, block.List(ended, mostEarlier, func(k state.Kickoff) []block.Run {
		named := []block.Run{block.Typed(k.Brief.Title, 100), block.Plain(" in "), place(k), block.Plain(". ")}
		switch d := k.Underway.Decision; {
		case k.CalledOff.Why != "":
			return append(append(named, calledOffRuns(k)...), block.Plain(": "), block.Typed(words.OneLine(k.CalledOff.Why), flows.MaxSentence))
		case state.EndedWithSummary(&k):
			return append(named, block.Plain("Ended with its summary."))
		case d.Set == "":
			return append(named, block.Plain("Ended without a decision."))
		default:
			return append(named, block.Plain("Decided: %s.", words.ChoiceText(d.Set, d.Weeks)))
		}
	})...)
}

// andMore says what a list leaves out, and where to find it.
func andMore(left int) []slack.Block {
	if left <= 0 {
		return nil
	}
	return []slack.Block{block.Text("And %s in other channels of yours.", words.Count(left, "kickoff runs", "kickoffs run"))}
}

// fromHome marks what is pressed on a home tab, so that the tab is drawn
// anew after the press, or after the form that the press opens.
func fromHome(blocks []slack.Block) {
	for _, b := range blocks {
		switch b := b.(type) {
		case *slack.ActionBlock:
			for _, e := range b.Elements.ElementSet {
				markHome(e.(*slack.ButtonBlockElement))
			}
		case *slack.SectionBlock:
			if b.Accessory != nil && b.Accessory.ButtonElement != nil {
				markHome(b.Accessory.ButtonElement)
			}
		}
	}
}

func markHome(b *slack.ButtonBlockElement) {
	args, err := screen.ParseArgs(b.Value)
	if err != nil {
		panic(fmt.Sprintf("screens: button %q carries %q: %v", b.Text.Text, b.Value, err)) // they are ours
	}
	args.Home = true
	b.Value = args.String()
}
