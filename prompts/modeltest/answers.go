package modeltest

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"

	"github.com/sashabaranov/go-openai"
)

// The tokens that an answer says it cost.
const (
	PromptTokens     = 700
	CompletionTokens = 90
)

// Says answers with content, streamed if the request asks for it.
func Says(content string) Answer {
	return Replies(func(Request) string { return content })
}

// Replies answers with what a function makes of the request.
func Replies(reply func(Request) string) Answer {
	return func(w http.ResponseWriter, r *http.Request, asked Request) {
		content := reply(asked)
		if asked.Body.Stream {
			Streams(halves(content)...)(w, r, asked)
			return
		}
		Whole(content)(w, r, asked)
	}
}

func halves(s string) []string {
	runes := []rune(s)
	return []string{string(runes[:len(runes)/2]), string(runes[len(runes)/2:])}
}

// Whole answers with content in one piece, whatever was asked for.
func Whole(content string) Answer {
	return message(openai.ChatCompletionMessage{Role: openai.ChatMessageRoleAssistant, Content: content}, openai.FinishReasonStop)
}

// Refuses answers as a model does that declines.
func Refuses(why string) Answer {
	return message(openai.ChatCompletionMessage{Role: openai.ChatMessageRoleAssistant, Refusal: why}, openai.FinishReasonStop)
}

// CallsTool answers with the wish to call a tool.
func CallsTool(name string) Answer {
	call := openai.ToolCall{ID: "call_1", Type: openai.ToolTypeFunction, Function: openai.FunctionCall{Name: name, Arguments: "{}"}}
	return message(openai.ChatCompletionMessage{Role: openai.ChatMessageRoleAssistant, ToolCalls: []openai.ToolCall{call}}, openai.FinishReasonToolCalls)
}

// Stops answers with content and a reason for stopping there.
func Stops(content string, why openai.FinishReason) Answer {
	return message(openai.ChatCompletionMessage{Role: openai.ChatMessageRoleAssistant, Content: content}, why)
}

func message(m openai.ChatCompletionMessage, why openai.FinishReason) Answer {
	return Body("application/json", encode(openai.ChatCompletionResponse{
		Object:  "chat.completion",
		Choices: []openai.ChatCompletionChoice{{Message: m, FinishReason: why}},
		Usage:   openai.Usage{PromptTokens: PromptTokens, CompletionTokens: CompletionTokens, TotalTokens: PromptTokens + CompletionTokens},
	}))
}

// Streams answers with content in pieces, whatever was asked for.
func Streams(pieces ...string) Answer {
	return func(w http.ResponseWriter, _ *http.Request, _ Request) {
		w.Header().Set("Content-Type", "text/event-stream")
		write(w, ": thinking\n\n")
		for _, p := range pieces {
			write(w, event(openai.ChatCompletionStreamChoice{Delta: openai.ChatCompletionStreamChoiceDelta{Content: p}}, nil))
		}
		write(w, event(openai.ChatCompletionStreamChoice{FinishReason: openai.FinishReasonStop}, nil))
		write(w, "data: "+encode(openai.ChatCompletionStreamResponse{
			Choices: []openai.ChatCompletionStreamChoice{},
			Usage:   &openai.Usage{PromptTokens: PromptTokens, CompletionTokens: CompletionTokens},
		})+"\n\ndata: [DONE]\n\n")
	}
}

// StreamStarts streams pieces and then ends the answer, as a server does that
// was stopped in the middle.
func StreamStarts(pieces ...string) Answer {
	return func(w http.ResponseWriter, _ *http.Request, _ Request) {
		w.Header().Set("Content-Type", "text/event-stream")
		for _, p := range pieces {
			write(w, event(openai.ChatCompletionStreamChoice{Delta: openai.ChatCompletionStreamChoiceDelta{Content: p}}, nil))
		}
	}
}

func event(c openai.ChatCompletionStreamChoice, u *openai.Usage) string {
	return "data: " + encode(openai.ChatCompletionStreamResponse{
		Object: "chat.completion.chunk", Choices: []openai.ChatCompletionStreamChoice{c}, Usage: u,
	}) + "\n\n"
}

// Status answers with a status, headers (name, value, name, value, …) and an
// error that quotes the request, key and all, as a careless server might.
func Status(status int, headers ...string) Answer {
	return func(w http.ResponseWriter, r *http.Request, asked Request) {
		for i := 0; i+1 < len(headers); i += 2 {
			w.Header().Set(headers[i], headers[i+1])
		}
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		write(w, encode(map[string]any{"error": map[string]any{
			"message": fmt.Sprintf("refused: %s %s", r.Header.Get("Authorization"), asked.Raw), "type": "error",
		}}))
	}
}

// Body answers 200 with a body of any type.
func Body(contentType, body string) Answer {
	return func(w http.ResponseWriter, _ *http.Request, _ Request) {
		w.Header().Set("Content-Type", contentType)
		write(w, body)
	}
}

// CutOff promises a longer body than it sends, and hangs up.
func CutOff(contentType, body string) Answer {
	return func(w http.ResponseWriter, _ *http.Request, _ Request) {
		w.Header().Set("Content-Type", contentType)
		w.Header().Set("Content-Length", strconv.Itoa(2*len(body)+2))
		write(w, body)
	}
}

// Stalls sends the start of a body and then nothing until the client leaves.
// begun, if any, is called in between.
func Stalls(contentType, body string, begun func()) Answer {
	return func(w http.ResponseWriter, r *http.Request, _ Request) {
		w.Header().Set("Content-Type", contentType)
		write(w, body)
		if begun != nil {
			begun()
		}
		<-r.Context().Done()
	}
}

// write sends at once. A client that has gone away is no fault of a server.
func write(w http.ResponseWriter, s string) {
	_, _ = w.Write([]byte(s))
	if f, ok := w.(http.Flusher); ok {
		f.Flush()
	}
}

func encode(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprintf("modeltest: %v", err)) // plain structs only, so a bug
	}
	return string(b)
}
