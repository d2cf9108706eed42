package closing

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"

	"soundings/bot/block"
	"soundings/bot/plaintext"
)

// A page of the preview ends where two screens do, never between a line and the list that it
// leads to, and nothing is lost.
func TestPagesEndBetweenEntries(t *testing.T) {
	for words := range 60 {
		var part []slack.Block
		for n := range 12 {
			item := []block.Run{block.Plain("%d: %s", n, strings.Repeat("count ", 10+words))}
			part = append(part, block.Text("Assumption %d of the harbour", n), block.Bullets(slices.Repeat([][]block.Run{item}, 1+n%3)...))
		}
		pages := readingPages(part)
		assert.Greater(t, len(pages), 1)
		for i, page := range pages {
			points := 0
			for _, b := range page {
				points += tall(b)
			}
			assert.LessOrEqual(t, points, mostTall+tall(part[0]), "page %d with %d words", i, words)
			assert.True(t, isList(page[len(page)-1]), "page %d with %d words ends with a line", i, words)
		}
		assert.Equal(t, told(part), told(slices.Concat(pages...)), fmt.Sprint(words))
	}
}

// told is what blocks say, without the space between them.
func told(blocks []slack.Block) []string { return strings.Fields(plaintext.Blocks(blocks)) }
