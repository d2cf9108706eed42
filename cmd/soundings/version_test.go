package main

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows"
)

func TestVersion(t *testing.T) {
	said := good(t, "version")
	for _, line := range []string{"soundings ", "\ncommit    ", "\nbuilt with go1.", fmt.Sprintf("\njournal format %d\n", flows.JournalFormat())} {
		assert.Contains(t, said, line)
	}
}
