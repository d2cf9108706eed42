package plaintext

import (
	"strings"

	"github.com/slack-go/slack"
)

// input draws a label, the input, and the hint under it.
func input(b *slack.InputBlock) string {
	name := textOf(b.Label)
	if b.Optional {
		name += " (optional)"
	}
	if !strings.HasSuffix(name, "?") {
		name += ":"
	}
	lines := []string{name, prefixed(element(b.Element), "  ", "  ")}
	if b.Hint != nil {
		lines = append(lines, "  "+textOf(b.Hint))
	}
	return strings.Join(lines, "\n")
}

func elements(all *slack.BlockElements) string {
	if all == nil {
		return ""
	}
	var parts []string
	for _, e := range all.ElementSet {
		parts = append(parts, element(e))
	}
	return strings.Join(parts, " ")
}

// element draws a button as [Label], a list as [chosen ▾], a text field
// as [text____].
func element(e slack.BlockElement) string {
	switch e := e.(type) {
	case *slack.ButtonBlockElement:
		return "[" + textOf(e.Text) + "]"
	case *slack.SelectBlockElement:
		return "[" + first(optionText(e.InitialOption), e.InitialUser, textOf(e.Placeholder)) + " ▾]"
	case *slack.MultiSelectBlockElement:
		return "[" + first(optionTexts(e.InitialOptions), strings.Join(e.InitialUsers, ", "), textOf(e.Placeholder)) + " ▾]"
	case *slack.RadioButtonsBlockElement:
		return choices(e.Options, e.InitialOption)
	case *slack.CheckboxGroupsBlockElement:
		return choices(e.Options, e.InitialOptions...)
	case *slack.PlainTextInputBlockElement:
		return "[" + e.InitialValue + "____]"
	case *slack.NumberInputBlockElement:
		return "[" + e.InitialValue + "____]"
	case *slack.DatePickerBlockElement:
		return "[" + first(e.InitialDate, "a day") + " ▾]"
	case *slack.OverflowBlockElement:
		return "[… ▾]"
	}
	return "[" + string(e.ElementType()) + "]"
}

// choices draws one choice a line, (x) before what is chosen.
func choices(options []*slack.OptionBlockObject, initial ...*slack.OptionBlockObject) string {
	on := map[string]bool{}
	for _, o := range initial {
		if o != nil {
			on[o.Value] = true
		}
	}
	lines := make([]string, len(options))
	for i, o := range options {
		mark := "( ) "
		if on[o.Value] {
			mark = "(x) "
		}
		lines[i] = mark + textOf(o.Text)
		if o.Description != nil {
			lines[i] += ": " + textOf(o.Description)
		}
	}
	return strings.Join(lines, "\n")
}

func optionText(o *slack.OptionBlockObject) string {
	if o == nil {
		return ""
	}
	return textOf(o.Text)
}

func optionTexts(all []*slack.OptionBlockObject) string {
	texts := make([]string, len(all))
	for i, o := range all {
		texts[i] = textOf(o.Text)
	}
	return strings.Join(texts, ", ")
}

// first is the first of the texts that is not empty.
func first(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}
