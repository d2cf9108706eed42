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
	"soundings/flows/state"
)

func leadForms() map[string]screen.Form {
	return map[string]screen.Form{
		"lead.more":    {May: screen.MayLead, Fill: showMore},
		"lead.missing": {May: screen.Both(screen.MayLead, seesMissing), Fill: showMissing},
		"lead.extend":  {May: screen.Both(screen.MayLead, mayExtend), Fill: givenTime},
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
		"lead.invite":   {May: screen.MayLead, Fill: invited},
		"lead.steps":    {May: screen.Both(screen.MayLead, hasSteps), Fill: chosenSteps},
		"lead.call-off": {May: screen.MayLead, Fill: calledOff, CloseAll: true},
		"lead.remove": choosing{but: self, title: "Remove somebody", submit: "Remove Them", field: "person", asks: "Who no longer takes part?",
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
	"lead.remind": func(p screen.Page) (flows.Intent, string) {
		return flows.RemindNow{ByLead: screen.ByLead(p), Stage: state.Stage(p.Args.Stage), Round: p.Args.Round}, remindThanks(p.Kickoff, p.Now)
	},
	"lead.day": func(screen.Page) (flows.Intent, string) { return flows.Tick{}, "Good. The extra day is given already." },
	"lead.reopen": func(p screen.Page) (flows.Intent, string) {
		return screen.StillAt(p, flows.Reopen{ByLead: screen.ByLead(p)}), "It is open again."
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
		return flows.CallOff{ByLead: screen.ByLead(p)}, "This kickoff has ended."
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
		return "Closed. What comes next is posted in the channel, or waits for your last word."
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
	if screen.OneIsAsked(w) && heard == 0 {
		return aloneMessage(p, w), nil
	}
	if heard >= w.Quorum() {
		return screen.Line(p, title, fmt.Sprintf("By now %d of %d have answered, which is enough. It closes when its time is up.", heard, len(w.Asked))), nil
	}
	rule := "You can see who is missing, remind them, or close it now."
	if missingWishes(k, p.Viewer) > 0 {
		rule = "You can see who is missing and remind them. To close it sooner, every lead has to wish it."
	}
	standing := fmt.Sprintf("%d of %d have answered “%s”; half would be %d.", heard, len(w.Asked), flows.TitleOf(stage), w.Quorum())
	args := screen.Args{Kickoff: k.ID, Stage: string(stage), Round: round}
	return screen.Posting{
		Text: screen.Aloud(k, "%s One more working day is given. ", standing) +
			"It closes " + block.WhenText(w.Closes) + ", unless you close it now.",
		Blocks: []slack.Block{
			block.Heading(title),
			block.Para(block.Plain("%s I have given it one more working day, until ", standing), block.When(w.Closes), block.Plain(" your time.")),
			block.Text("After that it closes by itself, and the result says that few answered. %s", rule),
			block.Buttons(block.Primary(screen.Button("Keep the Extra Day", "do/lead.day", args)),
				screen.Button("Who Is Missing", "open/lead.missing", args)),
		},
	}, nil
}

// aloneMessage tells a lead of a step in which one person is asked, mostly the lead, that
// it got a day more.
func aloneMessage(p screen.Page, w state.Window) screen.Posting {
	k, who := p.Kickoff, w.Asked[0]
	title, says := "One answer is missing", words.Clip(k.Name(who), 60)+" alone is asked here, and has not answered."
	if who == p.Viewer {
		title, says = "This step waits for you", "You alone are asked here, and have not answered."
	}
	args := screen.Args{Kickoff: k.ID, Stage: string(w.Stage), Round: w.Round}
	return screen.Posting{
		Text: screen.Aloud(k, "“%s”. %s One more working day is given. It closes ", flows.TitleOf(w.Stage), says) + block.WhenText(w.Closes) + ", unless you close it now.",
		Blocks: []slack.Block{
			block.Heading(title),
			block.Para(block.Plain("“%s”: %s I have given it one more working day, until ", flows.TitleOf(w.Stage), says), block.When(w.Closes), block.Plain(" your time. Then it closes by itself.")),
			block.Buttons(block.Primary(screen.Button("Keep the Extra Day", "do/lead.day", args)), screen.Button("Who Is Missing", "open/lead.missing", args)),
		},
	}
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
