package rehearsal

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/scenario"
)

// Whoever adds a stage adds its row, and each button has one scene.
func TestEveryStageHasItsScenes(t *testing.T) {
	var stages []string
	n := 0
	for _, row := range byStage {
		stages = append(stages, row.stage)
		n += len(row.scenes)
		assert.NotEmpty(t, row.scenes, row.stage)
		for _, s := range row.scenes {
			assert.NotNil(t, s.do, s.action)
			assert.NotEmpty(t, s.what, s.action)
		}
	}
	assert.Equal(t, scenario.Stages, stages)
	assert.Len(t, scenes, n)
}
