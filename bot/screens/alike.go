package screens

import (
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// This file holds the question to two people which assumptions say the same.

// alikeWhy says why a lead may want to ask it.
const alikeWhy = "I compare words only. People who read the list also find what says the same in other words."

// askButtons let a lead ask it, while nobody was asked.
func askButtons(p screen.Page) []*slack.ButtonBlockElement {
	if mayAskAlike(p) != nil {
		return nil
	}
	return []*slack.ButtonBlockElement{screen.Button("Ask Two People", "open/tidying.ask", screen.StageArgs(p, p.Kickoff.Stage))}
}

func mayAskAlike(p screen.Page) error { return flows.MayAskAlike(&p.Kickoff) }

func askedAlike(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Ask two people", "Ask Them"
	var options []block.Option
	for _, u := range words.FirstOf(flows.CanBeAskedAlike(&p.Kickoff), block.MostOptions) {
		options = append(options, block.Option{Value: string(u), Text: p.Kickoff.Name(u)})
	}
	f.Add(block.Text(alikeWhy))
	var who []state.UserID
	for _, u := range f.Many("people", "Who shall read it?", nil, options, block.AtMost(flows.AskedAlike),
		block.Hint("Two people. Each has one working day, and the rating waits for them. They do not see who wrote what.")) {
		who = append(who, state.UserID(u))
	}
	return flows.AskAlike{ByLead: screen.ByLead(p), People: who}
}

// foundAlike reports whether somebody who was asked found that these two say the same.
func foundAlike(k state.Kickoff, about []string) bool {
	return slices.ContainsFunc(state.FoundAlike(&k), func(pair []string) bool { return slices.Equal(pair, about) })
}

// alikeMessage asks somebody which assumptions say the same.
func alikeMessage(p screen.Page, _ string) (screen.Posting, error) {
	const title = "Do some of these say the same?"
	k := p.Kickoff
	_, answered := k.Tidying.Found[p.Viewer]
	switch {
	case answered:
		return screen.Line(p, title, "Thank you. "+words.LeadName(k)+" sees what you found, without your name."), nil
	case owesAlike(p) != nil:
		return screen.Line(p, title, "Nothing is left to do here. Thank you."), nil
	}
	lead, until := words.LeadName(k), k.Tidying.Asked[p.Viewer]
	return screen.Posting{
		Text: screen.Aloud(k, "%s asks you which entries on the list say the same in other words. Your answer counts until ", lead) + block.WhenText(until) + ".",
		Blocks: []slack.Block{block.Heading(title),
			block.Para(block.Typed(lead, 60), block.Plain(" asks you to read the list before it is rated, and to say which of its %d entries say the same in other words.", len(k.Listed()))),
			block.Para(block.Plain("What you find is shown without your name. Your answer counts until "), block.When(until), block.Plain(" your time.")),
			block.Buttons(alikeButtons(k)...)},
	}, nil
}

func alikeButtons(k state.Kickoff) []*slack.ButtonBlockElement {
	args := screen.Args{Kickoff: k.ID, Stage: string(state.StageTidying)}
	return []*slack.ButtonBlockElement{block.Primary(screen.Button("Read the List", "open/tidying.alike", args)), screen.Button("No Two Are the Same", "do/tidying.none", args)}
}

// owesAlike refuses whoever was not asked, has answered, or comes too late.
func owesAlike(p screen.Page) error {
	if state.OwesAlike(&p.Kickoff, p.Viewer) {
		return nil
	}
	return screen.Refuse("Nothing is left to do here. Thank you.")
}

func saidAlike(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Which say the same?", "Send"
	listed := words.FirstOf(p.Kickoff.Listed(), block.MostOptions)
	f.Add(assumptionList(listed, len(listed), 300)...)
	var options []block.Option
	for _, a := range listed {
		options = append(options, block.Option{Value: a.ID, Text: a.ID + " " + words.OneLine(a.Text)})
	}
	said := flows.SayAlike{By: screen.By(p)}
	for n, name := range []string{"These say the same", "And so do these", "And these"} {
		settings := []block.Setting{block.Optional}
		if n == 0 {
			settings = append(settings, block.Hint("Choose two or more. If no two say the same, leave all three empty."))
		}
		if set := f.Many(fmt.Sprintf("set/%d", n+1), name, nil, options, settings...); len(set) > 0 {
			said.Sets = append(said.Sets, set)
		}
	}
	return said
}
