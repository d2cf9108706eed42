package wire

import (
	"errors"
	"maps"
	"strings"
)

// A Refusal is how the platform refuses a call: a code, sentences for
// response_metadata, and further properties of the answer.
type Refusal struct {
	Code     string
	Messages []string
	More     Object
}

func (r *Refusal) Error() string {
	return strings.Join(append([]string{r.Code}, r.Messages...), ": ")
}

// Refuse returns a *Refusal.
func Refuse(code string, messages ...string) error {
	return &Refusal{Code: code, Messages: messages}
}

// Succeeded is the answer to a call that went well, with what out says.
func Succeeded(out Object) Object {
	whole := Object{"ok": true}
	maps.Copy(whole, out)
	return whole
}

// Failed is the answer to a call that was refused. Any other error is one of
// the platform's own.
func Failed(err error) Object {
	var r *Refusal
	if !errors.As(err, &r) {
		return Object{"ok": false, "error": "internal_error"}
	}
	out := Object{"ok": false, "error": r.Code}
	maps.Copy(out, r.More)
	if len(r.Messages) == 0 {
		return out
	}
	marked := make([]string, len(r.Messages))
	for i, m := range r.Messages {
		marked[i] = "[ERROR] " + m
	}
	out["response_metadata"] = Object{"messages": marked}
	if r.Code == "invalid_blocks" {
		out["errors"] = r.Messages
	}
	return out
}
