package words

import (
	"time"

	"soundings/flows/state"
)

// DayText is a date as people say it: "Friday 5 March". What is none stays as it is.
func DayText(day state.LocalDay) string {
	t, err := time.Parse(time.DateOnly, string(day))
	if err != nil {
		return string(day)
	}
	return t.Format("Monday 2 January")
}
