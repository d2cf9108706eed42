package screens

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/flows"
)

func personalForms() map[string]Form {
	return map[string]Form{"me.hours": {Open: openHours, Submit: submitHours}}
}

func personalDeeds() map[string]deed {
	return map[string]deed{
		"me.mute": func(p Page) (flows.Intent, string) {
			return flows.Mute{By: by(p)}, "You get no more reminders from this kickoff. “/soundings unmute” brings them back."
		},
		"me.unmute": func(p Page) (flows.Intent, string) {
			return flows.Mute{By: by(p), Off: true}, "You are reminded again: once a day at most, and in your working hours."
		},
	}
}

// A nudge is what a reminder says: one thing that is still open, and the
// buttons that do it. A vote among several has no button here: one of them
// alone would be a recommendation.
type nudge struct {
	open    string // what is open, a sentence
	minutes int
	acts    []*slack.ButtonBlockElement // may be none; the first is what most people want
}

// reminderMessage tells somebody what still waits for them. Once it is done,
// or has closed, the message says so and asks for nothing.
func reminderMessage(p Page, _ string) (Posting, error) {
	const title = "Still open for you"
	k := p.Kickoff
	n, closes, owes := nudgeFor(p)
	if !owes {
		return line(p, title, "Nothing any more: it is done, or it has closed. Thank you."), nil
	}
	stage := Args{Kickoff: k.ID, Stage: string(k.Stage), Round: k.Window.Round}
	acts := n.acts
	if len(acts) > 0 {
		primary(acts[0])
	}
	acts = append(acts, muteButton(p, stage), button("Set My Hours", "open/me.hours", stage))
	return Posting{
		Text: escape(fmt.Sprintf("%s: %s About %s. ", clip(k.Brief.Title, 80), n.open, count(n.minutes, "minute", "minutes"))) +
			"Closes " + whenText(closes) + ".",
		Blocks: []slack.Block{
			heading(title),
			para(boldTyped(k.Brief.Title, 150), plain(": %s", n.open)),
			para(plain("About %s. Closes ", count(n.minutes, "minute", "minutes")), when(closes), plain(" your time.")),
			buttons(acts...),
			note("You get one reminder a day at most, in your working hours."),
		},
	}, nil
}

func muteButton(p Page, args Args) *slack.ButtonBlockElement {
	if person, _ := p.Kickoff.Person(p.Viewer); person.Muted {
		return button("Remind Me Again", "do/me.unmute", args)
	}
	return button("Stop Reminders", "do/me.mute", args)
}

// stageNudge says what is open in the present stage, and which buttons do
// it.
func stageNudge(p Page) nudge {
	args := Args{Kickoff: p.Kickoff.ID, Stage: string(p.Kickoff.Stage), Round: p.Kickoff.Window.Round}
	one := func(label, action string) []*slack.ButtonBlockElement {
		return []*slack.ButtonBlockElement{button(label, action, args)}
	}
	switch p.Kickoff.Stage {
	case flows.StageBrief:
		return nudge{"The brief waits to be read. It is in the channel; ask there if something is not clear.",
			readingMinutes(p.Kickoff.Brief), one("Mark as Read", "do/brief.read")}
	case flows.StageFraming:
		return nudge{"Say how broad the problem should be, and which wordings you could live with.", 3, one("Choose", "open/framing.vote")}
	case flows.StageRoles:
		return nudge{"Place yourself: core team, consulted or informed.", 1, one("Place Myself", "open/roles.place")}
	case flows.StageAssumptions:
		return nudge{"Add what has to be true for this to work, or press That Is All.", 5,
			append(one("Add an Assumption", "open/assumptions.add"), one("That Is All", "do/assumptions.done")...)}
	case flows.StageRating:
		return ballotNudge(p, args)
	case flows.StageBacklog:
		return nudge{"Say which kinds of risk these are and plan a test, or press That Is All.", 5,
			append(one("Say Which Kind of Risk", "open/backlog.kinds"), one("That Is All", "do/backlog.done")...)}
	case flows.StageTimebox:
		return nudge{"Say how many weeks this discovery should get.", 2, one("Vote on the Weeks", "open/timebox.vote")}
	}
	return nudge{"Note who does what next, then post the summary.", 5, one("Add an Action", "open/close.action")}
}

// ballotNudge says how much of a ballot is done.
func ballotNudge(p Page, args Args) nudge {
	k := p.Kickoff
	all, rated := len(k.Rounds[len(k.Rounds)-1].IDs), 0
	for _, m := range k.Ballot(k.Window.Round, p.Viewer) {
		if m.Importance != 0 && m.Evidence != 0 {
			rated++
		}
	}
	open := fmt.Sprintf("Rate %s. Your ballot is private, and saved at each choice.", count(all, "assumption", "assumptions"))
	if rated > 0 {
		open = fmt.Sprintf("Your ballot has %d of %s rated. What you have is saved; press Finish on its last page.", rated, count(all, "assumption", "assumptions"))
	}
	return nudge{open, max(1, ((all-rated)*secondsPerRating+59)/60),
		[]*slack.ButtonBlockElement{button("Open My Ballot", "open/rating.ballot", args)}}
}

// halfHours is how many half hours a day has.
const halfHours = 48

func openHours(p Page) (slack.ModalViewRequest, error) {
	if err := mayTakePart(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	person, _ := p.Kickoff.Person(p.Viewer)
	hours := person.Hours()
	var days []string
	for d, works := range hours.Days {
		if works {
			days = append(days, strconv.Itoa(d))
		}
	}
	return form("My working hours", "Save",
		para(plain("Steps stay open until everyone has had their working hours, and reminders come only within them.")),
		textInput("zone", "Time zone", hours.Zone.String(), false, 60, hint("By its city, such as Europe/Lisbon or Pacific/Auckland.")),
		tickInput("days", "Working days", days, weekdayOptions()),
		selectInput("from", "From", strconv.Itoa(hours.From), timeOptions(hours.From)),
		selectInput("to", "To", strconv.Itoa(hours.To), timeOptions(hours.To)),
	), nil
}

// timeOptions are the half hours of a day, and the minute that is set now.
func timeOptions(now int) []option {
	minutes := []int{now}
	for i := range halfHours + 1 {
		minutes = append(minutes, i*30)
	}
	slices.Sort(minutes)
	var options []option
	for _, m := range slices.Compact(minutes) {
		options = append(options, option{Value: strconv.Itoa(m), Text: fmt.Sprintf("%d:%02d", m/60, m%60)})
	}
	return options
}

func submitHours(p Page, v Values) (Answer, error) {
	from, fromOK := v.Number("from")
	to, toOK := v.Number("to")
	if !fromOK || !toOK || from >= to {
		return faulty("to", "The working day must end later than it begins.")
	}
	hours := flows.SetHours{By: by(p), Zone: v.Text("zone"), From: from, To: to}
	for _, choice := range v.Choices("days") {
		d, err := strconv.Atoi(choice)
		if err != nil {
			return Answer{}, fmt.Errorf("read a working day: %w", err)
		}
		hours.Days = append(hours.Days, d)
	}
	slices.Sort(hours.Days)
	return wants(hours)
}
