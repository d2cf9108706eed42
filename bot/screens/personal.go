package screens

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

func personalForms() map[string]Form {
	return map[string]Form{"me.hours": {May: mayTakePart, Fill: setHours}}
}

func personalActions() map[string]action {
	return map[string]action{
		"me.mute": func(p Page) (flows.Intent, string) {
			return flows.Mute{By: by(p)}, "You get no more reminders from this kickoff. “/soundings unmute” brings them back."
		},
		"me.unmute": func(p Page) (flows.Intent, string) {
			return flows.Mute{By: by(p), Off: true}, "You are reminded again: once a day at most, and in your working hours."
		},
		"me.join": func(p Page) (flows.Intent, string) { // on a home tab, and when somebody has come into the channel
			ask := flows.AskToJoin{FromOutside: flows.FromOutside{Who: p.Viewer}, Person: flows.Person{ID: p.Viewer}}
			return ask, fmt.Sprintf("I have asked %s, who leads it. You will hear from them.", words.LeadName(p.Kickoff))
		},
	}
}

// A nudge is one thing that somebody still owes, and the buttons that do it;
// the zero nudge is nothing. A vote among several has no button here: one of
// them alone would be a recommendation.
type nudge struct {
	open    string // what is open, a sentence
	minutes int
	closes  time.Time
	acts    []*slack.ButtonBlockElement // may be none; the first is what most people want
	home    []*slack.ButtonBlockElement // further ones, on the home tab
}

// nudgeFor is what the viewer still owes; owes is false when it is nothing.
func nudgeFor(p Page) (n nudge, owes bool) {
	row, ok := stageOf(p.Kickoff.Stage)
	if !ok || !p.Kickoff.Takes(p.Viewer) {
		return nudge{}, false
	}
	n = row.nudge(p)
	return n, n.open != ""
}

// owed is a nudge of whoever is asked in the open window and has not finished.
func owed(p Page, open string, minutes int, acts ...*slack.ButtonBlockElement) nudge {
	w := p.Kickoff.Window
	if _, done := w.Done[p.Viewer]; done || w.Phase != flows.PhaseOpen || !slices.Contains(w.Asked, p.Viewer) {
		return nudge{}
	}
	return nudge{open: open, minutes: minutes, closes: w.Closes, acts: acts}
}

// reminderMessage tells somebody what still waits for them. Once it is done,
// or has closed, the message says so and asks for nothing.
func reminderMessage(p Page, _ string) (Posting, error) {
	const title = "Still open for you"
	k := p.Kickoff
	n, owes := nudgeFor(p)
	if !owes {
		return line(p, title, "Nothing any more: it is done, or it has closed. Thank you."), nil
	}
	if len(n.acts) > 0 {
		block.Primary(n.acts[0])
	}
	acts := append(n.acts, muteButton(p), hereButton(p, "Set My Hours", "open/me.hours"))
	return Posting{
		Text: aloud(k, "%s About %s. ", n.open, minutesText(n.minutes)) +
			"Closes " + block.WhenText(n.closes) + ".",
		Blocks: []slack.Block{
			block.Heading(title),
			block.Para(block.BoldTyped(k.Brief.Title, 150), block.Plain(": %s", n.open)),
			block.Para(block.Plain("About %s. Closes ", minutesText(n.minutes)), block.When(n.closes), block.Plain(" your time.")),
			block.Buttons(acts...),
			block.Note("You get one reminder a day at most, in your working hours."),
		},
	}, nil
}

func muteButton(p Page) *slack.ButtonBlockElement {
	if person, _ := p.Kickoff.Person(p.Viewer); person.Muted {
		return hereButton(p, "Remind Me Again", "do/me.unmute")
	}
	return hereButton(p, "Stop Reminders", "do/me.mute")
}

// halfHours is how many half hours a day has.
const halfHours = 48

func setHours(p Page, f *block.Form) flows.Intent {
	person, _ := p.Kickoff.Person(p.Viewer)
	stood := person.Hours()
	var days []string
	for d, works := range stood.Days {
		if works {
			days = append(days, strconv.Itoa(d))
		}
	}
	f.Title, f.Submit = "My working hours", "Save"
	f.Add(block.Text("Steps stay open until everyone has had their working hours, and reminders come only within them."))
	hours := flows.SetHours{By: by(p), Zone: f.Text("zone", "Time zone", stood.Zone.String(), block.OneLine, block.Longest(60),
		block.Hint("By its city, such as Europe/Lisbon or Pacific/Auckland."))}
	hours.Days = numbers(f.Ticks("days", "Working days", days, weekdayOptions()))
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
	for i := range halfHours + 1 {
		minutes = append(minutes, i*30)
	}
	slices.Sort(minutes)
	var options []block.Option
	for _, m := range slices.Compact(minutes) {
		options = append(options, block.Option{Value: strconv.Itoa(m), Text: fmt.Sprintf("%d:%02d", m/60, m%60)})
	}
	return options
}
