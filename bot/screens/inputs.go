package screens

import (
	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

func form(title, submit string, blocks ...slack.Block) slack.ModalViewRequest {
	return (&block.Form{Title: title, Submit: submit, Blocks: blocks}).View()
}

func one(add func(*block.Form)) slack.Block {
	var f block.Form
	add(&f)
	return f.Blocks[0]
}

func textInput(field, name, initial string, lines bool, longest int, options ...block.Setting) slack.Block {
	options = append([]block.Setting{block.Longest(min(longest, flows.MaxText))}, options...)
	if !lines {
		options = append(options, block.OneLine)
	}
	return one(func(f *block.Form) { f.Text(field, name, initial, options...) })
}

func workingDays(n int) string { return words.Count(n, "working day", "working days") }

// mostEntries is how many entries a form lists, of two blocks each.
const mostEntries = 40

func selectInput(field, name, initial string, options []block.Option, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Select(field, name, initial, options, more...) })
}

func radioInput(field, name, initial string, options []block.Option, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Radio(field, name, initial, options, more...) })
}

func tickInput(field, name string, initial []string, options []block.Option, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Ticks(field, name, initial, options, more...) })
}

func manyInput(field, name string, _ []string, options []block.Option, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Many(field, name, options, more...) })
}

func personInput(field, name string, initial flows.UserID, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Person(field, name, initial, more...) })
}

func peopleInput(field, name string, initial []flows.UserID, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.People(field, name, initial, more...) })
}

func numberInput(field, name, initial string, decimals bool, least, most string, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Figure(field, name, initial, decimals, least, most, more...) })
}

func dayInput(field, name string, initial flows.LocalDay, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Day(field, name, initial, more...) })
}

func channelInput(field, name string, more ...block.Setting) slack.Block {
	return one(func(f *block.Form) { f.Channel(field, name, more...) })
}
