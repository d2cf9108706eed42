package prompts

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// What can keep a draft away, for callers to branch on with errors.Is; see
// also [*Limited]. None of these errors, nor anything wrapped in them, holds
// what people wrote, what the server said, or the key. When the caller's own
// context has ended, the error wraps that context's error instead. Asking
// again may help where the server is unavailable, and after [ErrNoDraft].
var (
	// No model is configured.
	ErrOff = errors.New("drafting is off")

	// 401 and 403.
	ErrUnauthorized = errors.New("the model server refuses the key")

	// 404, 3xx, or there is something else at that address.
	ErrNoModel = errors.New("the model server knows no such model or address")

	// Other 4xx, for instance since the request is too long for the model.
	ErrRejected = errors.New("the model server does not take the request")

	// No answer in time and in full: 5xx, time limit, broken connection.
	ErrUnavailable = errors.New("the model server gives no answer")

	// Of these, no answer within the time limit.
	ErrSlow = fmt.Errorf("%w within the time limit", ErrUnavailable)

	// The model answered, twice where that could help, and nothing came that
	// may be shown. The error names the faults of the last answer.
	ErrNoDraft = errors.New("the model gave no draft that can be shown")
)

// ours are the errors that a caller may see as they are.
var ours = []error{ErrUnauthorized, ErrNoModel, ErrRejected, ErrUnavailable, ErrNoDraft}

// Limited is a server that asks for patience (429).
type Limited struct {
	RetryAfter time.Duration // how long it asks to wait, up to a day; 0 when it does not say
}

func (e *Limited) Error() string {
	if e.RetryAfter == 0 {
		return "the model server takes no more requests for now"
	}
	return fmt.Sprintf("the model server takes no more requests for %s", e.RetryAfter)
}

// explanations say to a person what an error means and what can be done, the
// narrower after the wider one. In braces stands what is said of the way by hand.
var explanations = []struct {
	err  error
	says string
}{
	{ErrOff, "No model is set up for drafting, and {same}."},
	{ErrUnauthorized, "The model server does not accept our key. Whoever runs this bot can check the model key; until then, {same}."},
	{ErrNoModel, "The model server does not know the model, or the address is not quite right. Whoever runs this bot can check the model's name and its address, which mostly ends in /v1."},
	{ErrRejected, "The model server does not take this request; the text may be too long for the model. A shorter text may work, and {always}."},
	{ErrNoDraft, "The model's answer did not pass our checks, so it is not shown. You can ask once more, or {instead}."},
	{ErrUnavailable, "The model server gives no proper answer just now. You can ask again later; {now}."},
	{ErrSlow, "The model server gave no answer in time. You can ask again later; {now}."},
}

// The way by hand beside a ladder, and where it stands in the form below.
var (
	byRungs = strings.NewReplacer(
		"{same}", "the questions for each rung do the same job", "{always}", "the questions for each rung always do",
		"{now}", "the questions for each rung work right now", "{instead}", "take the questions for each rung")
	byField = strings.NewReplacer(
		"{same}", "the way by hand below does the same job", "{always}", "the way by hand below always does",
		"{now}", "the way by hand below works right now", "{instead}", "take the way by hand below")
)

// Explain says to a person, in a plain sentence or two, why there is no draft
// of a kind and what can be done. It holds nothing secret.
func Explain(kind string, err error) string {
	says := "There is no draft this time. You can ask once more, or {instead}."
	for _, e := range explanations {
		if errors.Is(err, e.err) {
			says = e.says
		}
	}
	if busy := (*Limited)(nil); errors.As(err, &busy) {
		when := "later"
		switch minutes := int((busy.RetryAfter + time.Minute - 1) / time.Minute); {
		case minutes == 1:
			when = "in a minute"
		case minutes > 1:
			when = fmt.Sprintf("in %d minutes", minutes)
		}
		says = "The model server is busy. You can ask again " + when + "; {now}."
	}
	if kind == Ladder {
		return byRungs.Replace(says)
	}
	return byField.Replace(says)
}
