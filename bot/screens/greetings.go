package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

// Welcome is the first message in a channel: who this is, what it does, how
// to start. inviter is the name of whoever added the bot; empty when unknown.
func Welcome(command, channel, inviter string) Posting {
	hello := "Hello."
	if inviter != "" {
		hello = fmt.Sprintf("Hello. %s has added me to this channel.", words.Contained(words.Clip(inviter, 60)))
	}
	const does = "I run the kickoff of a product discovery here, without a meeting: in short steps over a few working days, each in everybody's own hours."
	start := fmt.Sprintf("To start one, press the button or type %s start.", command)
	return Posting{
		Text: block.Escape(fmt.Sprintf("%s %s %s", hello, does, start)),
		Blocks: []slack.Block{
			block.Heading("A discovery can begin here"),
			block.Text("%s %s", hello, does),
			block.Bullets(
				[]block.Run{block.Plain("We agree on the problem and on who does what.")},
				[]block.Run{block.Plain("We gather what has to be true, and rate it blind: what matters most and is known least comes first.")},
				[]block.Run{block.Plain("We plan tests and a time box. I look after both until it is decided: build, stop, or look further.")},
			),
			block.Text("%s Whoever starts it names who takes part; nobody else is asked anything. Until then I keep quiet.", start),
			block.Buttons(block.Primary(button("Start a Kickoff", "open/brief.start", Args{Choice: channel}))),
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
			words.Contained(words.LeadName(k)), command))
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
		Text:   block.Escape("“" + words.Contained(words.Clip(k.Brief.Title, 80)) + "”" + where + "; " + todo + "."),
		Blocks: []slack.Block{block.Para(block.BoldTyped(k.Brief.Title, 80), block.Plain("%s; %s.", where, todo))},
	}
}

// JoinOffer shows somebody who has come into a channel how to take part in its
// kickoff. Of the kickoff it says no more than their home tab does.
func JoinOffer(k flows.Kickoff) Posting {
	text := fmt.Sprintf("A kickoff is open in this channel, led by %s. Would you like to take part? Press Ask to Join, or do nothing.", words.Contained(words.LeadName(k)))
	out := sentence(text)
	out.Blocks = append(out.Blocks, block.Buttons(button("Ask to Join", "do/me.join", Args{Kickoff: k.ID})))
	return out
}

// sentence is a message of one sentence.
func sentence(text string) Posting {
	return Posting{Text: block.Escape(text), Blocks: []slack.Block{block.Text("%s", text)}}
}

// Notice is a form that only says something.
func Notice(title, text string) slack.ModalViewRequest {
	return (&block.Form{Title: words.Clip(title, 24), Blocks: []slack.Block{block.Text("%s", text)}}).View()
}

// Help says what the command can do. unknown is a word that it cannot; the
// empty word asks for help.
func Help(command, unknown string) string {
	var b strings.Builder
	if unknown != "" && unknown != "help" {
		b.WriteString("I do not know “" + block.Escape(words.Clip(unknown, 40)) + "”. ")
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

// Prefilled puts text into the text input of a form.
func Prefilled(view slack.ModalViewRequest, field, text string) slack.ModalViewRequest {
	for _, b := range view.Blocks.BlockSet {
		in, ok := b.(*slack.InputBlock)
		if !ok || in.BlockID != field {
			continue
		}
		if e, ok := in.Element.(*slack.PlainTextInputBlockElement); ok {
			e.InitialValue = words.Clip(text, e.MaxLength)
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
