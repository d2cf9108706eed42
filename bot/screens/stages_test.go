package screens

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows"
)

// Every stage has a row, and every row says something in each column.
func TestEveryStageHasACompleteRow(t *testing.T) {
	rows := newStages()
	for _, s := range flows.Stages() {
		row, ok := rows[s]
		if !assert.True(t, ok, "stage %s has no row", s) {
			continue
		}
		columns := reflect.ValueOf(row)
		for i := range columns.NumField() {
			assert.False(t, columns.Field(i).IsZero(), "stage %s has no %s", s, columns.Type().Field(i).Name)
		}
	}
	assert.Len(t, rows, len(flows.Stages()), "a row belongs to no stage")
}

// No form or action hides another of its name.
func TestNamesInTheTablesAreUnique(t *testing.T) {
	all := &tables{}
	all.fill()
	forms, actions := len(draftingForms())+len(leadForms())+len(personalForms()), len(leadActions())+len(channelActions())+len(personalActions())
	for _, row := range all.stages {
		forms, actions = forms+len(row.forms), actions+len(row.actions)
	}
	assert.Len(t, all.forms, forms)
	assert.Len(t, all.actions, actions)
}

// Every part of the summary belongs to one stage.
func TestEveryPartBelongsToAStage(t *testing.T) {
	for _, part := range flows.Parts() {
		_, ok := partNamed(part)
		assert.True(t, ok, "part %s belongs to no stage", part)
	}
	var named []string
	for _, row := range newStages() {
		if row.part.name != "" {
			named = append(named, row.part.name)
		}
	}
	require.ElementsMatch(t, flows.Parts(), named)
}
