package screens

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// unreachableWords say what happened to the channel, and what helps.
func unreachableWords(why state.UnreachableReason) (title, fix string) {
	switch why {
	case state.ChannelArchived:
		return "The channel was archived", "Unarchive it, and the kickoff goes on by itself. To go on elsewhere, end it here and start one in another channel."
	case state.ChannelDeleted:
		return "The channel was deleted", "So the kickoff has ended. To go on, start one in another channel."
	}
	return "I am not in the channel any more", "Add me there again with /invite, and the kickoff goes on by itself. To go on elsewhere, end it here and start one in another channel."
}

// unreachableMessage tells a lead, once, that the channel is out of reach.
func unreachableMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	n, err := strconv.Atoi(arg)
	if err != nil || n < 1 || n > k.Unreachable.N {
		return screen.Posting{}, fmt.Errorf("the channel was not out of reach for time %q", arg)
	}
	if n < k.Unreachable.N || k.Unreachable.Why == "" {
		return screen.Line(p, "The channel is there again", "The kickoff goes on. Whoever owes an answer has a working day for it, or more."), nil
	}
	title, fix := unreachableWords(k.Unreachable.Why)
	if k.Stage == state.StageEnded {
		if k.Unreachable.Why != state.ChannelDeleted {
			fix = "The kickoff has ended without a decision."
		}
		return screen.Line(p, title, fix+" All that people gave is kept: whoever runs me can write it out."), nil
	}
	const still = "The kickoff stands still: nothing is sent, and no step closes. All that people gave is kept."
	out := screen.Line(p, title, still+" "+fix)
	out.Blocks = append(out.Blocks, block.Buttons(
		screen.Button("Try Again", "do/lead.go-on", screen.Args{Kickoff: k.ID}),
		block.Confirm(screen.Button("End the Kickoff", "do/lead.abandon", screen.Args{Kickoff: k.ID}), "End the kickoff?",
			"Nothing more is asked of anybody, and it cannot be taken up again. All that people gave is kept.", "End It").WithStyle("danger")))
	return out, nil
}

// lossMessage tells a lead whose answers the store has lost.
func lossMessage(p screen.Page, arg string) (screen.Posting, error) {
	const title = "The last answers were lost"
	k := p.Kickoff
	if arg != strconv.FormatInt(k.Loss.After, 10) {
		return screen.Line(p, title, "That was some time ago. It happened again since; see my later message."), nil
	}
	const fault, checked = "Redis, where I keep them, had a fault. ", " Everything before is there, and what I show is right again."
	if len(k.Loss.People) == 0 {
		return screen.Line(p, title, fault+"Please ask everybody to look whether their last answer is still there."+checked), nil
	}
	return screen.Line(p, title, fault+"Please ask these people to look whether their last answers are still there, and to give them again where not: "+
		screen.Names(k, k.Loss.People, 20)+"."+checked), nil
}

// outsideMessage tells a lead that people of another company read the channel,
// and asks whether to go on there.
func outsideMessage(p screen.Page, _ string) (screen.Posting, error) {
	k := p.Kickoff
	const title = "Another company reads the channel"
	switch {
	case !k.Seen.Outside:
		return screen.Line(p, title, "Not any more: it is your company's own again. Nothing is left to do here."), nil
	case k.Seen.Agreed:
		return screen.Line(p, title, words.Clip(k.Name(k.Seen.By), 60)+" knows, and the kickoff goes on there."), nil
	case k.Stage == state.StageEnded:
		return screen.Line(p, title, "The kickoff has ended, so nothing more of it is posted there."), nil
	}
	waits := "The summary waits for your word: no deadline posts it. The short messages of each step go on."
	if k.Stage == state.StageUnderway {
		waits = "The canvas and the files at the end wait for your word. The short messages of the check-ins go on."
	}
	return screen.Posting{
		Text: screen.Aloud(k, "people of another company read the channel now. %s", waits),
		Blocks: []slack.Block{
			block.Heading(title),
			block.Para(block.Plain("The channel of "), block.Typed(k.Brief.Title, 150), block.Plain(" is shared with another company. Its people read what is posted there.")),
			block.Text("%s", waits),
			block.Buttons(block.Primary(screen.Button("Go On There", "do/lead.outside", screen.Args{Kickoff: k.ID}))),
			block.Note("To keep it inside, stop sharing the channel. Then I go on by myself."),
		},
	}, nil
}

// The question whether to go on where people of another company read along.

// Ask draws the question that stands behind a refusal, for the form in which
// it was met; the empty form is a button. values are what was entered there.
func Ask(form string, p screen.Page, values block.Values) (slack.ModalViewRequest, error) {
	if form == "brief.start" {
		return askStart(p, values), nil
	}
	return Open("close.outside", p)
}

// askStart is the form that begins a kickoff once more, as it was filled in:
// to go on in this channel takes one tap, to take another one choice. It is
// long, and nobody knows how far somebody has scrolled: so its title and its
// button say what it asks, and the choice stands right above the button.
//
// Fields keep what was typed since they are the same fields; it is written
// into them again where the answer has room for that.
func askStart(p screen.Page, v block.Values) slack.ModalViewRequest {
	p.Args.Choice, p.Args.Sure = cmp.Or(v.Channel("channel"), p.Args.Choice), true
	typed, _ := startingBrief(v)
	p.Args.N = 0 // what was pasted stands in its fields now
	with := func(brief state.Brief, s setup) slack.ModalViewRequest {
		f := block.Form{Title: "Others read along", Submit: "Start Anyway"}
		f.Add(block.Heading("Another company reads this channel"),
			block.Text("It is shared, or about to be. People of another company would read the brief, the questions, the assumptions and the results."))
		startInputs(&f, brief, s, len(typed.Links) == 0, hasMore(v))
		f.Channel("channel", "Start in another channel?", block.Optional,
			block.Hint("People of another company read this one. To go on here all the same, leave this as it is."))
		return screen.Seal("brief.start", p, &f)
	}
	view := with(typed, setupOf(v))
	if !block.FitsAnswer(view) {
		view = with(state.Brief{}, setup{})
	}
	return view
}

// Welcome is the first message in a channel: who this is, what it does, how
// to start. inviter is the name of whoever added the bot; empty when unknown.
func Welcome(command, channel, inviter string) screen.Posting {
	hello := "Hello."
	if inviter != "" {
		hello = fmt.Sprintf("Hello. %s has added me to this channel.", words.Contained(words.Clip(inviter, 60)))
	}
	const does = "I run the kickoff of a product discovery here, without a meeting: in short steps over a few working days, each in everybody's own hours."
	start := fmt.Sprintf("To start one, press the button or type %s start.", command)
	return screen.Posting{
		Text: block.Escape(fmt.Sprintf("%s %s %s", hello, does, start)),
		Blocks: []slack.Block{
			block.Heading("A discovery can begin here"),
			block.Text("%s %s", hello, does),
			block.Sentences([]string{
				"We agree on the problem and on who does what.",
				"We gather what has to be true, and rate it blind: what matters most and is known least comes first.",
				"We plan tests and a time box. I look after both until it is decided: build, stop, or look further.",
			}),
			block.Text("%s Whoever starts it names who takes part; nobody else is asked anything. Until then I keep quiet.", start),
			block.Buttons(block.Primary(screen.Button("Start a Kickoff", "open/brief.start", screen.Args{Choice: channel}))),
		},
	}
}

// Mentioned answers somebody who mentions the bot in a channel, in one
// sentence: what is open there, and what they can do. p.Kickoff is that of
// the channel; its zero value is none.
func Mentioned(p screen.Page, command string) screen.Posting {
	k := p.Kickoff
	switch {
	case k.Started.IsZero() || k.Stage == state.StageEnded:
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
	if k.Stage != state.StageUnderway {
		where = fmt.Sprintf(" is open here, at step %s, “%s”", screen.Position(k), flows.TitleOf(k.Stage))
	}
	return screen.Posting{
		Text:   block.Escape("“" + words.Contained(words.Clip(k.Brief.Title, 80)) + "”" + where + "; " + todo + "."),
		Blocks: []slack.Block{block.Para(block.BoldTyped(k.Brief.Title, 80), block.Plain("%s; %s.", where, todo))},
	}
}

// JoinOffer shows somebody who has come into a channel how to take part in its
// kickoff. Of the kickoff it says no more than their home tab does.
func JoinOffer(k state.Kickoff) screen.Posting {
	text := fmt.Sprintf("A kickoff is open in this channel, led by %s. Would you like to take part? Press Ask to Join, or do nothing.", words.Contained(words.LeadName(k)))
	out := sentence(text)
	out.Blocks = append(out.Blocks, block.Buttons(screen.Button("Ask to Join", "do/me.join", screen.Args{Kickoff: k.ID})))
	return out
}

// sentence is a message of one sentence.
func sentence(text string) screen.Posting {
	return screen.Posting{Text: block.Escape(text), Blocks: []slack.Block{block.Text("%s", text)}}
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

// Uninstalled tells somebody who presses something in a team that has removed
// the app. page is where it is installed; it may be empty.
func Uninstalled(page string) string {
	const text = "Soundings is not installed in this workplace just now, so nothing was changed. Please ask whoever looks after its apps to install it again"
	if page == "" {
		return text + "."
	}
	return text + ": " + page
}
