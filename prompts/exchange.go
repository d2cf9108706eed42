package prompts

import (
	"context"
	"errors"
	"io"
	"net/http"
	"sync/atomic"

	"github.com/sashabaranov/go-openai"
)

// plainMode remembers that a server does not take a response format.
type plainMode struct{ on atomic.Bool }

// exchange sends one question. A server that refuses it may only dislike the
// response format, which not all know, so it is asked once more without; if
// that goes well, later questions leave it out from the start.
//
// No temperature and no limit of tokens is sent: some models take only their
// own, and a refused request is worth less than a long answer, which the time
// limit and [longestAnswer] bound.
func (c *Client) exchange(ctx context.Context, q question, u *Usage) (reply, error) {
	plain := c.plain.on.Load()
	got, err := c.send(ctx, c.request(q, plain), u)
	var refused *refusedError
	if plain || !errors.As(err, &refused) || !refused.mayBeFormat() {
		return got, err
	}
	got, err = c.send(ctx, c.request(q, true), u)
	if err == nil {
		c.plain.on.Store(true)
	}
	return got, err
}

func (c *Client) request(q question, plain bool) openai.ChatCompletionRequest {
	r := openai.ChatCompletionRequest{Model: c.model, Messages: q.messages}
	if plain {
		return r
	}
	r.ResponseFormat = &openai.ChatCompletionResponseFormat{
		Type: openai.ChatCompletionResponseFormatTypeJSONSchema,
		JSONSchema: &openai.ChatCompletionResponseFormatJSONSchema{
			Name: q.name, Schema: q.schema, Strict: true,
		},
	}
	if c.stream {
		r.StreamOptions = &openai.StreamOptions{IncludeUsage: true}
	}
	return r
}

// send makes one request and reads the whole answer.
func (c *Client) send(ctx context.Context, r openai.ChatCompletionRequest, u *Usage) (reply, error) {
	config := openai.DefaultConfig(c.key)
	config.BaseURL = c.base.String()
	config.HTTPClient = &line{http: c.http, calls: &u.Calls}
	library := openai.NewClientWithConfig(config)
	read := readWhole
	if c.stream {
		read = readStream
	}
	got, err := read(ctx, library, r)
	u.PromptTokens += got.usage.PromptTokens
	u.CompletionTokens += got.usage.CompletionTokens
	u.Cost += c.prices.cost(got.usage.PromptTokens, got.usage.CompletionTokens)
	return got, err
}

func readWhole(ctx context.Context, library *openai.Client, r openai.ChatCompletionRequest) (reply, error) {
	response, err := library.CreateChatCompletion(ctx, r)
	if err != nil {
		return reply{}, err
	}
	return replyOf(response), nil
}

func readStream(ctx context.Context, library *openai.Client, r openai.ChatCompletionRequest) (got reply, err error) {
	stream, err := library.CreateChatCompletionStream(ctx, r)
	if err != nil {
		return got, err
	}
	defer func() { _ = stream.Close() }() // it was read; there is nothing to do about it
	for {
		chunk, err := stream.Recv()
		switch {
		case errors.Is(err, io.EOF):
			return got, got.whole()
		case err != nil:
			return got, err
		}
		got.add(chunk)
	}
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
