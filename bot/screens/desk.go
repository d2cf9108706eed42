package screens

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// The desk is a lead's place: where the kickoff stands, who is waited for, the
// one thing that most often comes next, and behind More all that only a lead can
// do.

// deskMessage is one private message, kept current from stage to stage.
func deskMessage(p screen.Page, _ string) (screen.Posting, error) {
	k := p.Kickoff
	switch {
	case !k.IsLead(p.Viewer):
		return screen.Line(p, "Leading", "You do not lead this kickoff any more. Thank you for what you did."), nil
	case k.CalledOff.Why != "":
		return calledOffLine(p), nil
	case k.Stage == state.StageEnded && k.Underway.Decision.Set == "" && !state.EndedWithSummary(&k):
		return screen.Line(p, "Leading", "This kickoff has ended without a decision."), nil
	case k.Stage == state.StageEnded:
		return screen.Line(p, "Leading", "This kickoff has ended. Its summary stays in the channel."), nil
	}
	blocks := []slack.Block{block.Heading("Leading: " + k.Brief.Title), block.Text("%s", deskState(k))}
	blocks = append(blocks, missingLine(p)...)
	return screen.Posting{
		Text:   screen.Aloud(k, "your controls as the lead. %s%s", deskState(k), pressText(p)),
		Blocks: append(blocks, block.Buttons(deskButtons(p)...), block.Note("Only leads see this.")),
	}, nil
}

// pressText names the first button to whoever is read to.
func pressText(p screen.Page) string {
	if first := firstButton(p); first != nil {
		return fmt.Sprintf(" Press %s, or More.", first.Text.Text)
	}
	return ""
}

// deskState says where the kickoff is: "Step 2 of 8: Framing the problem."
func deskState(k state.Kickoff) string {
	name := flows.TitleOf(k.Stage)
	switch {
	case k.Stage == state.StageUnderway:
		return "The kickoff is done and the discovery is underway."
	case k.Window.Phase == state.PhaseSettling:
		return fmt.Sprintf("Step %s, “%s”, waits for you to settle it. See the message beside this one.", screen.Position(k), name)
	case k.Window.Round > 1:
		name += ", second round"
	}
	return fmt.Sprintf("Step %s is open: %s", screen.Position(k), screen.FullStop(name))
}

// mostMissing is how many are named of those who have not answered.
const mostMissing = 12

// missingLine names to a lead who has not answered yet, with the moment at which
// that was so: the message is brought up to date now and then, not at each answer.
func missingLine(p screen.Page) []slack.Block {
	missing := flows.Owing(&p.Kickoff)
	if len(missing) == 0 {
		return nil
	}
	runs := []block.Run{block.Bold("Still to answer"), block.Plain(", as of "), block.When(p.Now), block.Plain(": ")}
	blocks := []slack.Block{block.Para(append(append(runs, missingNames(p, missing)...), block.Plain("."))...)}
	if silent := flows.Silent(&p.Kickoff); len(silent) > 0 {
		blocks = append(blocks, block.Para(append(silentNames(p, silent), block.Plain(" Press Who Is Missing for words to write to them."))...))
	}
	return blocks
}

// silentNames says who has said nothing for two steps, to a lead alone.
func silentNames(p screen.Page, silent []state.UserID) []block.Run {
	runs := append([]block.Run{block.Bold("Nothing in two steps from: ")}, missingNames(p, silent)...)
	return append(runs, block.Plain("."))
}

// silentBlocks are words with which a lead may write to those who have said nothing.
func silentBlocks(p screen.Page) []slack.Block {
	silent := flows.Silent(&p.Kickoff)
	if len(silent) == 0 {
		return nil
	}
	return []slack.Block{block.Para(append(silentNames(p, silent), block.Plain(" You could write to each of them yourself, for example:"))...),
		block.Quote(block.Plain("Is something in the way of “"), block.Typed(p.Kickoff.Brief.Title, 150),
			block.Plain("”? If this is the wrong time, or somebody else knows more, tell me. If not: ten minutes of yours would help us, and nobody sees your ratings."))}
}

func missingNames(p screen.Page, missing []state.UserID) []block.Run {
	return block.InARow(missing, mostMissing, func(u state.UserID) block.Run { return block.Typed(p.Kickoff.Name(u), 40) })
}

// deskButtons are what most often comes next, and the way to all the rest.
func deskButtons(p screen.Page) []*slack.ButtonBlockElement {
	more := screen.HereButton(p, "More", "open/lead.more")
	more.AccessibilityLabel = "More that a lead can do"
	if first := firstButton(p); first != nil {
		return []*slack.ButtonBlockElement{block.Primary(first), more}
	}
	return []*slack.ButtonBlockElement{more}
}

// firstButton is what a lead most often wants at this moment; nil where another
// message has it.
func firstButton(p screen.Page) *slack.ButtonBlockElement {
	k := p.Kickoff
	switch {
	case k.Stage == state.StageClose:
		return screen.HereButton(p, "Preview the Summary", "open/close.preview")
	case k.Stage != state.StageUnderway && k.Window.Phase == state.PhaseSettling:
		row, _ := stageOf(k.Stage)
		if s, err := row.settles(p); err == nil && len(s.Acts) > 0 {
			return s.Acts[0]
		}
		return nil
	case len(flows.Owing(&k)) > 0:
		return screen.HereButton(p, "Who Is Missing", "open/lead.missing")
	case k.Stage == state.StageUnderway && k.Underway.Decision.Phase == "" && state.Settled(&k):
		return decideButton(p)
	case k.Stage == state.StageUnderway && k.Underway.Decision.Phase == "":
		return screen.Button("Change the Summary", "open/close.preview", screen.StageArgs(p, state.StageClose))
	}
	return nil
}

func decideButton(p screen.Page) *slack.ButtonBlockElement {
	return block.Confirm(screen.HereButton(p, "Decide Now", "do/lead.decide"), "Decide before the end?",
		"The vote opens for everyone at once: build, stop, or another time box. An open check-in closes.", "Open the Vote")
}

// IsMenu reports that a form only lists what there is to do: what is pressed in
// it takes its place.
func IsMenu(form string) bool { return form == "lead.more" || form == "lead.missing" }

// showMore lists all that a lead can do now. A form that is opened from here
// takes its place, so that it is no deeper in the stack of forms than elsewhere.
func showMore(p screen.Page, f *block.Form) flows.Intent {
	f.Title = "What a lead can do"
	for _, c := range slices.Concat(stageControls(p), contentControls(p), peopleControls(p), callOffControl(p)) {
		f.Add(block.Beside(c.Does, c.Button))
	}
	if p.Args.Home {
		fromHome(f.Blocks)
	}
	return nil
}

// stageControls move the kickoff from stage to stage.
func stageControls(p screen.Page) []screen.Control {
	k := p.Kickoff
	var all []screen.Control
	if k.Stage == state.StageUnderway {
		if k.Underway.Decision.Phase != "" {
			return nil
		}
		return append(all, screen.Can(decideButton(p), "Vote on how to go on, before the time box is over."))
	}
	if k.Window.Phase == state.PhaseOpen {
		if k.Stage != state.StageClose { // posting the summary closes that one
			all = append(all, screen.Can(screen.HereButton(p, "Close This Step", "open/lead.missing"), "See who is missing, and close it."))
		}
		all = append(all, screen.Can(screen.HereButton(p, "Give More Time", "open/lead.extend"), "Keep this step open longer."))
	}
	if k.Window.Phase == state.PhaseSettling || len(k.Past) > 0 {
		back := block.Confirm(screen.HereButton(p, "Go Back a Step", "do/lead.reopen"), "Go back a step?", reopenText(k), "Go Back")
		all = append(all, screen.Can(back, "Open the last step again."))
	}
	if canChooseSteps(k) {
		all = append(all, screen.Can(screen.HereButton(p, "Choose the Steps", "open/lead.steps"), stepsHint(p.Kickoff)))
	}
	return all
}

// reopenText says which stage opens again, and what becomes of its answers.
func reopenText(k state.Kickoff) string {
	w := k.Window
	if (w.Phase == state.PhaseOpen || w.Stage == state.StageTidying) && len(k.Past) > 0 {
		w = k.Past[len(k.Past)-1]
	}
	if event.IsBoxed(w.Stage) {
		return fmt.Sprintf("“%s” opens again, for as long as a step takes. Ballots that were counted are nobody's any more, so everybody is asked anew.", flows.TitleOf(w.Stage))
	}
	return fmt.Sprintf("“%s” opens again with its answers as they were, for as long as a step takes.", flows.TitleOf(w.Stage))
}

// contentControls change what the open stage is about, and underway the
// summary.
func contentControls(p screen.Page) []screen.Control {
	row, ok := stageOf(p.Kickoff.Stage)
	if !ok || p.Kickoff.Window.Phase != state.PhaseOpen && p.Kickoff.Stage != state.StageUnderway {
		return nil
	}
	return append(row.desk(p), rating.DealControl(p)...)
}

func peopleControls(p screen.Page) []screen.Control {
	args := screen.StageArgs(p, p.Kickoff.Stage)
	return []screen.Control{
		screen.Can(screen.Button("Invite People", "open/lead.invite", args), "More people take part."),
		screen.Can(screen.Button("Remove Somebody", "open/lead.remove", args), "They are asked nothing any more."),
		screen.Can(screen.Button("Add a Lead", "open/lead.add", args), "Somebody leads with you."),
		screen.Can(screen.Button("Hand Over", "open/lead.handover", args), "Somebody leads in your place."),
	}
}

// seesMissing lets a lead see who is missing, as long as something is open.
func seesMissing(p screen.Page) error {
	if !screen.StillOf(p) {
		return screen.Refuse("%s", closedMeanwhile(p))
	}
	if len(flows.Owing(&p.Kickoff)) == 0 {
		return screen.Refuse("Nobody is waited for at the moment.")
	}
	return nil
}

// showMissing names who has not answered, offers to remind them, and closes the
// step without them.
func showMissing(p screen.Page, f *block.Form) flows.Intent {
	k := p.Kickoff
	missing := flows.Owing(&k)
	f.Title = "Who is missing?"
	f.Add(block.Para(append([]block.Run{block.Bold("Still to answer: ")}, append(missingNames(p, missing), block.Plain("."))...)...))
	f.Add(silentBlocks(p)...)
	f.Add(remindBlocks(p)...)
	if k.Stage == state.StageUnderway || k.Stage == state.StageClose {
		return nil
	}
	f.Submit = "Close This Step"
	f.Add(block.Para(block.Plain("“%s” closes by itself ", flows.TitleOf(k.Stage)), block.When(k.Window.Closes), block.Plain(" your time.")),
		block.Text("%s", closingText(k)))
	f.Add(tidyNote(k)...)
	return screen.StillAt(p, flows.CloseNow{ByLead: screen.ByLead(p)})
}

// closingText says what closing early means.
func closingText(k state.Kickoff) string {
	text := "Close it now, and no more answers are taken. You can go back to it."
	if heard := flows.Heard(&k, k.Window); heard < k.Window.Quorum() && !screen.OneIsAsked(k.Window) {
		text += fmt.Sprintf(" Only %d of %d have answered, so the result says that few answered, and every lead has to wish it.", heard, len(k.Window.Asked))
	}
	return text
}

// remindBlocks offer to remind those who may be reminded now, and say who is
// left alone.
func remindBlocks(p screen.Page) []slack.Block {
	now, not := flows.Remindable(&p.Kickoff, p.Now)
	var blocks []slack.Block
	if len(now) > 0 {
		blocks = append(blocks, block.Buttons(screen.HereButton(p, "Remind Them", "do/lead.remind")))
		if p.Args.Home {
			fromHome(blocks)
		}
	}
	if text := leftAlone(p.Kickoff, not); text != "" {
		blocks = append(blocks, block.Note(text))
	}
	return blocks
}

// leftAlone says who is not reminded now, and why.
func leftAlone(k state.Kickoff, not map[flows.NoReminder][]state.UserID) string {
	text := ""
	for _, row := range []struct {
		why  flows.NoReminder
		says string
	}{
		{flows.RemindedToday, "Had a reminder today: %s. "},
		{flows.OffWork, "Not at work now, and reminded when they are back: %s. "},
		{flows.WantsNone, "Want no reminders: %s. "},
	} {
		if who := not[row.why]; len(who) > 0 {
			text += fmt.Sprintf(row.says, screen.Names(k, who, mostMissing))
		}
	}
	return strings.TrimSpace(text)
}

// remindThanks says whom a press on Remind Them reaches.
func remindThanks(k state.Kickoff, now time.Time) string {
	who, not := flows.Remindable(&k, now)
	if len(who) == 0 {
		return "Nobody is reminded now. " + cmp.Or(leftAlone(k, not), "Nobody is waited for.")
	}
	return strings.TrimSpace(fmt.Sprintf("Reminded: %s. %s", screen.Names(k, who, mostMissing), leftAlone(k, not)))
}
