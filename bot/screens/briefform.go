package screens

import (
	"errors"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/flows"
	"soundings/flows/imports"
)

// The forms in which a lead writes the brief.

// openStart is the form that begins a kickoff, in the channel Args.Choice; a
// shortcut, which belongs to no channel, asks for one.
func openStart(p Page) (slack.ModalViewRequest, error) {
	blocks := []slack.Block{
		para(plain("You lead this kickoff. It runs in the channel, step by step, over about two weeks. Each step takes people a few minutes, when it suits them.")),
		para(plain("A title and the problem are needed. Or paste a whole brief at the end.")),
	}
	if p.Args.Choice == "" {
		blocks = append(blocks, channelInput("channel", "In which channel?", hint("I have to be in it: type /invite there first.")))
	}
	return form("Start a kickoff", "Start", append(blocks, startInputs(flows.Brief{}, nil, "1", "")...)...), nil
}

// startInputs ask for a kickoff; what is known of it stands in them.
func startInputs(b flows.Brief, people []flows.UserID, pace, markdown string) []slack.Block {
	return append(briefInputs(b, optional),
		peopleInput("people", "Who takes part?", people, optional,
			hint("Whoever decides, works on it, or has a stake in it. You are in already, and people can join later.")),
		selectInput("pace", "How long is each step open?", pace, paceOptions(),
			hint("Working days of each person, in their own time zone. A step closes sooner when everyone has answered.")),
		textInput("markdown", "Or paste a brief in Markdown", markdown, true, flows.MaxText, optional,
			hint("“# ” and the title, then “## ” and Problem, Why now, Outcome, Out of bounds or Links. It fills the fields that you left empty.")),
	)
}

// channelInput chooses one channel of the workplace.
func channelInput(field, name string, more ...inputOption) slack.Block {
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeConversations, label("Choose"), inputAction)
	e.DefaultToCurrentConversation = true
	e.Filter = &slack.SelectBlockElementFilter{Include: []string{"public", "private"}, ExcludeBotUsers: true}
	return input(field, name, e, more)
}

// briefInputs are the texts of a brief. needed is applied to the title and
// the problem, without which there is no brief.
func briefInputs(b flows.Brief, needed ...inputOption) []slack.Block {
	return []slack.Block{
		textInput("title", "Title", b.Title, false, flows.MaxTitle, append(slices.Clip(needed), hint("A few words, such as: Bicycles on the ferry."))...),
		textInput("problem", "The problem", b.Problem, true, flows.MaxText,
			append(slices.Clip(needed), hint("For whom, when, and how does it show? One or two sentences; the words will be worked on together."))...),
		textInput("why", "Why now?", b.Why, true, flows.MaxText, optional, hint("What happens if nobody does anything for a year?")),
		textInput("outcome", "The outcome you hope for", b.Outcome, true, flows.MaxText, optional, hint("What would be different, and how would you measure it?")),
		textInput("out_of_bounds", "Out of bounds", b.OutOfBounds, true, flows.MaxText, optional, hint("What is settled, or not for this team to touch.")),
		textInput("links", "Links", linesOf(b.Links), true, flows.MaxText, optional, hint("One a line.")),
	}
}

// linesOf joins lines as far as an input holds them.
func linesOf(lines []string) string {
	text := ""
	for _, l := range lines {
		if len([]rune(text))+len([]rune(l))+1 > flows.MaxText {
			break
		}
		if text != "" {
			text += "\n"
		}
		text += l
	}
	return text
}

func paceOptions() []option {
	var options []option
	for n := 1; n <= 10; n++ {
		options = append(options, option{Value: strconv.Itoa(n), Text: count(n, "working day", "working days")})
	}
	return options
}

// briefFrom reads the texts that were typed.
func briefFrom(v Values) flows.Brief {
	return flows.Brief{
		Title: v.Text("title"), Problem: v.Text("problem"), Why: v.Text("why"), Outcome: v.Text("outcome"),
		OutOfBounds: v.Text("out_of_bounds"), Links: imports.Links(v.Text("links")),
	}
}

func submitStart(p Page, v Values) (Answer, error) {
	brief, errs := startingBrief(v)
	channel := p.Args.Choice
	if chosen := v.Channel("channel"); chosen != "" {
		channel = chosen
	}
	if channel == "" {
		errs["channel"] = "Choose the channel in which the kickoff runs."
	}
	if len(errs) > 0 {
		return Answer{Errors: errs}, nil
	}
	pace, _ := v.Number("pace")
	return wants(flows.Start{
		FromOutside: flows.FromOutside{Who: p.Viewer}, ID: p.Args.Kickoff, Channel: channel,
		Brief: brief, People: startingPeople(p.Viewer, v.People("people")), Pace: pace,
		GoOn: p.Args.Sure && channel == p.Args.Choice,
	})
}

// startingPeople puts the lead first, and everybody in once. Names and zones
// are looked up by the shell.
func startingPeople(lead flows.UserID, others []flows.UserID) []flows.Person {
	all := []flows.Person{{ID: lead}}
	for _, u := range others {
		if u != lead {
			all = append(all, flows.Person{ID: u})
		}
	}
	return all
}

// startingBrief is what was typed, and for what was not, the pasted Markdown.
// The errors are by field.
func startingBrief(v Values) (flows.Brief, map[string]string) {
	own, errs := briefFrom(v), map[string]string{}
	if v.Text("markdown") == "" {
		if own.Title == "" {
			errs["title"] = "Give it a title of a few words, or paste a brief below."
		}
		if own.Problem == "" {
			errs["problem"] = "Write down the problem, or paste a brief below."
		}
		return own, errs
	}
	pasted, err := imports.Brief(v.Text("markdown"))
	var r *flows.Refusal
	if errors.As(err, &r) && (r.Field == "markdown" || r.Field == "title" && own.Title == "" || r.Field == "problem" && own.Problem == "") {
		errs["markdown"] = r.Reason
		return own, errs
	}
	brief := completedBy(own, pasted)
	if brief.Problem == "" { // a missing title, reported first, hid this
		errs["markdown"] = "The text has no problem statement. Write it under a line “## Problem”."
	}
	return brief, errs
}

// completedBy fills what is empty in b from another brief.
func completedBy(b, from flows.Brief) flows.Brief {
	for _, f := range []struct {
		to   *string
		text string
	}{
		{&b.Title, from.Title}, {&b.Problem, from.Problem}, {&b.Why, from.Why}, {&b.Outcome, from.Outcome}, {&b.OutOfBounds, from.OutOfBounds},
	} {
		if *f.to == "" {
			*f.to = f.text
		}
	}
	if len(b.Links) == 0 {
		b.Links = from.Links
	}
	return b
}

func openBriefEdit(p Page) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	if err := mayAnswer(p, flows.StageBrief); err != nil {
		return slack.ModalViewRequest{}, err
	}
	return form("Edit the brief", "Save", briefInputs(p.Kickoff.Brief)...), nil
}

func submitBriefEdit(p Page, v Values) (Answer, error) {
	return wants(flows.EditBrief{ByLead: byLead(p), Brief: briefFrom(v)})
}
