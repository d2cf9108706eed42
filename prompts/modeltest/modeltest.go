/*
Package modeltest is a model server for tests: an http.Handler that speaks
the part of the OpenAI-compatible interface that package prompts needs, says
what it is told to say, and keeps what it was asked. There is no model in it.

Start from [New] with one [Answer] for each request, serve it with
httptest.NewServer or on any listener, and look at [Server.Requests]. Answers
cover what real servers do on good days ([Says]) and on bad ones ([Status],
[Message], [Body], [Stalls]); [Replies] makes one of a function, for a server
that does whatever it reads.
*/
package modeltest

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"sync"

	"github.com/sashabaranov/go-openai"
)

// A Request is one question that arrived.
type Request struct {
	Path   string
	Header http.Header
	Raw    []byte                       // the body to the letter
	Body   openai.ChatCompletionRequest // the body as read
}

// An Answer is what a server does about a request. The context of the HTTP
// request ends when the client has gone away.
type Answer func(w http.ResponseWriter, r *http.Request, asked Request)

// A Server answers requests in turn. Any number of clients may use it.
type Server struct {
	mu      sync.Mutex
	answers []Answer
	asked   []Request
}

// New makes a server that gives one answer after the other, and the last one
// for ever. It needs at least one.
func New(answers ...Answer) *Server { return &Server{answers: answers} }

// Requests lists what was asked so far.
func (s *Server) Requests() []Request {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.asked)
}

// ServeHTTP answers.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	asked := Request{Path: r.URL.Path, Header: r.Header.Clone()}
	asked.Raw, _ = io.ReadAll(r.Body) // what broke off is kept as it came
	_ = json.Unmarshal(asked.Raw, &asked.Body)
	s.mu.Lock()
	answer := s.answers[min(len(s.asked), len(s.answers)-1)]
	s.asked = append(s.asked, asked)
	s.mu.Unlock()
	answer(w, r, asked)
}

// The tokens that an answer says it cost.
const (
	PromptTokens     = 700
	CompletionTokens = 90
)

// Says answers with content.
func Says(content string) Answer {
	return Message(openai.ChatCompletionMessage{Content: content}, openai.FinishReasonStop)
}

// Replies answers with what a function makes of the request.
func Replies(reply func(Request) string) Answer {
	return func(w http.ResponseWriter, r *http.Request, asked Request) { Says(reply(asked))(w, r, asked) }
}

// Message answers with any message of a model, such as a refusal or the wish
// to call a tool, and its reason for stopping there.
func Message(m openai.ChatCompletionMessage, why openai.FinishReason) Answer {
	m.Role = openai.ChatMessageRoleAssistant
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

// Stalls sends the start of a body and then nothing until the client leaves.
// begun, if any, is called in between.
func Stalls(contentType, body string, begun func()) Answer {
	return func(w http.ResponseWriter, r *http.Request, asked Request) {
		Body(contentType, body)(w, r, asked)
		if begun != nil {
			begun()
		}
		<-r.Context().Done()
	}
}

// write sends at once. A client that has gone away is no fault of a server.
func write(w http.ResponseWriter, s string) {
	_, _ = w.Write([]byte(s))
	_ = http.NewResponseController(w).Flush()
}

func encode(v any) string {
	b, _ := json.Marshal(v) // plain structs only
	return string(b)
}
