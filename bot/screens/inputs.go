package screens

import (
	"strconv"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// The inputs of forms. An input's block id is the name of its field; its
// action id is always "in".
const inputAction = InputAction

// InputAction is the action id of every input.
const InputAction = "in"

func label(text string) *slack.TextBlockObject {
	return slack.NewTextBlockObject(slack.PlainTextType, text, false, false)
}

// form is a modal. Title at most 24 characters; submit names the outcome,
// and is empty for a form that only shows something.
func form(title, submit string, blocks ...slack.Block) slack.ModalViewRequest {
	view := slack.ModalViewRequest{Title: label(title), Close: label("Not Now"), Blocks: slack.Blocks{BlockSet: blocks}}
	if submit != "" {
		view.Submit = label(submit)
	} else {
		view.Close = label("Close")
	}
	return view
}

// An inputOption changes an input as it is built.
type inputOption func(*slack.InputBlock)

// optional lets an input stay empty.
func optional(b *slack.InputBlock) { b.Optional = true }

// hint is a rule in small print under an input.
func hint(text string) inputOption {
	return func(b *slack.InputBlock) { b.Hint = label(text) }
}

func input(field, name string, element slack.BlockElement, options []inputOption) slack.Block {
	b := slack.NewInputBlock(field, label(name), nil, element)
	for _, o := range options {
		o(b)
	}
	return b
}

// textInput is a line, or with lines several, of text, at most longest
// characters.
func textInput(field, name, initial string, lines bool, longest int, options ...inputOption) slack.Block {
	e := slack.NewPlainTextInputBlockElement(nil, inputAction)
	e.InitialValue, e.Multiline, e.MaxLength = initial, lines, min(longest, flows.MaxText)
	return input(field, name, e, options)
}

// An option of a select: Value comes back, Text is shown.
type option struct{ Value, Text, About string }

func optionObjects(options []option) []*slack.OptionBlockObject {
	out := make([]*slack.OptionBlockObject, len(options))
	for i, o := range options {
		var about *slack.TextBlockObject
		if o.About != "" {
			about = label(clip(o.About, 75))
		}
		text := o.Text
		if text == "" {
			text = o.Value
		}
		out[i] = slack.NewOptionBlockObject(o.Value, label(clip(text, 75)), about)
	}
	return out
}

// numbered are the options 1 to most, each with a name for its number.
func numbered(most int, name func(int) string) []option {
	out := make([]option, most)
	for i := range out {
		out[i] = option{Value: strconv.Itoa(i + 1), Text: name(i + 1)}
	}
	return out
}

func workingDays(n int) string { return count(n, "working day", "working days") }

// mostEntries is how many entries a form lists, of two blocks each.
const mostEntries = 40

// changeRows lists things in a form, each with the button that changes it, or
// with none, and says how many are left out.
func changeRows[T any](all []T, most int, entry func(T) ([]word, *slack.ButtonBlockElement)) []slack.Block {
	var blocks []slack.Block
	for _, e := range firstOf(all, most) {
		words, change := entry(e)
		blocks = append(blocks, para(words...))
		if change != nil {
			blocks = append(blocks, buttons(change))
		}
	}
	return append(blocks, moreThan(most, len(all))...)
}

// moreThan says how many of all are left out by a list of the first ones.
func moreThan(shown, all int) []slack.Block {
	if all <= shown {
		return nil
	}
	return []slack.Block{para(plain("And %d more.", all-shown))}
}

// chosen finds the options whose values are given.
func chosen(all []*slack.OptionBlockObject, values ...string) []*slack.OptionBlockObject {
	var out []*slack.OptionBlockObject
	for _, o := range all {
		for _, v := range values {
			if o.Value == v {
				out = append(out, o)
			}
		}
	}
	return out
}

// selectInput is a list to choose one from, at most 100.
func selectInput(field, name, initial string, options []option, more ...inputOption) slack.Block {
	all := optionObjects(options)
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, label("Choose"), inputAction, all...)
	if at := chosen(all, initial); len(at) > 0 {
		e.InitialOption = at[0]
	}
	return input(field, name, e, more)
}

// picker is a list in a message of which one entry is chosen, and does
// something at once. The values are args, as those of buttons.
func picker(action, words string, options []option) slack.Block {
	return slack.NewActionBlock("", slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, label(words), action, optionObjects(options)...))
}

// radioInput shows at most 10 choices at once, of which one is chosen.
func radioInput(field, name, initial string, options []option, more ...inputOption) slack.Block {
	all := optionObjects(options)
	e := slack.NewRadioButtonsBlockElement(inputAction, all...)
	if at := chosen(all, initial); len(at) > 0 {
		e.InitialOption = at[0]
	}
	return input(field, name, e, more)
}

// tickInput shows at most 10 boxes to tick.
func tickInput(field, name string, initial []string, options []option, more ...inputOption) slack.Block {
	all := optionObjects(options)
	e := slack.NewCheckboxGroupsBlockElement(inputAction, all...)
	e.InitialOptions = chosen(all, initial...)
	return input(field, name, e, more)
}

// manyInput is a list to choose several from, at most 100.
func manyInput(field, name string, initial []string, options []option, more ...inputOption) slack.Block {
	all := optionObjects(options)
	e := slack.NewOptionsMultiSelectBlockElement(slack.MultiOptTypeStatic, label("Choose"), inputAction, all...)
	e.InitialOptions = chosen(all, initial...)
	return input(field, name, e, more)
}

// personInput chooses one person of the team.
func personInput(field, name string, initial flows.UserID, more ...inputOption) slack.Block {
	e := slack.NewOptionsSelectBlockElement(slack.OptTypeUser, label("Choose"), inputAction)
	e.InitialUser = string(initial)
	return input(field, name, e, more)
}

// peopleInput chooses several people of the team.
func peopleInput(field, name string, initial []flows.UserID, more ...inputOption) slack.Block {
	e := slack.NewOptionsMultiSelectBlockElement(slack.MultiOptTypeUser, label("Choose"), inputAction)
	for _, u := range initial {
		e.InitialUsers = append(e.InitialUsers, string(u))
	}
	return input(field, name, e, more)
}

// numberInput is a number; decimals lets it have a fraction.
func numberInput(field, name, initial string, decimals bool, least, most string, more ...inputOption) slack.Block {
	e := slack.NewNumberInputBlockElement(nil, inputAction, decimals)
	e.InitialValue, e.MinValue, e.MaxValue = initial, least, most
	return input(field, name, e, more)
}

// dayInput chooses a date.
func dayInput(field, name string, initial flows.LocalDay, more ...inputOption) slack.Block {
	e := slack.NewDatePickerBlockElement(inputAction)
	e.InitialDate = string(initial)
	return input(field, name, e, more)
}
