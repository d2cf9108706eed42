package fakeslack

import (
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The stand-in knows the bot by the network alone, so nothing below this
// folder imports a package of ours from outside it.
func TestImportsNothingOfOursFromOutside(t *testing.T) {
	const ours, here = "soundings/", "soundings/bot/fakeslack"
	out, err := exec.CommandContext(t.Context(), "go", "list", "-deps", "./...").Output()
	require.NoError(t, err)
	packages := strings.Fields(string(out))
	require.Contains(t, packages, here)
	for _, p := range packages {
		if strings.HasPrefix(p, ours) {
			assert.Truef(t, p == here || strings.HasPrefix(p, here+"/"), "package %s is imported", p)
		}
	}
}
