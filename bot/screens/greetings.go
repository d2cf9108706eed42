package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// Welcome is the first message in a channel: who this is, what it does, how
// to start. inviter is the name of whoever added the bot; empty when unknown.
func Welcome(command, channel, inviter string) Posting {
	hello := "Hello."
	if inviter != "" {
		hello = fmt.Sprintf("Hello. %s has added me to this channel.", contained(clip(inviter, 60)))
	}
	const does = "I run the kickoff of a product discovery here, without a meeting: in short steps over a few working days, each in everybody's own hours."
	start := fmt.Sprintf("To start one, press the button or type %s start.", command)
	return Posting{
		Text: escape(fmt.Sprintf("%s %s %s", hello, does, start)),
		Blocks: []slack.Block{
			heading("A discovery can begin here"),
			para(plain("%s %s", hello, does)),
			bullets(
				[]word{plain("We agree on the problem and on who does what.")},
				[]word{plain("We gather what has to be true, and rate it blind: what matters most and is known least comes first.")},
				[]word{plain("We plan tests and a time box. I look after both until it is decided: build, stop, or look further.")},
			),
			para(plain("%s Whoever starts it names who takes part; nobody else is asked anything. Until then I keep quiet.", start)),
			buttons(primary(button("Start a Kickoff", "open/brief.start", Args{Choice: channel}))),
		},
	}
}

// Mentioned answers somebody who mentions the bot in a channel, in one
// sentence: what is open there, and what they can do. p.Kickoff is that of
// the channel; its zero value is none.
func Mentioned(p Page, command string) Posting {
	k := p.Kickoff
	switch {
	case k.Started.IsZero() || k.Stage == flows.StageEnded:
		return sentence("No kickoff is open in this channel; to start one, type " + command + " start.")
	case !k.Takes(p.Viewer):
		return sentence(fmt.Sprintf("A kickoff is open here, led by %s, and you are not part of it; to ask to take part, type %s join.",
			contained(leadName(k)), command))
	}
	todo := "what waits for you is on my home tab"
	if mayAssume(p) == nil {
		todo = fmt.Sprintf("to add an assumption, type %s add; %s", command, todo)
	}
	where := " is underway here"
	if k.Stage != flows.StageUnderway {
		where = fmt.Sprintf(" is open here, at step %s, “%s”", position(k), stageName(k.Stage))
	}
	return Posting{
		Text:   escape("“" + contained(clip(k.Brief.Title, 80)) + "”" + where + "; " + todo + "."),
		Blocks: []slack.Block{para(boldTyped(k.Brief.Title, 80), plain("%s; %s.", where, todo))},
	}
}

// JoinOffer shows somebody who has come into a channel how to take part in its
// kickoff. Of the kickoff it says no more than their home tab does.
func JoinOffer(k flows.Kickoff) Posting {
	text := fmt.Sprintf("A kickoff is open in this channel, led by %s. Would you like to take part? Press Ask to Join, or do nothing.", contained(leadName(k)))
	out := sentence(text)
	out.Blocks = append(out.Blocks, buttons(button("Ask to Join", "do/me.join", Args{Kickoff: k.ID})))
	return out
}

// sentence is a message of one sentence.
func sentence(text string) Posting {
	return Posting{Text: escape(text), Blocks: []slack.Block{para(plain("%s", text))}}
}

// Notice is a form that only says something.
func Notice(title, text string) slack.ModalViewRequest {
	view := form(clip(title, 24), "", para(plain("%s", text)))
	view.Type = slack.VTModal
	return view
}

// Help says what the command can do. unknown is a word that it cannot; the
// empty word asks for help.
func Help(command, unknown string) string {
	var b strings.Builder
	if unknown != "" && unknown != "help" {
		b.WriteString("I do not know “" + escape(clip(unknown, 40)) + "”. ")
	}
	b.WriteString("This is what you can type here:\n")
	for _, line := range [][2]string{
		{"start", "start a kickoff in this channel"},
		{"add", "add an assumption"},
		{"join", "ask to take part in the kickoff of this channel"},
		{"hours", "set your working hours"},
		{"mute", "stop my reminders; “unmute” brings them back"},
	} {
		b.WriteString("• " + command + " " + line[0] + ": " + line[1] + "\n")
	}
	return b.String()
}

// Escape makes text safe where the platform parses it.
func Escape(text string) string { return escape(text) }

// Prefilled puts text into the text input of a form.
func Prefilled(view slack.ModalViewRequest, field, text string) slack.ModalViewRequest {
	for _, block := range view.Blocks.BlockSet {
		in, ok := block.(*slack.InputBlock)
		if !ok || in.BlockID != field {
			continue
		}
		if e, ok := in.Element.(*slack.PlainTextInputBlockElement); ok {
			e.InitialValue = clip(text, e.MaxLength)
		}
	}
	return view
}

// Uninstalled tells somebody who presses something in a team that has removed
// the app. page is where it is installed; it may be empty.
func Uninstalled(page string) string {
	const text = "Soundings is not installed in this workplace just now, so nothing was changed. Please ask whoever looks after its apps to install it again"
	if page == "" {
		return text + "."
	}
	return text + ": " + page
}
