package prompts

import (
	"strings"

	"github.com/sashabaranov/go-openai"
)

// A reply is what a model answered, whether in one piece or in many.
type reply struct {
	content string
	refusal string
	finish  openai.FinishReason // why it ended; empty when the server does not tell
	tools   bool                // it asked for a tool
	usage   openai.Usage
}

func replyOf(r openai.ChatCompletionResponse) reply {
	got := reply{usage: r.Usage}
	if len(r.Choices) == 0 {
		return got
	}
	first := r.Choices[0]
	got.content, got.refusal, got.finish = first.Message.Content, first.Message.Refusal, first.FinishReason
	got.tools = len(first.Message.ToolCalls) > 0 || first.Message.FunctionCall != nil
	for _, part := range first.Message.MultiContent {
		got.content += part.Text
	}
	return got
}

// add appends a piece of a stream.
func (r *reply) add(chunk openai.ChatCompletionStreamResponse) {
	if chunk.Usage != nil {
		r.usage = *chunk.Usage
	}
	for _, piece := range chunk.Choices {
		if piece.Index != 0 {
			continue
		}
		r.content += piece.Delta.Content
		r.refusal += piece.Delta.Refusal
		r.tools = r.tools || len(piece.Delta.ToolCalls) > 0 || piece.Delta.FunctionCall != nil
		if piece.FinishReason != "" {
			r.finish = piece.FinishReason
		}
	}
}

// whole tells whether a stream that has ended was complete: a connection that
// breaks off looks like an end.
func (r reply) whole() error {
	if r.finish == "" {
		return errCutOff
	}
	return nil
}

// declined is the error of a reply that asking again would not better.
func (r reply) declined() error {
	switch {
	case strings.TrimSpace(r.refusal) != "", r.finish == openai.FinishReasonContentFilter:
		return &NoDraft{Reason: "the model declined"}
	case r.tools, r.finish == openai.FinishReasonToolCalls, r.finish == openai.FinishReasonFunctionCall:
		return &NoDraft{Reason: "the model asked for a tool, and there is none"}
	}
	return nil
}

// response is the reply as a server gives it that does not stream.
func (r reply) response() openai.ChatCompletionResponse {
	message := openai.ChatCompletionMessage{Role: openai.ChatMessageRoleAssistant, Content: r.content, Refusal: r.refusal}
	if r.tools {
		message.ToolCalls = []openai.ToolCall{{}}
	}
	return openai.ChatCompletionResponse{
		Choices: []openai.ChatCompletionChoice{{Message: message, FinishReason: r.finish}},
		Usage:   r.usage,
	}
}

// chunk is the reply as the only piece of a stream.
func (r reply) chunk() openai.ChatCompletionStreamResponse {
	delta := openai.ChatCompletionStreamChoiceDelta{Content: r.content, Refusal: r.refusal}
	if r.tools {
		delta.ToolCalls = []openai.ToolCall{{}}
	}
	finish := r.finish
	if finish == "" {
		finish = openai.FinishReasonStop // it came in one piece, so it is complete
	}
	return openai.ChatCompletionStreamResponse{
		Choices: []openai.ChatCompletionStreamChoice{{Delta: delta, FinishReason: finish}},
		Usage:   &r.usage,
	}
}
