package flows

import (
	"go/ast"
	"reflect"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

// TestEveryStageHasAWholeRow names what is missing: a field that was left
// empty decides nothing by itself.
func TestEveryStageHasAWholeRow(t *testing.T) {
	for i, row := range stages {
		v := reflect.ValueOf(row)
		for f := range v.NumField() {
			assert.False(t, v.Field(f).IsZero(), "stage %s: has no `%s` (row %d of the table)", row.name, v.Type().Field(f).Name, i+1)
		}
		assert.Equal(t, i, position(row.name), "stage %s has two rows", row.name)
		assert.NotPanics(t, func() { event.AskedIn(&state.Kickoff{}, row.name) }, "stage %s: has no row in package event", row.name)
	}
}

// TestEveryNamedStageHasARow finds a stage that is named and never comes.
func TestEveryNamedStageHasARow(t *testing.T) {
	named := 0
	for _, file := range goFiles(t, "state") {
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || len(spec.Values) != 1 {
				return true
			}
			if typ, ok := spec.Type.(*ast.Ident); !ok || typ.Name != "Stage" {
				return true
			}
			name, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
			require.NoError(t, err)
			assert.Contains(t, state.Stages(), state.Stage(name), "stage %s: has no row in the table", name)
			named++
			return true
		})
	}
	assert.Equal(t, len(stages), named, "stages that are named by a constant, and rows of the table")
}

func TestAnUnknownStageIsAFault(t *testing.T) {
	assert.PanicsWithValue(t, `flows: stage "choose" is not in the table of stages`, func() { stageOf("choose") })
}
