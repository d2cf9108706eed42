package screens

import (
	"github.com/slack-go/slack"

	"soundings/bot/block"
)

// More is the form of that name once more, empty, for somebody whose entries
// were taken and who may have more to add: they go on without opening it anew,
// which also saves a call. It is nil for a form of which nobody has more.
func More(name string, p Page) *slack.ModalViewRequest {
	form, ok := forms()[name]
	if !ok || form.More == nil {
		return nil
	}
	p.Args.Again++
	p.Args.Sure = false
	view := seal(name, p, form.More(p))
	return &view
}

// again draws a form for another entry; said tells that the last was taken.
func again(p Page, said string, view slack.ModalViewRequest) slack.ModalViewRequest {
	f := block.Form{Blocks: view.Blocks.BlockSet}
	f.Again(p.Args.Again, said)
	view.Blocks.BlockSet, view.Close = f.Blocks, block.Label(f.Close)
	return view
}
