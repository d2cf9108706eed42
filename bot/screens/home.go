package screens

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
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
		return append(blocks, block.Buttons(own...))
	}
	blocks = append(blocks, missingLine(p)...)
	buttons := deskButtons(p)
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

// asking is somebody who would like to take part.
func (h HomePage) asking(k state.Kickoff, j state.JoinRequest) due {
	name := cmp.Or(j.Person.Name, "Somebody in the channel")
	runs := append(h.named(k), block.Plain(". "), block.BoldTyped(name, 60), block.Plain(" asks to take part. To leave it at that, do nothing."))
	let := screen.Button("Let Them In", "do/lead.admit", screen.Args{Kickoff: k.ID, Choice: string(j.Person.ID)})
	return due{words: runs, acts: []*slack.ButtonBlockElement{let}}
}

func personalForms() map[string]screen.Form {
	return map[string]screen.Form{"me.hours": {May: screen.MayTakePart, Fill: setHours}}
}

var personalActions = map[string]screen.Action{
	"me.mute": func(p screen.Page) (flows.Intent, string) {
		return flows.Mute{By: screen.By(p)}, "You get no more reminders from this kickoff. “/soundings unmute” brings them back."
	},
	"me.unmute": func(p screen.Page) (flows.Intent, string) {
		return flows.Mute{By: screen.By(p), Off: true}, "You are reminded again: once a day at most, and in your working hours."
	},
	"me.join": func(p screen.Page) (flows.Intent, string) { // on a home tab, and when somebody has come into the channel
		ask := flows.AskToJoin{FromOutside: flows.FromOutside{Who: p.Viewer}, Person: state.Person{ID: p.Viewer}}
		return ask, fmt.Sprintf("I have asked %s, who leads it. You will hear from them.", words.LeadName(p.Kickoff))
	},
}

// nudgeFor is what the viewer still owes; owes is false when it is nothing.
func nudgeFor(p screen.Page) (n screen.Nudge, owes bool) {
	row, ok := stageOf(p.Kickoff.Stage)
	if !ok || !p.Kickoff.Takes(p.Viewer) {
		return screen.Nudge{}, false
	}
	n = row.nudge(p)
	if n.Open != "" && n.Minutes == 0 {
		if asking, err := row.asks(p); err == nil {
			n.Minutes = asking.Minutes
		}
	}
	return n, n.Open != ""
}

// reminderMessage tells somebody what still waits for them. Once it is done,
// or has closed, the message says so and asks for nothing.
func reminderMessage(p screen.Page, _ string) (screen.Posting, error) {
	const title = "Still open for you"
	k := p.Kickoff
	n, owes := nudgeFor(p)
	if !owes {
		return screen.Line(p, title, "Nothing any more: it is done, or it has closed. Thank you."), nil
	}
	if len(n.Acts) > 0 {
		block.Primary(n.Acts[0])
	}
	acts := append(n.Acts, muteButton(p), screen.HereButton(p, "Set My Hours", "open/me.hours"))
	return screen.Posting{
		Text: n.Aloud(k),
		Blocks: []slack.Block{
			block.Heading(title),
			block.Para(block.BoldTyped(k.Brief.Title, 150), block.Plain(": %s", n.Open)),
			block.Para(n.Closing()...),
			block.Buttons(acts...),
			block.Note("You get one reminder a day at most, in your working hours."),
		},
	}, nil
}

func muteButton(p screen.Page) *slack.ButtonBlockElement {
	if person, _ := p.Kickoff.Person(p.Viewer); person.Muted {
		return screen.HereButton(p, "Remind Me Again", "do/me.unmute")
	}
	return screen.HereButton(p, "Stop Reminders", "do/me.mute")
}

func setHours(p screen.Page, f *block.Form) flows.Intent {
	person, _ := p.Kickoff.Person(p.Viewer)
	stood := p.Kickoff.HoursOf(person)
	var days []string
	for d, works := range stood.Days {
		if works {
			days = append(days, strconv.Itoa(d))
		}
	}
	f.Title, f.Submit = "My working hours", "Save"
	f.Add(block.Text("Steps stay open until everyone has had their working hours, and reminders come only within them."))
	hours := flows.SetHours{By: screen.By(p), Zone: f.Text("zone", "Time zone", stood.Zone.String(), block.OneLine, block.Longest(60),
		block.Hint("By its city, such as Europe/Lisbon or Pacific/Auckland."))}
	hours.Days = screen.Numbers(f.Ticks("days", "Working days", days, screen.WeekdayOptions()))
	slices.Sort(hours.Days)
	var fromErr, toErr error
	hours.From, fromErr = strconv.Atoi(f.Select("from", "From", strconv.Itoa(stood.From), timeOptions(stood.From)))
	hours.To, toErr = strconv.Atoi(f.Select("to", "To", strconv.Itoa(stood.To), timeOptions(stood.To)))
	if fromErr != nil || toErr != nil || hours.From >= hours.To {
		f.Fault("to", "The working day must end later than it begins.")
	}
	return hours
}

// timeOptions are the half hours of a day, and the minute that is set now.
func timeOptions(now int) []block.Option {
	minutes := []int{now}
	for i := range 2*24 + 1 {
		minutes = append(minutes, i*30)
	}
	slices.Sort(minutes)
	var options []block.Option
	for _, m := range slices.Compact(minutes) {
		options = append(options, block.Option{Value: strconv.Itoa(m), Text: fmt.Sprintf("%d:%02d", m/60, m%60)})
	}
	return options
}
