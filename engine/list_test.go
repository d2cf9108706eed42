package engine

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseList(t *testing.T) {
	list, err := ParseList("f", strings.NewReader("Assumption;statement;rater;x\nA1;The ramp is steep;ana;\n;;bo;\nA2;;;1\nA1;The ramp is steep;cy;\n"))
	require.NoError(t, err)
	assert.Equal(t, List{Raters: []string{"ana", "bo", "cy"}, IDs: []string{"A1", "A2"}, Statements: []string{"The ramp is steep", ""}}, list)
	for _, row := range []struct{ in, want string }{
		{"statement\nx\n", "f:1: the header lacks the column assumption; the first line must name the column assumption, and may name statement, rater and others"},
		{"assumption\n", "f:1: there is no assumption below the header; each line below it names one"},
		{"assumption,statement\nA1,x\nA1,y\n", "f:3: the statement of \"A1\" differs from the one on line 2; an assumption has one statement, the same wherever it stands"},
		{"assumption,statement\n,x\n", "f:2: the name of the assumption is missing; each line names a rater and an assumption"},
	} {
		_, err := ParseList("f", strings.NewReader(row.in))
		assert.EqualError(t, err, row.want)
	}
}
