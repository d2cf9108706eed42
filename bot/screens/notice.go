package screens

import (
	"strings"

	"github.com/slack-go/slack"
)

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

// Unescape undoes the platform's escaping in text read back from it.
func Unescape(text string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(text)
}

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
