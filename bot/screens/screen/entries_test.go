package screen_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
)

// Half of the world writes a comma before the decimals (Unicode CLDR, the element
// "decimal" of the locales pt, de and fr, from memory).
func TestDecimalReadsBothMarks(t *testing.T) {
	const fault = "Please give a number."
	for entry, want := range map[string]float64{"2.5": 2.5, "2,5": 2.5, " 3 ": 3, "0,125": 0.125, "-1,5": -1.5, "−4": -4, "1.250": 1.25} {
		got, wrong := screen.ParseDecimal(entry, fault)
		assert.Empty(t, wrong, entry)
		assert.InDelta(t, want, got, 1e-12, entry)
	}
	for entry, want := range map[string]string{
		"": fault, "two": fault, "1e3": fault, "NaN": fault, "Inf": fault, "2.5.1": fault, "2,": fault, "1 500": fault,
		"1,500": "Please write the number without a mark between the thousands, such as 1500.",
	} {
		f := block.Form{}
		assert.Zero(t, screen.Decimal(&f, "days", entry, fault), entry)
		assert.Equal(t, want, f.Faults["days"], entry)
	}
}

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
