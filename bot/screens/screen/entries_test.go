package screen_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/screens/screen"
)

func TestDaysGoByTheHalfAndKeepWhatStood(t *testing.T) {
	values := func(now string) (out []string) {
		for _, o := range screen.DaysOptions(now) {
			out = append(out, o.Value)
		}
		return out
	}
	assert.Equal(t, []string{"0", "0.5", "1", "1.5", "2", "2.5", "3", "3.5", "4", "4.5", "5"}, values(""))
	assert.Equal(t, []string{"0", "0.5", "1", "1.25", "1.5"}, values("1.25")[:5])
}
