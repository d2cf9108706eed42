package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"
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
	view.Blocks.BlockSet = append([]slack.Block{para(plain("%s", said))}, view.Blocks.BlockSet...)
	view.Close = label("Done")
	for _, b := range view.Blocks.BlockSet {
		if in, ok := b.(*slack.InputBlock); ok {
			in.BlockID = fmt.Sprintf("%s%s%d", in.BlockID, againMark, p.Args.Again)
		}
	}
	return view
}

// againMark stands between the name of a field and the number of times that
// its form was shown again. The platform keeps what was typed under the id of
// a block, so an empty field needs a new one.
const againMark = "#"

// FieldOf is the name of the field that a block of a form holds.
func FieldOf(block string) string {
	name, _, _ := strings.Cut(block, againMark)
	return name
}

// ByField puts entries under the names of their fields.
func (v Values) ByField() Values {
	out := make(Values, len(v))
	for block, inputs := range v {
		out[FieldOf(block)] = inputs
	}
	return out
}
