package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Without a model there is no drafter at all: one that holds nothing would
// offer drafts that never come.
func TestDrafterOfTheSettings(t *testing.T) {
	t.Parallel()
	d, err := (settings{}).drafter()
	require.NoError(t, err)
	assert.True(t, d == nil, "without a model the drafter is %v", d) // assert.Nil would take one that holds nothing
	d, err = settings{ModelURL: "http://127.0.0.1:8080/v1", Model: "second-pen"}.drafter()
	require.NoError(t, err)
	assert.Equal(t, "127.0.0.1:8080", d.Host())
	assert.Equal(t, "second-pen", d.Model())
	d, err = (settings{ModelURL: "http://127.0.0.1:8080/v1"}).drafter()
	assert.Nil(t, d, "half a model gives %v, error", d)
	assert.Error(t, err, "half a model gives %v, error", d)
}
