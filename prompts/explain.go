package prompts

import (
	"errors"
	"fmt"
	"time"
)

// ways are how the way by hand is spoken of, in the middle of a sentence.
type ways struct{ same, always, now, instead string }

// Explain says to a person, in a plain sentence or two, why there are no
// drafts for the ladder and what can be done. It holds nothing secret.
func Explain(err error) string {
	return explain(err, ways{
		same:    "the questions for each rung do the same job",
		always:  "the questions for each rung always do",
		now:     "the questions for each rung work right now",
		instead: "take the questions for each rung",
	})
}

// ExplainText does the same where one text was to be drafted, and stands in
// front of a field in which it is written by hand.
func ExplainText(err error) string {
	return explain(err, ways{
		same:    "the way by hand below does the same job",
		always:  "the way by hand below always does",
		now:     "the way by hand below works right now",
		instead: "take the way by hand below",
	})
}

func explain(err error, w ways) string {
	var limited *Limited
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrOff):
		return "No model is set up for drafting, and " + w.same + "."
	case errors.Is(err, ErrUnauthorized):
		return "The model server does not accept our key. Whoever runs this bot can check the model key; until then, " + w.same + "."
	case errors.Is(err, ErrNoModel):
		return "The model server does not know the model, or the address is not quite right. Whoever runs this bot can check the model's name and its address, which mostly ends in /v1."
	case errors.Is(err, ErrRejected):
		return "The model server does not take this request; the text may be too long for the model. A shorter text may work, and " + w.always + "."
	case errors.As(err, &limited):
		return limited.explain(w)
	case errors.Is(err, ErrNoDraft):
		return "The model's answer did not pass our checks, so it is not shown. You can ask once more, or " + w.instead + "."
	case errors.Is(err, ErrUnavailable):
		return "The model server gave no answer in time. You can ask again later; " + w.now + "."
	}
	return "There is no draft this time. You can ask once more, or " + w.instead + "."
}

func (e *Limited) explain(w ways) string {
	if e.RetryAfter == 0 {
		return "The model server is busy. You can ask again later; " + w.now + "."
	}
	minutes := int((e.RetryAfter + time.Minute - 1) / time.Minute)
	if minutes == 1 {
		return "The model server is busy. You can ask again in a minute; " + w.now + "."
	}
	return fmt.Sprintf("The model server is busy. You can ask again in %d minutes; %s.", minutes, w.now)
}
