package screens

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// What is for one person alone: the reminder of what they still owe, their hours, and
// whether they want to be reminded.

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
