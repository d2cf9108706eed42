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

// Says answers with content.
func Says(content string) Answer { return Stops(content, openai.FinishReasonStop) }

// Replies answers with what a function makes of the request.
func Replies(reply func(Request) string) Answer {
	return func(w http.ResponseWriter, r *http.Request, asked Request) { Says(reply(asked))(w, r, asked) }
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
