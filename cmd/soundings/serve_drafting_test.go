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
	if d, err := (settings{}).drafter(); d != nil || err != nil {
		t.Errorf("without a model the drafter is %v, error %v", d, err)
	}
	d, err := settings{ModelURL: "http://127.0.0.1:8080/v1", Model: "second-pen"}.drafter()
	require.NoError(t, err)
	if d.Host() != "127.0.0.1:8080" || d.Model() != "second-pen" {
		t.Errorf("the drafter is %s at %s", d.Model(), d.Host())
	}
	d, err = (settings{ModelURL: "http://127.0.0.1:8080/v1"}).drafter()
	assert.Nil(t, d, "half a model gives %v, error", d)
	assert.Error(t, err, "half a model gives %v, error", d)
}
