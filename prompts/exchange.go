package prompts

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/sashabaranov/go-openai"
)

// exchange sends one question and returns what the model says. A server that
// refuses it may only dislike the response format, which not all know, so it
// is asked once more without; if that goes well, later questions leave it out
// from the start.
//
// No temperature and no limit of tokens is sent: some models take only their
// own, and a refused request is worth less than a long answer, which the time
// limit and [longestAnswer] bound.
func (c *Client) exchange(ctx context.Context, kind string, messages []openai.ChatCompletionMessage, u *Usage) (string, error) {
	r := openai.ChatCompletionRequest{Model: c.model, Messages: messages}
	if c.plain.Load() {
		return c.send(ctx, r, u)
	}
	r.ResponseFormat = &openai.ChatCompletionResponseFormat{
		Type:       openai.ChatCompletionResponseFormatTypeJSONSchema,
		JSONSchema: &openai.ChatCompletionResponseFormatJSONSchema{Name: kind, Schema: textNamed(kind).schema, Strict: true},
	}
	content, err := c.send(ctx, r, u)
	var refused *refusedError
	if !errors.As(err, &refused) || !refused.mayBeFormat() {
		return content, err
	}
	r.ResponseFormat = nil
	content, err = c.send(ctx, r, u)
	if err == nil {
		c.plain.Store(true)
	}
	return content, err
}

// send makes one request and reads the whole answer.
func (c *Client) send(ctx context.Context, r openai.ChatCompletionRequest, u *Usage) (string, error) {
	u.Calls++
	var got openai.ChatCompletionResponse
	if err := c.post(ctx, r, &got); err != nil {
		return "", err
	}
	u.PromptTokens += got.Usage.PromptTokens
	u.CompletionTokens += got.Usage.CompletionTokens
	u.Cost += c.prices.cost(got.Usage.PromptTokens, got.Usage.CompletionTokens)
	if len(got.Choices) == 0 {
		return "", nil
	}
	first := got.Choices[0]
	content := first.Message.Content
	for _, part := range first.Message.MultiContent {
		content += part.Text
	}
	return content, declined(first)
}

// longestAnswer is how many bytes of an answer are read at most.
const longestAnswer = 1 << 20

// post does not use the library's client, whose errors quote the server, and
// leave out when it may be asked again.
func (c *Client) post(ctx context.Context, question, answer any) error {
	body, err := json.Marshal(question)
	if err != nil {
		return fmt.Errorf("drafting: %w", err)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, c.base.String()+"/chat/completions", bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("drafting: %w", err)
	}
	req.Header.Set("Content-Type", "application/json")
	if c.key != "" {
		req.Header.Set("Authorization", "Bearer "+c.key)
	}
	resp, err := c.http.Do(req)
	if err != nil {
		return err
	}
	defer func() { _ = resp.Body.Close() }() // it was read; there is nothing to do about it
	resp.Body = http.MaxBytesReader(nil, resp.Body, longestAnswer)
	if err := statusError(resp); err != nil {
		return err
	}
	return json.NewDecoder(resp.Body).Decode(answer)
}

// declined is the error of a reply that asking again would not better.
func declined(c openai.ChatCompletionChoice) error {
	switch {
	case strings.TrimSpace(c.Message.Refusal) != "", c.FinishReason == openai.FinishReasonContentFilter:
		return &NoDraft{Reason: "the model declined"}
	case len(c.Message.ToolCalls) > 0, c.Message.FunctionCall != nil,
		c.FinishReason == openai.FinishReasonToolCalls, c.FinishReason == openai.FinishReasonFunctionCall:
		return &NoDraft{Reason: "the model asked for a tool, and there is none"}
	}
	return nil
}

// sameAddress is a client that goes where it is told and nowhere else: people
// were shown which host gets their words, and a redirect would take them to
// another.
func sameAddress(h *http.Client) *http.Client {
	if h == nil {
		h = http.DefaultClient
	}
	own := *h
	own.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &own
}

// A refusedError is a request that the server does not take as it stands.
type refusedError struct{ status int }

func (e *refusedError) Error() string {
	return fmt.Sprintf("%v: it answered %d", ErrRejected, e.status)
}
func (e *refusedError) Is(target error) bool { return target == ErrRejected }

// mayBeFormat tells the statuses with which servers answer a response format
// that they do not know.
func (e *refusedError) mayBeFormat() bool {
	return slices.Contains([]int{http.StatusBadRequest, http.StatusUnprocessableEntity, http.StatusNotImplemented}, e.status)
}

// statusError is nil for a 2xx status. It never quotes the server, which may
// quote the request.
func statusError(resp *http.Response) error {
	status := resp.StatusCode
	switch {
	case status >= 200 && status < 300:
		return nil
	case status == http.StatusUnauthorized, status == http.StatusForbidden:
		return fmt.Errorf("%w: it answered %d", ErrUnauthorized, status)
	case status == http.StatusNotFound, noSuchModel(resp):
		return fmt.Errorf("%w: it answered %d", ErrNoModel, status)
	case status == http.StatusTooManyRequests:
		return &Limited{RetryAfter: retryAfter(resp.Header, time.Now())}
	case status >= 500 && status != http.StatusNotImplemented, status == http.StatusRequestTimeout:
		return fmt.Errorf("%w: it answered %d", ErrUnavailable, status)
	}
	return &refusedError{status}
}

// noSuchModel finds servers that say so with a 400.
func noSuchModel(resp *http.Response) bool {
	var said struct{ Error struct{ Code any } }
	return resp.StatusCode == http.StatusBadRequest && json.NewDecoder(resp.Body).Decode(&said) == nil &&
		said.Error.Code == "model_not_found"
}

// retryAfter reads a Retry-After header in either of its forms (RFC 9110,
// section 10.2.3). A moment is taken against the server's own clock where it
// shows one.
func retryAfter(h http.Header, now time.Time) time.Duration {
	value := strings.TrimSpace(h.Get("Retry-After"))
	var wait time.Duration
	if seconds, err := strconv.ParseFloat(value, 64); err == nil && seconds > 0 {
		wait = time.Duration(min(seconds, 24*60*60) * float64(time.Second))
	} else if at, err := http.ParseTime(value); err == nil {
		if date, err := http.ParseTime(h.Get("Date")); err == nil {
			now = date
		}
		wait = at.Sub(now)
	}
	return min(max(wait, 0), 24*time.Hour)
}

// plainError turns whatever went wrong into one of the errors that callers
// know. What the network and the decoder say is left behind: it may hold the
// address, the key, or what people wrote.
func plainError(caller, limited context.Context, err error) error {
	var busy *Limited
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &busy), slices.ContainsFunc(ours, func(o error) bool { return errors.Is(err, o) }):
		return err
	case caller.Err() != nil:
		return fmt.Errorf("drafting: %w", caller.Err())
	case limited.Err() != nil:
		return fmt.Errorf("%w within the time limit", ErrUnavailable)
	case errors.As(err, &tooLong):
		return &NoDraft{Reason: "the answer was longer than 1 MB"}
	}
	return fmt.Errorf("%w: none came in full and in the OpenAI-compatible form", ErrUnavailable)
}
