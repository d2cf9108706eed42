// Package imports reads what people paste: a brief in Markdown and assumptions
// in a table. What cannot be read comes back as a *flows.Refusal that says what
// to change.
//
// Whether the result may become part of a kickoff is left to package flows.
// Start with [Brief] and [Assumptions].
package imports

import (
	"fmt"

	"soundings/flows"
)

func refuse(field, format string, args ...any) error {
	return &flows.Refusal{Field: field, Reason: fmt.Sprintf(format, args...)}
}
