package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
	"soundings/flows/state"
)

// Two of three know A1 well and two do not: it is first because of that alone.
func TestDoubtText(t *testing.T) {
	r := engine.Score(engine.Table{Raters: []string{"a", "b", "c", "d", "e"}, IDs: []string{"A1", "A2", "A3"},
		Importance: [][]engine.Rating{{8, 8, 3}, {8, 8, 3}, {8, 8, 3}, {8, 8, 3}, {8, 8, 3}},
		Evidence:   [][]engine.Rating{{1, 2, 0}, {2, 2, 8}, {7, 2, 8}, {9, 2, 0}, {9, 2, 0}}}, engine.Options{Draws: 1})
	assert.Equal(t, "“Test first” since people are split on the evidence.", DoubtText(r, r.Assumptions[0]))
	assert.Empty(t, DoubtText(r, r.Assumptions[1]), "its median says so")
	assert.Equal(t, "“Watch” since too few have rated it.", DoubtText(r, r.Assumptions[2]))
}

func TestMoveTextSaysWhatIsInDoubt(t *testing.T) {
	m := state.Move{Assumption: "A1", From: 2, To: 5.5, ZoneFrom: engine.TestFirst, ZoneTo: engine.TestFirst, Doubt: engine.DoubtSplit}
	assert.Equal(t, "Evidence from 2 to 5.5, and it stays in “test first”, since people are split on the evidence.", MoveText(m, ""))
}
