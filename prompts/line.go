package prompts

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"

	"github.com/sashabaranov/go-openai"
)

// longestAnswer is how many bytes of an answer are read at most.
const longestAnswer = 1 << 20

// Faults of an answer on its way.
var (
	errTooLong = errors.New("answer longer than 1 MB")
	errCutOff  = errors.New("answer cut off")
)

// A line carries one request of the library and its answer: it counts the
// request, turns a bad status into an error of ours before the library quotes
// the server's words in one of its own, bounds the answer, and turns a stream
// into a whole or a whole into a stream where a server gives the other of the
// two than it was asked for.
type line struct {
	http  *http.Client
	calls *int
}

// Do sends a request; the library calls it.
func (l *line) Do(req *http.Request) (*http.Response, error) {
	*l.calls++
	resp, err := l.http.Do(req)
	if err != nil {
		return nil, err
	}
	if err := statusError(resp); err != nil {
		_ = resp.Body.Close() // the status is all that counts
		return nil, err
	}
	if err := reshape(resp, req.Header.Get("Accept") == streamType); err != nil {
		_ = resp.Body.Close()
		return nil, err
	}
	return resp, nil
}

const streamType = "text/event-stream"

// A body is read from one thing and closed at another.
type body struct {
	io.Reader
	io.Closer
}

// reshape bounds the body and gives it the form that is wanted.
func reshape(resp *http.Response, wantStream bool) error {
	buffered := bufio.NewReader(&bounded{from: resp.Body, left: longestAnswer})
	var changed []byte
	var err error
	switch isStream := streamed(resp.Header, buffered); {
	case isStream == wantStream:
		resp.Body = body{buffered, resp.Body}
		return nil
	case isStream:
		changed, err = joinStream(buffered)
	default:
		changed, err = asStream(buffered)
	}
	resp.Body = body{bytes.NewReader(changed), resp.Body}
	return err
}

// streamed tells a stream by its content type, or by its first word where a
// server gives it a wrong one.
func streamed(h http.Header, r *bufio.Reader) bool {
	kind, _, _ := mime.ParseMediaType(h.Get("Content-Type"))
	if kind == streamType {
		return true
	}
	start, _ := r.Peek(len("data:")) // an error comes again with the read
	return string(start) == "data:"
}

// joinStream reads a stream and gives the answer in one piece.
func joinStream(r io.Reader) ([]byte, error) {
	var got reply
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, longestAnswer+1)
	for lines.Scan() {
		data, ok := strings.CutPrefix(strings.TrimSpace(lines.Text()), "data:")
		data = strings.TrimSpace(data)
		if !ok || data == "[DONE]" {
			continue
		}
		var chunk struct {
			openai.ChatCompletionStreamResponse
			Error json.RawMessage `json:"error"`
		}
		if err := json.Unmarshal([]byte(data), &chunk); err != nil {
			return nil, err
		}
		if chunk.Error != nil {
			return nil, errCutOff
		}
		got.add(chunk.ChatCompletionStreamResponse)
	}
	if err := errors.Join(lines.Err(), got.whole()); err != nil {
		return nil, err
	}
	return json.Marshal(got.response())
}

// asStream reads an answer in one piece and gives it as a stream.
func asStream(r io.Reader) ([]byte, error) {
	var whole openai.ChatCompletionResponse
	if err := json.NewDecoder(r).Decode(&whole); err != nil {
		return nil, err
	}
	chunk, err := json.Marshal(replyOf(whole).chunk())
	if err != nil {
		return nil, err
	}
	return fmt.Appendf(nil, "data: %s\n\ndata: [DONE]\n\n", chunk), nil
}

// bounded reads up to a number of bytes; more is an error, not an end.
type bounded struct {
	from io.Reader
	left int
}

func (b *bounded) Read(p []byte) (int, error) {
	if len(p) > b.left+1 {
		p = p[:b.left+1]
	}
	n, err := b.from.Read(p)
	if n > b.left {
		return b.left, errTooLong
	}
	b.left -= n
	return n, err
}
