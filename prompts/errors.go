package prompts

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// What can keep a draft away, for callers to branch on with errors.Is; see
// also [*Limited]. None of these errors, nor anything wrapped in them, holds
// what people wrote, what the server said, or the key. When the caller's own
// context has ended, the error wraps that context's error instead.
//
// Whatever it is, the hand-made way goes on: see [Questions] and [Openings].
var (
	// ErrOff: no model is configured.
	ErrOff = errors.New("drafting is off")

	// ErrUnauthorized: the server refuses the key (401, 403). Trying again
	// does not help.
	ErrUnauthorized = errors.New("the model server refuses the key")

	// ErrNoModel: the server has no such model, or nothing at that address
	// (404). Trying again does not help.
	ErrNoModel = errors.New("the model server knows no such model or address")

	// ErrRejected: the server does not take the request as it stands (other
	// 3xx and 4xx), for instance because it is too long for the model. Trying
	// the same again does not help.
	ErrRejected = errors.New("the model server does not take the request")

	// ErrUnavailable: no answer, in time and in full (5xx, time limit, broken
	// connection, something else than such a server). Trying again may help.
	ErrUnavailable = errors.New("the model server gives no answer")

	// ErrNoDraft: the model answered, twice where that could help, and
	// nothing came that may be shown. The error is a [*NoDraft].
	ErrNoDraft = errors.New("the model gave no draft that can be shown")
)

// Limited is a server that asks for patience (429).
type Limited struct {
	// RetryAfter is how long it asks to wait, up to a day; 0 when it does not
	// say.
	RetryAfter time.Duration
}

func (e *Limited) Error() string {
	if e.RetryAfter == 0 {
		return "the model server takes no more requests for now"
	}
	return fmt.Sprintf("the model server takes no more requests for %s", e.RetryAfter)
}

// NoDraft tells why no draft can be shown. It is an [ErrNoDraft].
type NoDraft struct {
	Reason string  // what happened, in a few words of ours
	Faults []Fault // of the last answer; may be empty
}

func (e *NoDraft) Error() string {
	text := ErrNoDraft.Error() + ": " + e.Reason
	if len(e.Faults) > 0 {
		text += " (" + strings.Join(faultList(e.Faults), ", ") + ")"
	}
	return text
}

// Is makes a NoDraft an [ErrNoDraft].
func (e *NoDraft) Is(target error) bool { return target == ErrNoDraft }

// faultList names each fault once: field and check.
func faultList(faults []Fault) []string {
	var list []string
	for _, f := range faults {
		if s := f.Where + ": " + string(f.Check); !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	return list
}

// Explain says to a person, in a plain sentence or two, why there is no draft
// and what can be done. It holds nothing secret.
func Explain(err error) string {
	var limited *Limited
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrOff):
		return "No model is set up for drafting. The questions for each rung do the same job by hand."
	case errors.Is(err, ErrUnauthorized):
		return "The model server does not accept our key. Whoever runs this bot can check the model key; until then, the questions for each rung do the same job."
	case errors.Is(err, ErrNoModel):
		return "The model server does not know the model, or the address is not quite right. Whoever runs this bot can check the model's name and its address, which mostly ends in /v1."
	case errors.Is(err, ErrRejected):
		return "The model server does not take this request; the text may be too long for the model. A shorter statement may work, and the questions for each rung always do."
	case errors.As(err, &limited):
		return limited.explain()
	case errors.Is(err, ErrNoDraft):
		return "The model's answer did not pass our checks, so it is not shown. You can ask once more, or take the questions for each rung."
	case errors.Is(err, ErrUnavailable):
		return "The model server gave no answer in time. You can ask again later; the questions for each rung work right now."
	}
	return "There is no draft this time. You can ask once more, or take the questions for each rung."
}

func (e *Limited) explain() string {
	const meanwhile = "the questions for each rung work right now."
	if e.RetryAfter == 0 {
		return "The model server is busy. You can ask again later; " + meanwhile
	}
	minutes := int((e.RetryAfter + time.Minute - 1) / time.Minute)
	if minutes == 1 {
		return "The model server is busy. You can ask again in a minute; " + meanwhile
	}
	return fmt.Sprintf("The model server is busy. You can ask again in %d minutes; %s", minutes, meanwhile)
}
