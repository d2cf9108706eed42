package screens

import (
	"reflect"
	"soundings/flows/state"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Every stage has a row, and every row says something in each column.
func TestEveryStageHasACompleteRow(t *testing.T) {
	rows := newStages()
	for _, s := range state.Stages() {
		row, ok := rows[s]
		if !assert.True(t, ok, "stage %s has no row", s) {
			continue
		}
		columns := reflect.ValueOf(row)
		for i := range columns.NumField() {
			assert.False(t, columns.Field(i).IsZero(), "stage %s has no %s", s, columns.Type().Field(i).Name)
		}
	}
	assert.Len(t, rows, len(state.Stages()), "a row belongs to no stage")
}

// No form or action hides another of its name.
func TestNamesInTheTablesAreUnique(t *testing.T) {
	all := &tables{}
	all.fill()
	forms, actions := len(draftingForms())+len(leadForms())+len(personalForms()), len(leadActions)+len(personalActions)
	for _, row := range all.stages {
		forms, actions = forms+len(row.forms), actions+len(row.actions)
	}
	assert.Len(t, all.forms, forms)
	assert.Len(t, all.actions, actions)
}
