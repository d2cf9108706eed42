package modeltest

import (
	"encoding/json"
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
func New(answers ...Answer) *Server {
	if len(answers) == 0 {
		panic("modeltest: a server needs an answer")
	}
	return &Server{answers: answers}
}

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
	if err := json.Unmarshal(asked.Raw, &asked.Body); err != nil {
		http.Error(w, "the body is no JSON", http.StatusBadRequest)
		return
	}
	s.next(asked)(w, r, asked)
}

func (s *Server) next(asked Request) Answer {
	s.mu.Lock()
	defer s.mu.Unlock()
	answer := s.answers[min(len(s.asked), len(s.answers)-1)]
	s.asked = append(s.asked, asked)
	return answer
}
