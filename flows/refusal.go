package flows

import (
	"fmt"

	"soundings/flows/event"
)

// A Refusal tells a person why nothing was changed, and what they can do
// instead. It is an answer, not a failure: it is shown to them alone and
// never logged as an error.
type Refusal struct {
	Field  string // the form field it is about; may be empty
	Reason string // one or two plain sentences
	Ask    string // a question to which the person may say yes; empty where nothing can be done
}

// Error gives the sentence that the person reads.
func (r *Refusal) Error() string { return r.Reason }

func refuse(format string, args ...any) error {
	return &Refusal{Reason: fmt.Sprintf(format, args...)}
}

func refuseField(field, format string, args ...any) error {
	return &Refusal{Field: field, Reason: fmt.Sprintf(format, args...)}
}

// refuseIf refuses, at a form field where one is named, what breaks a rule.
func refuseIf(broken bool, field, format string, args ...any) error {
	if !broken {
		return nil
	}
	return refuseField(field, format, args...)
}

// provided gives the events of an intent, unless a check refuses it.
func provided(check error, events ...event.Event) ([]event.Event, error) {
	if check != nil {
		return nil, check
	}
	return events, nil
}

// when gives the events of an intent that changes something. What is so already is
// not written down again.
func when(changes bool, events ...event.Event) ([]event.Event, error) {
	if !changes {
		return nil, nil
	}
	return events, nil
}
