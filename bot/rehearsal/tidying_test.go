package rehearsal_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

// What the script says about an entry that stands out is done through the forms that
// people have, and the list is rated as it came out. Without a word on it the list is
// rated as it was written.
func TestAScriptTidiesTheList(t *testing.T) {
	t.Parallel()
	for rule, c := range map[string]struct {
		tidy []scenario.Tidied
		want string
	}{
		"nothing is said":            {nil, "A day ticket is enough; nobody needs a week."},
		"the lead words it anew":     {[]scenario.Tidied{{Assumption: "A6", Text: "A day ticket is enough for most."}}, "A day ticket is enough for most."},
		"the author words it anew":   {[]scenario.Tidied{{Assumption: "A6", Word: "Which of the two?", Answer: "Nobody needs a week."}}, "Nobody needs a week."},
		"the author does not answer": {[]scenario.Tidied{{Assumption: "A6", Word: "Which of the two?"}}, "A day ticket is enough; nobody needs a week."},
	} {
		s := readScenario(t, "politics.yaml")
		s.Tidy = c.tidy
		p := run(t, rehearsal.PlayConfig{Scenario: s})
		table := string(filesOf(t, p)["assumptions.csv"])
		rows := 0
		for row := range strings.Lines(table) {
			if strings.Contains(row, ",A6,") {
				assert.Contains(t, row, c.want, rule)
				rows++
			}
		}
		require.Equal(t, 1, rows, "%s: %s", rule, table)
	}
}
