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
