package screen

import (
	"strconv"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows/state"
)

// ForesightOptions are the answers to what somebody expects of a test: state.Shares
// in the words of its pass mark.
func ForesightOptions(t state.Test) []block.Option {
	var options []block.Option
	for _, share := range state.Shares() {
		options = append(options, block.Option{Value: strconv.Itoa(share), Text: words.ShareText(t, share)})
	}
	return options
}
