package screens

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

func leadForms() map[string]screen.Form {
	return map[string]screen.Form{
		"lead.extend": {May: screen.Both(screen.MayLead, mayExtend), Fill: givenTime},
		"lead.handover": choosing{but: self, title: "Hand over", submit: "Hand Over", field: "to", asks: "Who leads from now on?",
			says: "Somebody else leads in your place from now on. You still take part. Only a lead can make you one again.",
			means: func(p screen.Page, u state.UserID) flows.Intent {
				return flows.HandOver{ByLead: screen.ByLead(p), To: u}
			}}.form(),
		"lead.add": choosing{but: leading, title: "Add a lead", submit: "Add", field: "to", asks: "Who leads with you?",
			says: "All leads can do the same things. When fewer than half have answered, a step closes early only if all of them wish it.",
			means: func(p screen.Page, u state.UserID) flows.Intent {
				return flows.AddLead{ByLead: screen.ByLead(p), Person: u}
			}}.form(),
		"lead.invite": {May: screen.MayLead, Fill: invited},
		"lead.remove": choosing{but: self, title: "Let somebody go", submit: "Let Them Go", field: "person", asks: "Who no longer takes part?",
			says: "Nothing is asked of them any more. What they gave stays, and you can invite them again.",
			means: func(p screen.Page, u state.UserID) flows.Intent {
				return flows.LetGo{ByLead: screen.ByLead(p), Person: u}
			}}.form(),
	}
}

var leadActions = map[string]screen.Action{
	"lead.close": func(p screen.Page) (flows.Intent, string) {
		return screen.StillAt(p, flows.CloseNow{ByLead: screen.ByLead(p)}), closeThanks(p)
	},
	"lead.day": func(screen.Page) (flows.Intent, string) { return flows.Tick{}, "Good. The extra day is given already." },
	"lead.reopen": func(p screen.Page) (flows.Intent, string) {
		return screen.StillAt(p, flows.Reopen{ByLead: screen.ByLead(p)}), "It is open again."
	},
	"lead.skip-roles": func(p screen.Page) (flows.Intent, string) {
		return flows.SkipRoles{ByLead: screen.ByLead(p)}, "“Who does what” is left out."
	},
	"lead.decide": func(p screen.Page) (flows.Intent, string) {
		return flows.DecideNow{ByLead: screen.ByLead(p)}, "The vote is open in the channel."
	},
	"lead.admit": func(p screen.Page) (flows.Intent, string) { // their name and zone are looked up again by the shell
		return flows.Invite{ByLead: screen.ByLead(p), People: []state.Person{{ID: state.UserID(p.Args.Choice)}}}, "They take part now."
	},
	// While the channel is out of reach, or others read it.
	"lead.go-on": func(p screen.Page) (flows.Intent, string) {
		return flows.GoOn{ByLead: screen.ByLead(p)}, "I try again. You hear from me if I still cannot get in."
	},
	"lead.abandon": func(p screen.Page) (flows.Intent, string) {
		return flows.Abandon{ByLead: screen.ByLead(p)}, "This kickoff has ended."
	},
	"lead.outside": func(p screen.Page) (flows.Intent, string) {
		return flows.GoOnHere{ByLead: screen.ByLead(p)}, "Good. The kickoff goes on there."
	},
}

// closeThanks tells a lead below quorum that the other leads have to wish it
// as well.
func closeThanks(p screen.Page) string {
	others := missingWishes(p.Kickoff, p.Viewer)
	if others == 0 || flows.Heard(&p.Kickoff, p.Kickoff.Window) >= p.Kickoff.Window.Quorum() {
		return "Closed. What follows is in the channel."
	}
	return fmt.Sprintf("Noted. Fewer than half have answered, so %s to wish it too.", words.Count(others, "other lead has", "other leads have"))
}

// missingWishes counts the other leads who have not wished to close.
func missingWishes(k state.Kickoff, but state.UserID) int {
	n := 0
	for _, u := range k.Leads {
		if u != but && k.Takes(u) && !k.Window.Wishes[u] {
			n++
		}
	}
	return n
}

// deskMessage is a lead's place for everything that only a lead can do. It is
// one private message, kept current from stage to stage.
func deskMessage(p screen.Page, _ string) (screen.Posting, error) {
	k := p.Kickoff
	switch {
	case !k.IsLead(p.Viewer):
		return screen.Line(p, "Leading", "You do not lead this kickoff any more. Thank you for what you did."), nil
	case k.Stage == state.StageEnded && k.Underway.Decision.Set == "":
		return screen.Line(p, "Leading", "This kickoff has ended without a decision."), nil
	case k.Stage == state.StageEnded:
		return screen.Line(p, "Leading", "This kickoff has ended. Its summary stays in the channel."), nil
	}
	blocks := []slack.Block{block.Heading("Leading: " + k.Brief.Title), block.Text("%s", deskState(k))}
	blocks = append(blocks, block.RowOf(stageButtons(p))...)
	blocks = append(blocks, block.RowOf(contentButtons(p))...)
	return screen.Posting{
		Text: screen.Aloud(k, "your controls as the lead. %s", deskState(k)),
		Blocks: append(blocks, block.Buttons(peopleButtons(p)...),
			block.Note("Only leads have these buttons. Each one asks before it does anything.")),
	}, nil
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

// stageButtons move the kickoff from stage to stage.
func stageButtons(p screen.Page) []*slack.ButtonBlockElement {
	k := p.Kickoff
	var all []*slack.ButtonBlockElement
	if k.Stage == state.StageUnderway {
		if k.Underway.Decision.Phase != "" {
			return nil
		}
		return append(all, block.Confirm(screen.HereButton(p, "Decide Now", "do/lead.decide"), "Decide before the end?",
			"The vote opens for everyone at once: build, stop, or another time box. An open check-in closes.", "Open the Vote"))
	}
	if k.Window.Phase == state.PhaseOpen {
		if k.Stage != state.StageClose { // posting the summary closes that one
			all = append(all, block.Confirm(screen.HereButton(p, "Close This Step", "do/lead.close"), "Close this step?",
				"No more answers are taken, and the next step opens. You can go back to it.", "Close It"))
		}
		all = append(all, screen.HereButton(p, "Give More Time", "open/lead.extend"))
	}
	if k.Window.Phase == state.PhaseSettling || len(k.Past) > 0 {
		all = append(all, block.Confirm(screen.HereButton(p, "Go Back a Step", "do/lead.reopen"), "Go back a step?", reopenText(k), "Go Back"))
	}
	if screen.Before(k.Stage, state.StageAssumptions) && !k.Roles.Skipped && !k.Roles.Done {
		all = append(all, block.Confirm(screen.HereButton(p, "Leave Out Roles", "do/lead.skip-roles"), "Leave out “Who does what”?",
			"Nobody is asked to place themselves, and the lead counts as the core team. This cannot be taken back.", "Leave It Out"))
	}
	return all
}

// reopenText says which stage opens again, and what becomes of its answers.
func reopenText(k state.Kickoff) string {
	w := k.Window
	if w.Phase == state.PhaseOpen && len(k.Past) > 0 {
		w = k.Past[len(k.Past)-1]
	}
	if event.IsBoxed(w.Stage) {
		return fmt.Sprintf("“%s” opens again, for as long as a step takes. Ballots that were counted are nobody's any more, so everybody is asked anew.", flows.TitleOf(w.Stage))
	}
	return fmt.Sprintf("“%s” opens again with its answers as they were, for as long as a step takes.", flows.TitleOf(w.Stage))
}

// contentButtons change what the open stage is about, and underway the
// summary.
func contentButtons(p screen.Page) []*slack.ButtonBlockElement {
	row, ok := stageOf(p.Kickoff.Stage)
	if !ok || p.Kickoff.Window.Phase != state.PhaseOpen && p.Kickoff.Stage != state.StageUnderway {
		return nil
	}
	return append(row.desk(p), dealButton(p)...)
}

func peopleButtons(p screen.Page) []*slack.ButtonBlockElement {
	args := screen.StageArgs(p, p.Kickoff.Stage)
	return []*slack.ButtonBlockElement{
		screen.Button("Invite People", "open/lead.invite", args),
		screen.Button("Let Somebody Go", "open/lead.remove", args),
		screen.Button("Add a Lead", "open/lead.add", args),
		screen.Button("Hand Over", "open/lead.handover", args),
	}
}

// quorumMessage tells a lead that too few have answered, and that a day more
// was given.
func quorumMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	stage, round := flows.ParseStageArg(arg)
	w, ok := screen.WindowOf(k, stage, round)
	title := "Too few have answered"
	if !ok || !screen.TakesAnswers(k, w) || !w.Extended {
		return screen.Line(p, title, fmt.Sprintf("“%s” has closed since, or opened anew. Nothing is left to do here.", flows.TitleOf(stage))), nil
	}
	heard := flows.Heard(&k, w)
	if heard >= w.Quorum() {
		return screen.Line(p, title, fmt.Sprintf("By now %d of %d have answered, which is enough. It closes when its time is up.", heard, len(w.Asked))), nil
	}
	rule := "You can also close it now."
	if missingWishes(k, p.Viewer) > 0 {
		rule = "To close it sooner, every lead has to wish it."
	}
	standing := fmt.Sprintf("%d of %d have answered “%s”; half would be %d.", heard, len(w.Asked), flows.TitleOf(stage), w.Quorum())
	args := screen.Args{Kickoff: k.ID, Stage: string(stage), Round: round}
	return screen.Posting{
		Text: screen.Aloud(k, "%s One more working day is given. ", standing) +
			"It closes " + block.WhenText(w.Closes) + ", unless you close it now.",
		Blocks: []slack.Block{
			block.Heading(title),
			block.Para(block.Plain("%s I have given it one more working day, until ", standing), block.When(w.Closes), block.Plain(" your time.")),
			block.Text("After that it closes by itself, and the result is marked as thin. %s", rule),
			block.Buttons(block.Primary(screen.Button("Keep the Extra Day", "do/lead.day", args)),
				block.Confirm(screen.Button("Close It Now", "do/lead.close", args), "Close it as it is?",
					"The result is marked as thin, since fewer than half were heard.", "Close It")),
		},
	}, nil
}

// joinMessage asks a lead to let somebody in.
func joinMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	who := state.UserID(arg)
	at := slices.IndexFunc(k.Asking, func(j state.JoinRequest) bool { return j.Person.ID == who })
	switch {
	case k.Takes(who):
		return screen.Line(p, "Somebody asked to take part", words.Clip(k.Name(who), 60)+" takes part now."), nil
	case at < 0 || k.Stage == state.StageEnded:
		return screen.Line(p, "Somebody asked to take part", "That is settled; nothing is left to do here."), nil
	}
	name := cmp.Or(k.Asking[at].Person.Name, "Somebody in the channel")
	return screen.Posting{
		Text: block.Escape(fmt.Sprintf("%s asks to take part in %s. Press Let Them In, or do nothing.", words.Clip(name, 60), words.Clip(k.Brief.Title, 80))),
		Blocks: []slack.Block{
			block.Heading("Somebody asks to take part"),
			block.Para(block.BoldTyped(name, 60), block.Plain(" would like to take part in "), block.Typed(k.Brief.Title, 150), block.Plain(". If you let them in, they are asked from the present step on.")),
			block.Buttons(block.Primary(screen.Button("Let Them In", "do/lead.admit", screen.Args{Kickoff: k.ID, Choice: arg}))),
			block.Note("To leave it at that, do nothing."),
		},
	}, nil
}

// The forms in which a lead gives time and changes who takes part.

func mayExtend(p screen.Page) error {
	if !screen.StillOf(p) {
		return screen.Refuse("%s", closedMeanwhile(p))
	}
	if p.Kickoff.Window.Phase != state.PhaseOpen {
		return screen.Refuse("No step is open just now, so there is nothing to extend.")
	}
	return nil
}

func givenTime(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Give more time", "Give It"
	f.Add(block.Para(block.Plain("“%s” closes ", flows.TitleOf(p.Kickoff.Stage)), block.When(p.Kickoff.Window.Closes), block.Plain(" your time.")))
	days, err := strconv.Atoi(f.Select("days", "How much longer?", "1", block.Numbered(10, workingDays), block.Hint("Working days of each person, from that moment on.")))
	switch {
	case err != nil:
		f.Fault("days", "Choose how many working days.")
	case !screen.StillOf(p):
		f.Fault("days", closedMeanwhile(p))
	}
	return flows.Extend{ByLead: screen.ByLead(p), Days: days}
}

func closedMeanwhile(p screen.Page) string {
	return fmt.Sprintf("“%s” has closed meanwhile, so nothing was changed.", flows.TitleOf(state.Stage(p.Args.Stage)))
}

// A choosing is a form in which a lead chooses one of those who take part, but
// for some.
type choosing struct {
	but                              func(screen.Page, state.UserID) bool
	title, submit, says, field, asks string
	means                            func(screen.Page, state.UserID) flows.Intent
}

func (c choosing) form() screen.Form {
	among := func(p screen.Page) (options []block.Option) {
		for _, u := range p.Kickoff.Participants() {
			if !c.but(p, u) {
				options = append(options, block.Option{Value: string(u), Text: words.OneLine(p.Kickoff.Name(u))})
			}
		}
		return words.FirstOf(options, block.MostOptions)
	}
	somebody := func(p screen.Page) error {
		if len(among(p)) == 0 {
			return screen.Refuse("There is nobody to choose yet. Invite people first.")
		}
		return nil
	}
	return screen.Form{May: screen.Both(screen.MayLead, somebody), Fill: func(p screen.Page, f *block.Form) flows.Intent {
		f.Title, f.Submit = c.title, c.submit
		f.Add(block.Text("%s", c.says))
		return c.means(p, state.UserID(f.Select(c.field, c.asks, "", among(p))))
	}}
}

func self(p screen.Page, u state.UserID) bool { return u == p.Viewer }

func leading(p screen.Page, u state.UserID) bool { return p.Kickoff.IsLead(u) }

func invited(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Invite people", "Invite"
	f.Add(block.Text("They are asked from the present step on. Make sure they are in the channel, too."))
	return flows.Invite{ByLead: screen.ByLead(p), People: persons(f.People("people", "Who takes part from now on?", nil))}
}
